"""Fitted shots -> the mold as a map of how evenly its cavities fill, and its numbers."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.arrangement import side_by_side
from shotwindow.reports.changes import LEVEL, Interval, middle_of
from shotwindow.reports.effect_figure import interval_text
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import chance
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.theme import INK, LIKELY_FILL, PAPER, SIDES, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

TILE = 0.9  # side of a tile, in distances of two cavities
BAR_REACH = 0.62  # of half a tile: above and below stand words
_ENDS = [0.5, (1 - LEVEL) / 2, (1 + LEVEL) / 2]


@dataclass(frozen=True)
class CavityFill:
    """How one cavity fills beside the others.

    Attributes
    ----------
    cavity : int
        From one.
    ahead : Interval
        Fill beyond the mean of all cavities in the same shot, in percent of a full part.
    short, read : int
        Shots in which it was short for certain, of those in which it was read.
    worst : float
        Share of the draws in which it is the one that fills least.
    """

    cavity: int
    ahead: Interval
    short: int
    read: int
    worst: float


def cavity_fills(found: Fitted) -> tuple[CavityFill, ...]:
    """Return how each cavity fills."""
    seen, cavity = found.readings, _offsets(found)
    ahead = 100.0 * np.expm1(cavity - cavity.mean(axis=1, keepdims=True))
    ends = np.quantile(ahead, _ENDS, axis=0)
    last = np.bincount(cavity.argmin(axis=1), minlength=cavity.shape[1]) / len(cavity)
    read = np.isfinite(seen.fill_low) | np.isfinite(seen.fill_high)
    short = read & (seen.fill_high <= seen.fill_good)
    return tuple(
        CavityFill(
            cavity=c + 1,
            ahead=Interval(*(float(end) for end in ends[:, c])),
            short=int(short[:, c].sum()),
            read=int(read[:, c].sum()),
            worst=float(last[c]),
        )
        for c in range(cavity.shape[1])
    )


def _offsets(found: Fitted) -> NDArray[np.float64]:
    """Offsets of the cavities where the settings are in their middle, (draws, cavities)."""
    return np.asarray(found.surfaces.fill.offsets(middle_of(found)[None])[0])


def balance(found: Fitted) -> Interval:
    """Return by how much the fullest cavity of a shot is ahead of the least filled, in percent."""
    cavity = _offsets(found)
    ends = np.quantile(100.0 * np.expm1(np.ptp(cavity, axis=1)), _ENDS)
    return Interval(*(float(end) for end in ends))


def places_of(found: Fitted) -> tuple[tuple[int, int], ...]:
    """Return the column and row of each cavity, as the study tells; else side by side in rows."""
    count = found.readings.fill_low.shape[1]
    layout = found.study.mold.layout or side_by_side(count)
    at = {number: (c, r) for r, row in enumerate(layout) for c, number in enumerate(row)}
    return tuple(at[number] for number in range(1, count + 1))


def cavity_figure(found: Fitted) -> "Figure":
    """Draw the mold as a map: a tile where each cavity lies, its fill as a bar from the middle.

    The level line across a tile is the mean of the cavities. A bar that hangs below it is hatched
    as what is short; one that stands above is filled and smooth. The whisker holds it with a chance
    of 0.9. The tile that fills least has the strong frame: it ends the window when it is short.
    """
    fills, places = cavity_fills(found), places_of(found)
    columns, rows = (max(place[i] for place in places) + 1 for i in (0, 1))
    reach = max(max(abs(fill.ahead.low), abs(fill.ahead.high)) for fill in fills)
    width = 8.4 / columns
    height = min(2.0, width, max(1.3, 4.0 / rows))
    with themed():
        figure = new_figure(8.6, 0.75 + height * rows)
        axes = figure.subplots()
        for fill, place in zip(fills, places, strict=True):
            frame = 2.6 if fill is _least(fills) else 0.8
            _draw_tile(axes, fill, place, reach, frame=frame, letters=min(8.0, 7.6 * width))
        axes.set(xlim=(-0.02, columns - 0.08), ylim=(rows - 0.08, -0.02))
        axes.set_axis_off()
        axes.set_title(
            "fill beyond the mean of the cavities (percent)\n"
            f"balance, fullest less least filled: {interval_text(balance(found))}",
            fontsize=8.5,
        )
        return laid_out(figure)


def _least(fills: tuple[CavityFill, ...]) -> CavityFill:
    return min(fills, key=lambda fill: fill.ahead.middle)


def _draw_tile(
    axes: "Axes", fill: CavityFill, place: tuple[int, int], reach: float, **look: float
) -> None:
    from matplotlib.patches import Rectangle

    (left, top), side = place, SIDES["fill"]
    level = top + TILE / 2
    scale = BAR_REACH * TILE / 2 / max(reach, 1e-9)
    up, low, high = (scale * end for end in (fill.ahead.middle, fill.ahead.low, fill.ahead.high))
    axes.add_patch(
        Rectangle(
            (left, top), TILE, TILE, facecolor="none", edgecolor=INK,
            linewidth=look["frame"], gid=f"tile-{fill.cavity}",
        )
    )  # fmt: skip
    body: dict[str, Any] = {"facecolor": LIKELY_FILL}
    if up < 0:
        body = {"facecolor": PAPER, "hatch": side.hatch}
    middle = left + TILE / 2
    axes.add_patch(
        Rectangle(
            (middle - 0.13, level), 0.26, -up, edgecolor=side.color, linewidth=1.0,
            gid=f"bar-{fill.cavity}", **body,
        )
    )  # fmt: skip
    axes.plot([left, left + TILE], [level, level], color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
    axes.plot([middle, middle], [level - low, level - high], color=INK, linewidth=1.6)
    for text, x, y, ha, va in (
        (f"{fill.cavity}", left + 0.05, top + 0.04, "left", "top"),
        (f"{fill.ahead.middle:+.2g}", left + TILE - 0.05, top + 0.04, "right", "top"),
        (f"short {fill.short} of {fill.read}", left + 0.05, top + TILE - 0.03, "left", "bottom"),
    ):
        weight = "bold" if text == f"{fill.cavity}" else "normal"
        axes.text(x, y, text, ha=ha, va=va, fontsize=look["letters"], weight=weight)


def cavity_exhibit(found: Fitted) -> Exhibit | None:
    """Return how evenly the cavities fill with its numbers; None for one cavity, or no fit."""
    if found.readings.fill_low.shape[1] < 2 or not found.surfaces.converged:
        return None
    fills = cavity_fills(found)
    rows = tuple(
        (str(f.cavity), f"{f.short} of {f.read}", interval_text(f.ahead), chance(f.worst))
        for f in fills
    )
    heads = ("cavity", "short", "fill beyond the mean (percent)", "chance that it fills least")
    least, spread = _least(fills), balance(found)
    lie = "as they lie in the mold" if found.study.mold.layout else "side by side"
    alt = (
        f"Fill of {len(fills)} cavities, {lie}, beyond their mean, with intervals that hold it "
        f"with a chance of 0.9. Cavity {least.cavity} fills least: {interval_text(least.ahead)} "
        "percent. "
        f"The fullest is ahead of the least filled by {interval_text(spread)} percent."
    )
    told = (
        "Seen from the nozzle, as study.toml tells."
        if found.study.mold.layout
        else "They stand in a row, as study.toml does not tell how they lie ([mold] layout)."
    )
    caption = "Cavities in numbers: middle, and the ends that hold it with a chance of 0.9"
    return Exhibit(
        name="cavities",
        title="Cavity by cavity: the balance of the mold",
        figure=cavity_figure(found),
        alt=alt,
        said=f"All cavities of a shot get the same settings; what parts them is the mold. {told}",
        table=Table(caption, heads, rows),
    )
