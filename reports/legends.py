"""Findings -> what each area, line and sign of a picture of the window stands for."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import chance
from shotwindow.reports.slices import map_axes
from shotwindow.reports.theme import (
    INK,
    LIKELY_FILL,
    PAPER,
    SIDES,
    SURE_FILL,
    UNTRIED_COLOR,
    UNTRIED_HATCH,
    WINDOW_LINE,
)

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist


def window_legend(found: Findings) -> "Sequence[Artist]":
    """Return the entries of the sure and the likely window."""
    from matplotlib.patches import Patch

    good = f"{100 * found.study.good_from:g} % good"
    sure = Patch(
        facecolor=SURE_FILL,
        edgecolor=WINDOW_LINE,
        linewidth=2.0,
        label=f"sure window: {good}, chance 0.9+",
    )
    likely = Patch(
        facecolor=LIKELY_FILL,
        edgecolor=WINDOW_LINE,
        linewidth=1.4,
        linestyle="--",
        label=f"likely window: {good}, chance 0.5+",
    )
    return [sure, likely]


def side_legend(found: Findings) -> "Sequence[Artist]":
    """Return an entry for each way to fail, and one for where nothing was tried."""
    from matplotlib.patches import Patch

    areas = [
        (SIDES[s.response].hatch, SIDES[s.response].color, _failing(found, s.response))
        for s in found.surfaces.each
    ]
    ruled = found.window is not None and not found.window.allowed.all()
    words = "not tried or ruled out: no answer" if ruled else "not tried: no answer"
    areas.append((UNTRIED_HATCH, UNTRIED_COLOR, words))
    return [
        Patch(facecolor=PAPER, edgecolor=color, hatch=hatch, label=words)
        for hatch, color, words in areas
    ]


def _failing(found: Findings, response: str) -> str:
    """Return what failing on a side means."""
    flash = found.study.flash
    limit = f"grade {flash.good:g}" if flash.unit == "grade" else f"{flash.good:g} {flash.unit}"
    words = {
        "fill": "short: a cavity is not full",
        "flash": f"flash: more than {limit}",
        "other": "rejects: " + ", ".join(found.readings.reasons),
    }
    return words[response]


def edge_legend(found: Findings) -> "Sequence[Artist]":
    """Return an entry for the two lines between which each edge lies."""
    from matplotlib.lines import Line2D

    return [
        Line2D(
            [],
            [],
            color=SIDES[s.response].color,
            linestyle=SIDES[s.response].dash,
            label=f"edge to {SIDES[s.response].name}: between these, 0.9",
        )
        for s in found.surfaces.each
    ]


def place_legend(found: Findings) -> "Sequence[Artist]":
    """Return the entries of the setpoint, or else of the best mark, and of the ranges."""
    from matplotlib.lines import Line2D

    if found.best is None or found.window is None:
        return []
    good = chance(float(found.window.probability_good[found.best]))
    word, shape = ("setpoint", "o") if found.setpoint else ("best mark", "X")
    ring = Line2D(
        [],
        [],
        linestyle="none",
        marker=shape,
        markersize=10,
        markerfacecolor=PAPER,
        markeredgecolor=INK,
        markeredgewidth=2.0,
        label=f"{word}: {good} good",
    )
    shown = [found.range_ends[j] for j in map_axes(found.study.factors) if found.range_ends]
    if found.ranges is None or all(low == high for low, high in shown):  # the ring covers a point
        return [ring]
    return [ring, Line2D([], [], color=INK, label=f"ranges, all in the {found.ranges.of} window")]
