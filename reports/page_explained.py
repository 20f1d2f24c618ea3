"""Findings -> the half of a page that explains, which hangs on nothing in the other.

It can therefore be drawn in a process of its own while the window is drawn in another; the pictures
of the plan even before anything is found.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from shotwindow.doe.plans import Plan
from shotwindow.doe.study import Study
from shotwindow.reports.findings import Findings
from shotwindow.reports.gallery import found_exhibits, plan_exhibits
from shotwindow.reports.page_pictures import Shown, shown
from shotwindow.reports.page_textbook import Asked, textbook_sections
from shotwindow.reports.theme import nothing_collected

#: A task and its arguments to what gives the result once it is needed. Where nothing is to be done
#: before, that is `functools.partial`.
Elsewhere = Callable[..., Callable[[], Any]]


@dataclass(frozen=True)
class Explained:
    """Pictures by the section where they stand, and the textbook's questions by response."""

    pictures: dict[str, list[Shown]]
    textbook: list[tuple[str, list[Asked]]]


@nothing_collected()
def explained(found: Findings, growth: bool) -> Explained:
    """Draw and answer all of it; with ``growth`` how the window grew as well."""
    exhibits = found_exhibits(found, growth=growth)
    pictures = {name: [shown(each) for each in some] for name, some in exhibits.items()}
    return Explained(pictures, textbook_sections(found))


@nothing_collected()
def plan_shown(study: Study, plan: Plan) -> list[Shown]:
    """Draw the pictures of a plan."""
    return [shown(each) for each in plan_exhibits(study, plan)]
