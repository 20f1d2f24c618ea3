"""Findings -> the picture of the window: a map of two factors, or a ruler of the only one."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.reports.findings import Findings
from shotwindow.reports.legends import edge_legend, place_legend, side_legend, window_legend
from shotwindow.reports.naming import axis_label, setting_words
from shotwindow.reports.rulers import draw_ruler, set_marks
from shotwindow.reports.shots import draw_shots, shot_legend
from shotwindow.reports.slices import Slice, map_axes, slice_at
from shotwindow.reports.theme import (
    INK,
    LIKELY_FILL,
    PAPER,
    SIDES,
    SURE_FILL,
    UNTRIED_COLOR,
    UNTRIED_HATCH,
    WINDOW_LINE,
    laid_out,
    new_figure,
    themed,
    write_pictures,
)

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

LIKELY, SURE = 0.5, 0.9
BAND = (0.05, 0.95)  # chances between which an edge lies with a chance of 90 %
ROOM = 0.06  # of the width: an area with less room around its middle is not written into


def window_figure(found: Findings) -> "Figure":
    """Return the picture of the window: the map, or with one factor the ruler."""
    return window_map(found) if len(found.study.factors) > 1 else window_ruler(found)


def write_window(found: Findings, folder: Path) -> tuple[Path, Path]:
    """Write window.png and window.svg to a folder and return where they are."""
    return write_pictures(window_figure(found), folder, "window")


def window_ruler(found: Findings) -> "Figure":
    """Draw the window of a study with one factor, along its dial, with every shot above it."""
    with themed():
        figure = new_figure(8.6, 3.4)
        axes = figure.subplots()
        draw_ruler(axes, found, 0)
        draw_shots(axes, found, (0,))
        axes.set_title(_title(found), wrap=True)
        handles = [*window_legend(found), *side_legend(found), *shot_legend(found)]
        figure.legend(handles=handles, loc="outside lower left", ncols=3)
        return laid_out(figure)


def window_map(found: Findings) -> "Figure":
    """Draw the window over two factors at the setpoint's other settings."""
    with themed():
        figure = new_figure(8.6, 6.2)
        axes = figure.subplots()
        cut = slice_at(found, map_axes(found.study.factors))
        _draw_untried(axes, cut)
        _draw_sides(axes, cut)
        _draw_window(axes, cut)
        _draw_place(axes, found, cut)
        draw_shots(axes, found, cut.axes)
        _dress(axes, found, cut)
        axes.set_title(_title(found), wrap=True)
        handles = [
            *window_legend(found),
            *side_legend(found),
            *edge_legend(found),
            *place_legend(found),
            *shot_legend(found),
        ]
        figure.legend(handles=handles, loc="outside lower left", ncols=3)
        return laid_out(figure)


def _area(axes: "Axes", cut: Slice, flags: Flags, **look: Any) -> None:
    """Fill or hatch the part of the map where flags are true."""
    if flags.any():
        axes.contourf(*cut.places, flags.astype(float), levels=[0.5, 1.5], **look)


def _hatched(axes: "Axes", cut: Slice, flags: Flags, hatch: str, color: str) -> None:
    from matplotlib import rc_context

    with rc_context({"hatch.color": color}):
        _area(axes, cut, flags, colors="none", hatches=[hatch], zorder=1)


def _line(axes: "Axes", cut: Slice, field: Array, level: float, **look: Any) -> None:
    """Draw the line where a field crosses a level, if it does."""
    seen = field[np.isfinite(field)]
    if seen.size and seen.min() < level < seen.max():
        axes.contour(*cut.places, field, levels=[level], **look)


def _draw_untried(axes: "Axes", cut: Slice) -> None:
    _hatched(axes, cut, ~cut.answered, UNTRIED_HATCH, UNTRIED_COLOR)
    words = "not tried" if cut.allowed.all() else "not tried or ruled out"
    _write_into(axes, cut, ~cut.answered, words, INK)


