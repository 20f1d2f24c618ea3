"""Findings -> one factor drawn as the dial that it is read off, with its good stretch and edges."""

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.margins import Edge
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import axis_label, chance
from shotwindow.reports.slices import Slice, slice_at
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
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis

Flags = NDArray[np.bool_]

LIKELY, SURE = 0.5, 0.9
BAR = (0.04, 0.30)  # lower and upper rim of the bar, in heights of the ruler
EDGES = 0.44  # height at which the bands of the edges stand
MOST_LABELS = 12
_ROUND = [lead * 10**power for power in range(9) for lead in (1, 2, 5)]


def draw_ruler(axes: "Axes", found: Findings, j: int) -> None:
    """Draw factor ``j`` as a ruler, all others at the setpoint.

    The bar is what lies on the dial: filled where the window is, hatched to the side that fails.
    The bands above it say how sure the ends of the window are: thick holds the edge with a chance
    of 50 %, thin with 90 %. Every tick is a mark that can be set.
    """
    cut = slice_at(found, (j,), count=401)
    _draw_bar(axes, cut)
    for edge in found.edges:
        if edge.factor == cut.factors[0].name:
            _draw_edge(axes, cut.factors[0], edge)
    _dress(axes, cut, found.study.factors[j])
    _draw_place(axes, found, j)


def stretches(flags: Flags) -> list[tuple[int, int]]:
    """Return the first and last index of every run of true values.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.reports.rulers import stretches
    >>> stretches(np.array([True, True, False, True]))
    [(0, 1), (3, 3)]
    """
    steps = np.diff(np.concatenate([[0], flags.astype(int), [0]]))
    first, after = (np.flatnonzero(steps == way).tolist() for way in (1, -1))
    return [(a, b - 1) for a, b in zip(first, after, strict=True)]


def _draw_bar(axes: "Axes", cut: Slice) -> None:
    chances = np.nan_to_num(cut.in_window)
    _blocks(axes, cut, ~cut.answered, hatch=UNTRIED_HATCH, edgecolor=UNTRIED_COLOR, fill=False)
    for response, passes in cut.passes.items():
        side, fails = SIDES[response], np.nan_to_num(passes, nan=1.0) < LIKELY
        _blocks(axes, cut, fails, hatch=side.hatch, edgecolor=side.color, fill=False)
    line = {"edgecolor": WINDOW_LINE, "linewidth": 1.4}
    _blocks(axes, cut, chances >= LIKELY, facecolor=LIKELY_FILL, linestyle="--", **line)
    _blocks(axes, cut, chances >= SURE, facecolor=SURE_FILL, **line)


def _blocks(axes: "Axes", cut: Slice, flags: Flags, **look: Any) -> None:
    """Draw a block of the bar over each stretch."""
    from matplotlib.patches import Rectangle

    places, (low, high) = cut.places[0], BAR
    for first, last in stretches(flags):
        width = places[last] - places[first]
        axes.add_patch(Rectangle((places[first], low), width, high - low, **look))


def _draw_edge(axes: "Axes", factor: Factor, edge: Edge) -> None:
    """Draw the bands of one edge; an end that lies beyond what was tried runs into an arrow."""
    seen = edge.median is not None and edge.response is not None
    color = SIDES[edge.response].color if seen and edge.response else INK
    outer = factor.low if edge.side == "low" else factor.high
    for band, width in ((edge.band90, 1.2), (edge.band50, 4.0)):
        low, high = (outer if end is None else end for end in band)
        axes.plot([low, high], [EDGES, EDGES], color=color, linewidth=width, solid_capstyle="butt")
    if None in edge.band90:
        shape = "<" if edge.side == "low" else ">"
        axes.plot([outer], [EDGES], marker=shape, color=color, markersize=7, clip_on=False)
    if edge.median is not None and edge.response is not None:
        axes.plot([edge.median] * 2, [BAR[0], EDGES + 0.05], color=color, linewidth=1.0)
        near = round(edge.median / factor.step, 1) * factor.step
        axes.annotate(
            f"{SIDES[edge.response].name} {factor.text(near)}",
            (edge.median, EDGES + 0.05),
            ha="center",
            va="bottom",
            fontsize=8,
            color=color,
        )


def _draw_place(axes: "Axes", found: Findings, j: int) -> None:
    """Draw the setpoint as a ring on the bar with a line down to the mark."""
    if found.best is None:
        return
    here, middle = found.best_settings[j], sum(BAR) / 2
    is_setpoint = found.setpoint is not None
    axes.plot([here, here], [0.0, middle], color=INK, linewidth=1.4)
    if found.range_ends:  # a bracket under the bar
        bracket: Any = {"linewidth": 3.0, "marker": "|", "markersize": 10}
        axes.plot(found.range_ends[j], [BAR[0], BAR[0]], color=INK, **bracket)
    axes.plot(
        [here],
        [middle],
        marker="o" if is_setpoint else "X",
        markersize=11,
        markerfacecolor=PAPER,
        markeredgecolor=INK,
        markeredgewidth=2.0,
        linestyle="none",
    )
    assert found.window is not None  # where there is a best mark
    good = chance(float(found.window.probability_good[found.best]))
    word = "setpoint" if is_setpoint else "best mark"
    text = f"{word} {found.study.factors[j].text(here)}: {good} good"
    low, high = axes.get_xlim()
    along = (here - low) / (high - low)
    side = "left" if along < 0.15 else "right" if along > 0.85 else "center"  # leaning inward
    axes.annotate(
        text, (here, BAR[1]), xytext=(0, 3), textcoords="offset points", ha=side, fontsize=8,
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.5},  # stems of edges end at it
    )  # fmt: skip


def _dress(axes: "Axes", cut: Slice, factor: Factor) -> None:
    axes.set(xlim=cut.places[0][[0, -1]], ylim=(0.0, 1.0), yticks=[])
    set_marks(axes.xaxis, factor)
    axes.set_xlabel(axis_label(factor))
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)


def set_marks(axis: "Axis", factor: Factor, most: int = MOST_LABELS) -> None:
    """Put a tick at every mark that can be set, and numbers at round ones, as on a gauge.

    Where there is room for fewer numbers than usual, ticks stand at the numbers alone.
    """
    from matplotlib.ticker import FixedFormatter, FixedLocator

    marks = factor.marks
    every = next(n for n in _ROUND if len(marks) <= n * most)
    steps = marks / (every * factor.step)
    numbered = marks[np.abs(steps - np.round(steps)) < 1e-6]
    if len(numbered) < 2:  # the marks start at an odd place
        numbered = marks[::every]
    axis.set_view_interval(numbered[0], numbered[-1])
    axis.set_major_locator(FixedLocator(numbered.tolist()))
    axis.set_major_formatter(FixedFormatter([factor.text(m) for m in numbered]))
    if most >= MOST_LABELS:
        axis.set_view_interval(marks[0], marks[-1])
        axis.set_minor_locator(FixedLocator(marks.tolist()))
