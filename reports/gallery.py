"""Findings and their plan -> every further picture that the study gives, by its place in a page."""

from shotwindow.doe.plans import Plan
from shotwindow.doe.study import Study
from shotwindow.reports.cavity_figure import cavity_exhibit
from shotwindow.reports.effect_figure import effect_exhibit
from shotwindow.reports.findings import Findings
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.growth_figure import growth_exhibit
from shotwindow.reports.half_normal_figure import half_normal_exhibit
from shotwindow.reports.interaction_figure import interaction_exhibit
from shotwindow.reports.page_pictures import Exhibit
from shotwindow.reports.plan_space_figure import plan_space_exhibit
from shotwindow.reports.plan_time_figure import plan_time_exhibit
from shotwindow.reports.residual_figure import residual_exhibit
from shotwindow.reports.seen_figure import seen_exhibit
from shotwindow.reports.small_maps import small_maps_exhibit


def exhibits(
    found: Findings, plan: Plan, *, growth: bool = False
) -> dict[str, tuple[Exhibit, ...]]:
    """Return the pictures beside the window's own, by section of the page, in order.

    What a study does not give (one cavity, one factor, a fit that failed) is left out. With
    ``growth`` the study is fitted again and again, to see how its window grew.
    """
    return {
        "plan": plan_exhibits(found.study, plan),
        **window_exhibits(found, growth=growth),
        "effects": effect_exhibits(found),
        "readings": reading_exhibits(found),
    }


def effect_exhibits(fitted: Fitted) -> tuple[Exhibit, ...]:
    """Return the pictures of what the settings do."""
    return _given(
        effect_exhibit(fitted),
        interaction_exhibit(fitted),
        half_normal_exhibit(fitted),
        cavity_exhibit(fitted),
    )


def reading_exhibits(fitted: Fitted) -> tuple[Exhibit, ...]:
    """Return the pictures of what was seen of each shot."""
    return _given(seen_exhibit(fitted), residual_exhibit(fitted))


def window_exhibits(found: Findings, *, growth: bool) -> dict[str, tuple[Exhibit, ...]]:
    """Return those of them that need the window."""
    return {
        "window": _given(small_maps_exhibit(found)),
        "sure": _given(growth_exhibit(found)) if growth else (),
    }


def plan_exhibits(study: Study, plan: Plan) -> tuple[Exhibit, ...]:
    """Return the pictures of a plan, which need no shot to be made."""
    return plan_space_exhibit(study, plan), plan_time_exhibit(study, plan)


def _given(*exhibits: Exhibit | None) -> tuple[Exhibit, ...]:
    return tuple(exhibit for exhibit in exhibits if exhibit is not None)
