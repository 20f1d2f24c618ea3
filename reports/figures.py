"""Findings -> the picture of the window: a map of two factors, or a ruler of the only one."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shotwindow.reports.findings import Findings
from shotwindow.reports.legends import edge_legend, place_legend, side_legend, window_legend
from shotwindow.reports.maps import draw_areas
from shotwindow.reports.naming import axis_label, setting_words, shortened
from shotwindow.reports.rulers import draw_ruler, set_marks
from shotwindow.reports.shots import draw_shots, shot_legend
from shotwindow.reports.slices import Slice, map_axes, slice_at
from shotwindow.reports.theme import INK, PAPER, laid_out, new_figure, themed, write_pictures

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


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
    from matplotlib import rc_context

    # the title has to clear the melt pressure, where that stands above
    with themed(), rc_context({"axes.titley": None}):
        figure = new_figure(8.6, 6.2)
        axes = figure.subplots()
        cut = slice_at(found, map_axes(found.study.factors))
        draw_areas(axes, cut)
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


def _draw_place(axes: "Axes", found: Findings, cut: Slice) -> None:
    """Draw the setpoint as a ring on cross hairs, with the box of its ranges around it."""
    from matplotlib.patches import Rectangle

    if found.best is None or found.window is None:
        return
    x, y = (cut.at[j] for j in cut.axes)
    is_setpoint = found.setpoint is not None
    if found.range_ends:
        (left, right), (low, high) = (found.range_ends[j] for j in cut.axes)
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
    lines = [shortened(study.title or study.mold.name or "Window", 150)]
    kept = [j for j in range(len(study.factors)) if j not in map_axes(study.factors)]
    if kept:
        others = setting_words(
            [study.factors[j] for j in kept], [found.best_settings[j] for j in kept]
        )
        lines.append(f"at {others}")
    return "\n".join(lines)
