"""A class -> the picture that lays the windows of all teams over each other."""

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.reports.class_looks import (
    RING,
    draw_truth,
    hatch_untried,
    ring_entry,
    truth_entry,
    untried_entry,
)
from shotwindow.reports.classroom import LIKELY, Classroom, Ground, ground, in_window
from shotwindow.reports.naming import axis_label, setting_words
from shotwindow.reports.rulers import set_marks
from shotwindow.reports.theme import INK, PAPER, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

#: A setting that no team's window holds is paper; the more teams hold it, the darker it is, in the
#: green of the window: even steps of one hue, whose order a gray printer keeps.
_LIGHTEST, _DARKEST = (0.85, 0.94, 0.90), (0.17, 0.46, 0.35)
_STEP = (
    0.25  # of the way from one to the other, at the most, so that two teams are no black on white
)
#: Labels of setpoints stand on an oval around their middle, in shares of the map.
_OVAL = (0.27, 0.32)
_BEYOND = 0.3  # of that oval, farther out than the farthest setpoint
_WIDTHS = (0.45, 1.3)  # of that oval, at least and at most
TRUTH_WIDTH = 2.6


def class_map(room: Classroom) -> "Figure":
    """Draw the windows of all teams over each other, with setpoints and the truth where told.

    Shade counts teams, since a dozen outlines could not be told apart. A setpoint is a ring with
    the team's number on a line that leads to it: numbers need no color and do not cover each
    other. The truth is the only thick line, black in a white seam, to be seen on every shade.
    """
    with themed():
        figure = new_figure(8.6, 6.4)
        axes = figure.subplots()
        here = ground(room, room.at)
        counted = teams_holding(room, here)
        _shade(axes, here, counted, len(room.drawn))
        handles = [*_draw_untried(axes, room, here), *_draw_truth(axes, room, here)]
        _draw_setpoints(axes, room)
        dress(axes, room)
        axes.set_title(_title(room), wrap=True)
        bar = _bar(figure, axes, len(room.drawn))
        bar.set_label("teams whose likely window holds the setting")
        figure.legend(
            handles=[*handles, ring_entry("setpoint, with the team's number")],
            loc="outside lower left",
            ncols=3,
        )
        return laid_out(figure)


def teams_holding(room: Classroom, here: Ground) -> Array:
    """Return how many teams' likely windows hold each of the finer places of the map."""
    chances = (here.shaped(in_window(f, here.settings)) for _, _, f in room.drawn)
    held = [here.refined(np.nan_to_num(chance)) >= LIKELY for chance in chances]
    return np.asarray(np.sum(held, axis=0), dtype=float)


def dress(axes: "Axes", room: Classroom, *, most: int = 12) -> None:
    """Give a map of a class its marks and names."""
    across, up = (room.factors[j] for j in room.axes)
    axes.set(xlim=(across.low, across.high), ylim=(up.low, up.high))
    set_marks(axes.xaxis, across, most)
    set_marks(axes.yaxis, up, most)
    axes.set(xlabel=axis_label(across), ylabel=axis_label(up))


def _shades(count: int) -> list[Any]:
    """Return a color for each number of teams, the lightest first."""
    way = np.linspace(0.0, min(1.0, _STEP * (count - 1)), count)[:, None]
    return [tuple(c) for c in (1.0 - way) * np.array(_LIGHTEST) + way * np.array(_DARKEST)]


def _shade(axes: "Axes", here: Ground, counted: Array, count: int) -> None:
    levels = np.arange(count + 1) + 0.5
    if counted.any():
        axes.contourf(*here.finer, counted, levels=levels, colors=_shades(count), zorder=1)


def _bar(figure: "Figure", axes: "Axes", count: int) -> Any:
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import BoundaryNorm, ListedColormap

    norm = BoundaryNorm(np.arange(count + 1) + 0.5, count)
    every = -(-count // 12)
    return figure.colorbar(
        ScalarMappable(norm, ListedColormap(_shades(count))),
        ax=axes,
        ticks=range(count, 0, -every),
        shrink=0.8,
    )


def _draw_untried(axes: "Axes", room: Classroom, here: Ground) -> "list[Artist]":
    answered = [np.isfinite(in_window(f, here.settings)) for _, _, f in room.drawn]
    none = here.shaped(~np.any(answered, axis=0))
    hatch_untried(axes, here, none)
    return [untried_entry("tried by no team")] if none.any() else []


def _draw_truth(axes: "Axes", room: Classroom, here: Ground) -> "list[Artist]":
    if room.press is None:
        return []
    draw_truth(axes, here, room.drawn[0][1], TRUTH_WIDTH)
    return [truth_entry(TRUTH_WIDTH)]


def _draw_setpoints(axes: "Axes", room: Classroom) -> None:
    """Draw a ring at each setpoint and its number outside of them all, led to it by a line."""
    spots: dict[tuple[float, float], list[int]] = {}
    for number, _, found in room.drawn:
        if found.setpoint is not None:
            across, up = (found.setpoint.settings[j] for j in room.axes)
            spots.setdefault((across, up), []).append(number)
    if not spots:
        return
    low, high = (
        np.array([getattr(room.factors[j], end) for j in room.axes]) for end in ("low", "high")
    )
    shares = (np.array(list(spots)) - low) / (high - low)
    middle = np.clip(shares.mean(axis=0), 0.35, 0.65)
    turns = np.linspace(0.0, 2.0 * np.pi, len(spots), endpoint=False) + np.pi / 4
    farthest = float(np.hypot(*((shares - middle) / _OVAL).T).max())
    wide = np.array(_OVAL) * np.clip(farthest + _BEYOND, *_WIDTHS)
    oval = np.clip(middle + wide * np.stack([np.cos(turns), np.sin(turns)], axis=1), 0.03, 0.97)
    for spot, at in zip(spots, _matched(shares, oval), strict=True):
        _label(axes, spot, at, spots[spot])


def _matched(spots: Array, labels: Array) -> Array:
    """Return a label's place for each spot, all (n, 2), so that no two lines cross.

    The pairs with the smallest total length do not cross: where two did, swapping their ends would
    be shorter.
    """
    from scipy.optimize import linear_sum_assignment

    lengths = np.linalg.norm(spots[:, None] - labels[None], axis=2)
    return np.asarray(labels[linear_sum_assignment(lengths)[1]])


def _label(axes: "Axes", place: tuple[float, float], at: Array, numbers: list[int]) -> None:
    axes.plot(*place, gid=f"setpoint-{numbers[0]}", **RING)
    axes.annotate(
        ", ".join(map(str, numbers)),
        place,
        xytext=tuple(at),
        textcoords="axes fraction",
        ha="center",
        va="center",
        weight="bold",
        bbox={"boxstyle": "round,pad=0.25", "facecolor": PAPER, "edgecolor": INK},
        arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.9, "shrinkB": 4},
        zorder=6,
    )


def _title(room: Classroom) -> str:
    kept = [j for j in range(len(room.factors)) if j not in room.axes]
    others = setting_words([room.factors[j] for j in kept], [room.at[j] for j in kept])
    return f"at {others}, the middle of the setpoints" if kept else ""
