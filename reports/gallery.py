"""Findings and their plan -> every further picture that the study gives, by its place in a page."""

from shotwindow.reports.cavity_figure import cavity_exhibit
from shotwindow.reports.effect_figure import effect_exhibit
from shotwindow.reports.findings import Findings
from shotwindow.reports.half_normal_figure import half_normal_exhibit
from shotwindow.reports.page_pictures import Exhibit
from shotwindow.reports.residual_figure import residual_exhibit
from shotwindow.reports.seen_figure import seen_exhibit
from shotwindow.reports.small_maps import small_maps_exhibit


def exhibits(found: Findings) -> dict[str, tuple[Exhibit, ...]]:
    """Return the pictures beside the window's own, by section of the page, in order.

    What a study does not give (one cavity, one factor, a fit that failed) is left out.
    """
    made = {
        "window": (small_maps_exhibit(found),),
        "effects": (
            effect_exhibit(found),
            half_normal_exhibit(found),
            cavity_exhibit(found),
        ),
        "readings": (seen_exhibit(found), residual_exhibit(found)),
    }
    return {name: tuple(e for e in each if e is not None) for name, each in made.items()}
