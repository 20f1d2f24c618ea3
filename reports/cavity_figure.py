"""Findings -> a picture of how evenly the cavities fill, and its numbers."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from shotwindow.reports.changes import LEVEL, Interval
from shotwindow.reports.effect_figure import interval_text
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import chance
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.theme import INK, SIDES, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.figure import Figure


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


def cavity_fills(found: Findings) -> tuple[CavityFill, ...]:
    """Return how each cavity fills."""
    seen, cavity = found.readings, found.surfaces.fill.cavity
    ahead = 100.0 * np.expm1(cavity - cavity.mean(axis=1, keepdims=True))
    ends = np.quantile(ahead, [0.5, (1 - LEVEL) / 2, (1 + LEVEL) / 2], axis=0)
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


def cavity_figure(found: Findings) -> "Figure":
    """Draw the cavities side by side; the lowest is the one that ends the window when short.

    One ink and one sign for all: cavities differ by their place, and by the count beneath them.
    """
    fills = cavity_fills(found)
    with themed():
        figure = new_figure(8.6, 2.8)
        axes = figure.subplots()
        places = [fill.cavity for fill in fills]
        below = [fill.ahead.middle - fill.ahead.low for fill in fills]
        above = [fill.ahead.high - fill.ahead.middle for fill in fills]
        axes.errorbar(
            places,
            [fill.ahead.middle for fill in fills],
            yerr=[below, above],
            fmt="o",
            color=SIDES["fill"].color,
            elinewidth=2.2,
            capsize=5,
        )
        axes.axhline(0.0, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
        axes.set_xticks(places, [f"{f.cavity}\nshort {f.short} of {f.read}" for f in fills])
        axes.set_xlim(0.4, len(fills) + 0.6)
        axes.set(xlabel="cavity", ylabel="fill beyond the mean\nof the cavities (percent)")
        return laid_out(figure)


def cavity_exhibit(found: Findings) -> Exhibit | None:
    """Return how evenly the cavities fill with its numbers; None for one cavity, or no fit."""
    if found.readings.fill_low.shape[1] < 2 or not found.surfaces.converged:
        return None
    fills = cavity_fills(found)
    rows = tuple(
        (str(f.cavity), f"{f.short} of {f.read}", interval_text(f.ahead), chance(f.worst))
        for f in fills
    )
    heads = ("cavity", "short", "fill beyond the mean (percent)", "chance that it fills least")
    least = min(fills, key=lambda fill: fill.ahead.middle)
    alt = (
        f"Fill of {len(fills)} cavities beyond their mean, with intervals that hold it with a "
        f"chance of 0.9. Cavity {least.cavity} fills least: {interval_text(least.ahead)} percent."
    )
    caption = "Cavities in numbers: middle, and the ends that hold it with a chance of 0.9"
    return Exhibit(
        name="cavities",
        title="Cavity by cavity",
        figure=cavity_figure(found),
        alt=alt,
        said="All cavities of a shot get the same settings; what parts them is the mold.",
        table=Table(caption, heads, rows),
    )
