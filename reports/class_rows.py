"""A class -> each factor as one scale with a row for each team: window, setpoint, truth."""

from typing import TYPE_CHECKING, Any

from shotwindow.doe.factors import Factor
from shotwindow.models.window import LIKELY, SURE
from shotwindow.reports.class_looks import RING, WINDOWS, ring_entry, short_name, window_entries
from shotwindow.reports.classroom import Classroom, Team
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import axis_label, listed
from shotwindow.reports.own_marks import marks_along
from shotwindow.reports.rulers import set_marks, stretches
from shotwindow.reports.theme import FAINT, INK, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: Heights in a row of one: likely is a low box with a dashed rim, sure a high one with a whole rim,
#: and the truth stands under both, as a bar with ends.
_HEIGHT = {"likely": 0.34, "sure": 0.52}
_TRUTH_BELOW = 0.40


def class_rows(room: Classroom) -> "Figure":
    """Draw a scale for each factor with a row for each team, the other settings at its setpoint.

    Rows keep teams apart that would hide each other on one scale, and are read down: setpoints
    that agree stand in a column. Height and rim tell sure from likely without any color.
    """
    with themed():
        teams, factors = room.drawn, room.factors
        figure = new_figure(8.6, 1.5 + 0.42 * len(teams))
        axes = figure.subplots(1, len(factors), sharey=True, squeeze=False)[0]
        for j, (one, factor) in enumerate(zip(axes, factors, strict=True)):
            for row, (_, team, found) in enumerate(teams):
                _draw_row(one, row, team, found, j)
            _dress(one, factor, most=12 // len(factors) + 1)
        axes[0].set_yticks(
            range(len(teams)), [f"{number}  {short_name(team.name)}" for number, team, _ in teams]
        )
        axes[0].set_ylim(len(teams) - 0.4, -0.6)
        figure.legend(handles=_legend(room), loc="outside lower left", ncols=4)
        return laid_out(figure)


def stretch_of(found: Findings, j: int, which: str) -> list[tuple[float, float]]:
    """Return the stretches of one factor in a team's window, the others at its best setting."""
    factor, chances = marks_along(found, j)  # drawn teams have a window
    flags = chances >= (SURE if which == "sure" else LIKELY)
    return [(float(factor.marks[a]), float(factor.marks[b])) for a, b in stretches(flags)]


def stretch_words(factor: Factor, spans: list[tuple[float, float]]) -> str:
    """Return stretches as text."""
    parts = [
        factor.text(a) if a == b else f"{factor.text(a)} to {factor.text(b)}" for a, b in spans
    ]
    return listed(parts) or "none"


def true_stretch(team: Team, j: int) -> list[tuple[float, float]]:
    """Return the true window along a factor at a team's setpoint; none where that is not in it."""
    span = None if team.score is None else team.score.true_ranges[j]
    return [] if span is None else [span]


def _draw_row(axes: "Axes", row: int, team: Team, found: Findings, j: int) -> None:
    from matplotlib.patches import Rectangle

    factor = found.study.factors[j]
    beyond = factor.step / 2  # a mark is as wide as its step, so that one alone can be seen
    axes.plot([factor.low, factor.high], [row, row], color=FAINT, linewidth=0.8, zorder=1)
    for which, look in WINDOWS.items():
        height = _HEIGHT[which]
        for part, (a, b) in enumerate(stretch_of(found, j, which)):
            corner = (a - beyond, row - height / 2)
            size = (b - a + factor.step, height)
            axes.add_patch(
                Rectangle(corner, *size, gid=f"{which}-{row}-{j}-{part}", zorder=2, **look)
            )
    for a, b in true_stretch(team, j):
        ends = [a - beyond, b + beyond]
        axes.plot(ends, [row + _TRUTH_BELOW] * 2, gid=f"truth-{row}-{j}", **_TRUTH)
    if found.setpoint is not None:
        axes.plot([found.setpoint.settings[j]], [row], gid=f"setpoint-{row}-{j}", **RING)


_TRUTH: dict[str, Any] = {
    "color": INK, "linewidth": 2.2, "marker": "|", "markersize": 6, "solid_capstyle": "butt",
}  # fmt: skip


def _dress(axes: "Axes", factor: Factor, most: int) -> None:
    axes.set_xlim(factor.low - factor.step, factor.high + factor.step)
    set_marks(axes.xaxis, factor, most)
    axes.set_xlabel(axis_label(factor))
    axes.tick_params(axis="y", length=0)
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)


def _legend(room: Classroom) -> "list[Artist]":
    from matplotlib.lines import Line2D

    entries = [*window_entries(), ring_entry("setpoint")]
    if room.told:
        entries.append(Line2D([], [], label="true window, through the setpoint", **_TRUTH))
    return entries