def _draw_sides(axes: "Axes", cut: Slice) -> None:
    """Hatch each side that fails, and draw both rims of the band in which its edge lies."""
    for response, passes in cut.passes.items():
        side = SIDES[response]
        fails = np.nan_to_num(passes, nan=1.0) < LIKELY
        _hatched(axes, cut, fails, side.hatch, side.color)
        for level in BAND:
            look = {"colors": [side.color], "linestyles": [side.dash], "linewidths": [1.1]}
            _line(axes, cut, passes, level, zorder=2.5, **look)
        _write_into(axes, cut, fails, side.name, side.color)


def _draw_window(axes: "Axes", cut: Slice) -> None:
    """Fill the window; the outline of the sure one is whole, as what is certain."""
    chances = np.nan_to_num(cut.in_window)
    for level, fill, dash, width in (
        (LIKELY, LIKELY_FILL, "--", 1.4),
        (SURE, SURE_FILL, "-", 2.2),
    ):
        _area(axes, cut, chances >= level, colors=[fill], zorder=1.2)
        look = {"colors": [WINDOW_LINE], "linestyles": [dash], "linewidths": [width]}
        _line(axes, cut, cut.in_window, level, zorder=3, **look)


def _write_into(axes: "Axes", cut: Slice, flags: Flags, words: str, color: str) -> None:
    """Write words where an area is widest, unless it is too small for them."""
    from scipy.ndimage import distance_transform_edt

    depth = distance_transform_edt(np.pad(flags, 1))[1:-1, 1:-1]
    if depth.max() < ROOM * len(cut.places[0]):
        return
    up, right = np.unravel_index(int(depth.argmax()), depth.shape)
    axes.annotate(
        words,
        (cut.places[0][right], cut.places[1][up]),
        ha="center",
        va="center",
        color=color,
        weight="bold",
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.5},
        zorder=3.5,
    )


def _draw_place(axes: "Axes", found: Findings, cut: Slice) -> None:
    """Draw the setpoint as a ring on cross hairs, with the box of its ranges around it."""
    from matplotlib.patches import Rectangle

    if found.best is None or found.window is None:
        return
    x, y = (cut.at[j] for j in cut.axes)
    is_setpoint = found.setpoint is not None
    if found.ranges is not None:
        (left, right), (low, high) = (
            found.study.factors[j].marks[[found.ranges.low[j], found.ranges.high[j]]]
            for j in cut.axes
        )
        axes.add_patch(
            Rectangle((left, low), right - left, high - low, fill=False, edgecolor=INK, zorder=3.2)
        )
    for line in (axes.axvline, axes.axhline):
        line(x if line == axes.axvline else y, color=INK, linewidth=0.6, zorder=2)
    axes.plot(
        [x],
        [y],
        marker="o" if is_setpoint else "X",
        markersize=15,
        markerfacecolor="none" if is_setpoint else PAPER,
        markeredgecolor=INK,
        markeredgewidth=2.4,
        linestyle="none",
        zorder=6,
        gid="setpoint" if is_setpoint else "best-mark",
    )


def _dress(axes: "Axes", found: Findings, cut: Slice) -> None:
    across, up = cut.factors
    axes.set(xlim=cut.places[0][[0, -1]], ylim=cut.places[1][[0, -1]])
    set_marks(axes.xaxis, across)
    set_marks(axes.yaxis, up)
    axes.set(xlabel=axis_label(across), ylabel=axis_label(up))
    ratio = found.study.press.area_ratio
    if across.role == "pressure" and across.reads == "gauge" and ratio:
        top = axes.secondary_xaxis("top", functions=(_times(ratio), _times(1 / ratio)))
        top.set_xlabel(f"melt pressure ({across.unit} melt, {ratio:g} times the gauge)", fontsize=8)


def _times(ratio: float) -> Callable[[Any], Any]:
    return lambda pressure: pressure * ratio


def _title(found: Findings) -> str:
    study = found.study
    lines = [f"{study.title or study.mold.name or 'Window'}"]
    kept = [j for j in range(len(study.factors)) if j not in map_axes(study.factors)]
    if kept:
        others = setting_words(
            [study.factors[j] for j in kept], [found.best_settings[j] for j in kept]
        )
        lines.append(f"at {others}")
    return "\n".join(lines)
