"""A slice -> areas and lines of a map: window, failing sides, bands of edges, untried ground."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.reports.slices import Slice
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

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

LIKELY, SURE = 0.5, 0.9
BAND = (0.05, 0.95)  # chances between which an edge lies with a chance of 90 %
ROOM = 0.06  # of the width: an area with less room around its middle is not written into


def draw_areas(axes: "Axes", cut: Slice, *, small: bool = False) -> None:
    """Draw all areas of a map; a small one has neither words in them nor bands of the edges.

    The window alone is filled, so that the eye goes to it; each side that fails has a hatch that
    leans its own way, and what was not tried a grid: hatches survive every printer.
    """
    _draw_untried(axes, cut, small=small)
    _draw_sides(axes, cut, small=small)
    _draw_window(axes, cut)


def draw_hatched(
    axes: "Axes", places: Sequence[Array], flags: Flags, hatch: str, color: str
) -> None:
    """Hatch the part of a map with such places along its axes where flags are true."""
    _area(axes, places, flags, fill=False, hatch=hatch, edgecolor=color, linewidth=0, zorder=1)


def _area(axes: "Axes", places: Sequence[Array], flags: Flags, **look: Any) -> None:
    if flags.any():
        parts = _generator(places, flags.astype(float)).filled(0.5, 1.5)
        _add(axes, parts, antialiased=False, **look)


def _line(axes: "Axes", cut: Slice, field: Array, level: float, **look: Any) -> None:
    """Draw the line where a field crosses a level, if it does."""
    seen = field[np.isfinite(field)]
    if seen.size and seen.min() < level < seen.max():
        parts = _generator(cut.places, field).lines(level)
        _add(axes, parts, fill=False, joinstyle="round", label=f"chance {level:g}", **look)


def _generator(places: Sequence[Array], field: Array) -> Any:
    """Return what tells where a field over such places lies between levels."""
    from contourpy import FillType, LineType, contour_generator

    return contour_generator(
        x=places[0],
        y=places[1],
        z=np.ma.masked_invalid(field),
        name="mpl2014",
        line_type=LineType.SeparateCode,
        fill_type=FillType.OuterCode,
    )


def _add(axes: "Axes", parts: tuple[list[Array], list[Any]], **look: Any) -> None:
    """Draw parts as one shape: matplotlib's own sets of contours take ten times as long."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    corners, ways = parts
    if corners:
        shape = PathPatch(Path(np.concatenate(corners), np.concatenate(ways)), **look)
        axes.add_artist(shape)  # and not add_patch, which follows it to see how far it reaches


def _draw_untried(axes: "Axes", cut: Slice, *, small: bool) -> None:
    draw_hatched(axes, cut.places, ~cut.answered, UNTRIED_HATCH, UNTRIED_COLOR)
    if small:
        return
    words = "not tried" if cut.allowed.all() else "not tried\nor ruled out"
    _write_into(axes, cut, ~cut.answered, words, INK)


def _draw_sides(axes: "Axes", cut: Slice, *, small: bool) -> None:
    """Hatch each side that fails, and draw both rims of the band in which its edge lies."""
    for response, passes in cut.passes.items():
        side = SIDES[response]
        fails = np.nan_to_num(passes, nan=1.0) < LIKELY
        draw_hatched(axes, cut.places, fails, side.hatch, side.color)
        if small:
            continue
        for level in BAND:
            look = {"edgecolor": side.color, "linestyle": side.dash, "linewidth": 1.1}
            _line(axes, cut, passes, level, zorder=2.5, **look)
        _write_into(axes, cut, fails, side.name, side.color)


def _draw_window(axes: "Axes", cut: Slice) -> None:
    """Fill the window; the outline of the sure one is whole, as what is certain."""
    chances = np.nan_to_num(cut.in_window)
    for level, fill, dash, width in (
        (LIKELY, LIKELY_FILL, "--", 1.4),
        (SURE, SURE_FILL, "-", 2.2),
    ):
        _area(axes, cut.places, chances >= level, facecolor=fill, linewidth=0, zorder=1.2)
        look = {"edgecolor": WINDOW_LINE, "linestyle": dash, "linewidth": width}
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
