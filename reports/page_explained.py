"""The half of a page that explains, in three parts, each made from no more than it needs.

The pictures of the plan need no shot, most of the others no window: while that is looked for, they
can be drawn in a process of their own.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from shotwindow.doe.plans import Plan
from shotwindow.doe.study import Study
from shotwindow.reports.findings import Findings
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.gallery import effect_exhibits, plan_exhibits, window_exhibits
from shotwindow.reports.page_pictures import Shown, all_shown
from shotwindow.reports.page_textbook import Asked, textbook_sections
from shotwindow.reports.textbook import edge_answers, response_answers
from shotwindow.reports.theme import nothing_collected

#: A task and its arguments to what gives the result once it is needed. Where nothing is to be done
#: before, that is `functools.partial`.
Elsewhere = Callable[..., Callable[[], Any]]


@dataclass(frozen=True)
class Explained:
    """Pictures by the section where they stand, and the textbook's questions by response."""

    pictures: dict[str, list[Shown]]
    textbook: list[tuple[str, list[Asked]]]

    def __add__(self, other: "Explained") -> "Explained":
        """Return this part of a page with another one."""
        return Explained({**self.pictures, **other.pictures}, [*self.textbook, *other.textbook])


@nothing_collected()
def explained_plan(study: Study, plan: Plan) -> Explained:
    """Draw the plan."""
    return Explained({"plan": all_shown(plan_exhibits(study, plan))}, [])


@nothing_collected()
def explained_fit(fitted: Fitted) -> Explained:
    """Draw the effects, and answer what the textbook asks of them."""
    effects = all_shown(effect_exhibits(fitted))
    return Explained({"effects": effects}, textbook_sections(response_answers(fitted)))


@nothing_collected()
def explained_window(found: Findings, growth: bool) -> Explained:
    """Draw and answer what the window adds; with ``growth`` how it grew as well."""
    exhibits = window_exhibits(found, growth=growth)
    pictures = {name: all_shown(some) for name, some in exhibits.items()}
    return Explained(pictures, textbook_sections(edge_answers(found)))
