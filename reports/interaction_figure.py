"""Fitted shots -> a picture of pairs of settings whose effects do not simply add."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.surface import Surface
from shotwindow.reports.changes import LEVEL, middle_of
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.latent_axis import latent_ticks, scale_of
from shotwindow.reports.naming import axis_label, chance, spoken, unit_of, with_unit
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.rulers import set_marks
from shotwindow.reports.theme import INK, PAPER, SIDES, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

PAIRS = 3  # of each response: those that most clearly do not add
COUNT = 31  # places along a line
_ENDS = [(1 - LEVEL) / 2, 0.5, (1 + LEVEL) / 2]


@dataclass(frozen=True)
class Pair:
    """Two settings and one response.

    Attributes
    ----------
    surface : Surface
    across, beside : int
        Positions of the factor that is turned up, and of the one kept at either end.
    clear : float
        Chance that the two do not add in the way that they seem not to.
    places : ndarray, shape (COUNT,)
        Settings of the first.
    lines : ndarray, shape (2, 3, COUNT)
        With the other at its low and high end: lower end, middle and upper end of the typical
        shot's worst cavity, on the fitted scale; in deviations over the limit for a graded one.
    """

    surface: Surface
    across: int
    beside: int
    clear: float
    places: Array
    lines: Array


def pairs_of(found: Fitted, surface: Surface) -> tuple[Pair, ...]:
    """Return the pairs that most clearly do not add, the clearest first."""
    told = []
    for powers, draws in zip(surface.terms.powers, surface.coefficients.T, strict=True):
        pair = np.flatnonzero(powers)
        if len(pair) == 2:
            up = float((draws > 0).mean())
            # of as many draws of one sign the larger one, in its own scatter, goes first
            size = abs(float(draws.mean())) / max(float(draws.std()), 1e-12)
            told.append((max(up, 1 - up), size, int(pair[0]), int(pair[1])))
    best = sorted(told, key=lambda each: (-each[0], -each[1]))[:PAIRS]
    return tuple(_pair(found, surface, a, b, clear) for clear, _, a, b in best)


def all_pairs(found: Fitted) -> list[tuple[Pair, ...]]:
    """Return the pairs of each response that has any."""
    return [pairs for surface in found.surfaces.each if (pairs := pairs_of(found, surface))]


def _pair(found: Fitted, surface: Surface, across: int, beside: int, clear: float) -> Pair:
    places = np.linspace(found.region.low[across], found.region.high[across], COUNT)
    lines = []
    for end in (found.region.low[beside], found.region.high[beside]):
        settings = np.tile(middle_of(found), (COUNT, 1))
        settings[:, across], settings[:, beside] = places, end
        height = surface.latent(settings) + surface.worst(settings) + surface.lot.mean(axis=1)
        if not is_measured(found, surface):
            scatter = np.sqrt(surface.shot_sd**2 + surface.group_sd**2 + surface.rest_sd**2)
            height = (height - surface.limit) / scatter
        else:
            height = scale_of(found, surface).of_draws(height, surface.power)
        lines.append(np.quantile(height, _ENDS, axis=1))
    return Pair(surface, across, beside, clear, places, np.array(lines))


def is_measured(found: Fitted, surface: Surface) -> bool:
    """Tell whether a response is read as a number, so that its axis has a unit."""
    if surface.response == "fill":
        return found.study.fill.measured != "full-or-short"
    return surface.response == "flash" and surface.grade_limits is None


def interaction_figure(found: Fitted, rows: Sequence[tuple[Pair, ...]]) -> "Figure":
    """Draw a row for each response and a panel for each of its pairs, those of ``all_pairs``.

    The line for the low end of the other setting is dashed on a hatched band, that for the high end
    whole on a filled one, so that they stay apart in gray and where they cross; each has its value
    at its right end. Axes are those on which effects add, numbered in what is read: where the lines
    run side by side, so do the settings.
    """
    columns = max(len(pairs) for pairs in rows)
    with themed():
        figure = new_figure(8.6, 1.0 + 2.5 * len(rows))
        grid = figure.subplots(len(rows), columns, squeeze=False, sharey="row")
        for row, pairs in zip(grid, rows, strict=True):
            for axes, pair in zip(row, pairs, strict=False):
                _draw(axes, found, pair)
            row[0].set_ylabel(_height_label(found, pairs[0].surface), fontsize=8)
        figure.legend(handles=_legend(), loc="outside lower left", ncols=3)
        return laid_out(figure)


def _draw(axes: "Axes", found: Fitted, pair: Pair) -> None:
    side = SIDES[pair.surface.response]
    factor, beside = (found.study.factors[j] for j in (pair.across, pair.beside))
    ends = (found.region.low[pair.beside], found.region.high[pair.beside])
    looks: tuple[dict[str, Any], ...] = (
        {"facecolor": "none", "edgecolor": side.color, "hatch": "|||", "linewidth": 0.0},
        {"facecolor": side.color, "alpha": 0.25, "linewidth": 0.0},
    )
    for (low, middle, high), look, dash, end, away in zip(
        pair.lines, looks, ("--", "-"), ends, _apart(pair), strict=True
    ):
        axes.fill_between(pair.places, low, high, **look)
        axes.plot(pair.places, middle, color=side.color, linestyle=dash, linewidth=1.8)
        axes.annotate(
            beside.text(end),
            (pair.places[-1], middle[-1]),
            xytext=(3, away),
            textcoords="offset points",
            va="center",
            fontsize=7.5,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.5},
        )
    measured = is_measured(found, pair.surface)
    limit = pair.surface.limit if measured else 0.0
    axes.axhline(limit, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
    if measured:
        axes.yaxis.set_ticks(*latent_ticks(scale_of(found, pair.surface), limit, *axes.get_ylim()))
    set_marks(axes.xaxis, factor, most=5)
    reach = pair.places[-1] - pair.places[0]
    axes.set_xlim(pair.places[0], pair.places[-1] + 0.14 * reach)  # room for the values
    axes.set_xlabel(axis_label(factor), fontsize=8)
    axes.set_title(f"{spoken(beside.name)} ({unit_of(beside)})", fontsize=8)
    axes.tick_params(labelsize=7.5)


def _legend() -> "Sequence[Artist]":
    from matplotlib.lines import Line2D

    looks: tuple[tuple[str, dict[str, Any]], ...] = (
        ("other setting at its low end (band: 0.9)", {"linestyle": "--", "linewidth": 1.8}),
        ("at its high end (band: 0.9)", {"linestyle": "-", "linewidth": 1.8}),
        ("limit of a good shot", {"linestyle": (0, (1, 2)), "linewidth": 0.8}),
    )
    return [Line2D([], [], color=INK, label=label, **look) for label, look in looks]


def _apart(pair: Pair) -> tuple[float, float]:
    """Return by how many points the values at the ends of the two lines are moved up."""
    low, high = pair.lines[:, 1, -1]
    near = abs(high - low) < 0.1 * float(np.ptp(pair.lines))
    upward = 4.5 if high >= low else -4.5
    return (-upward, upward) if near else (0.0, 0.0)


def _height_label(found: Fitted, surface: Surface) -> str:
    """Return what the height of the lines of a response is."""
    name = surface.response if surface.response != "other" else "other rejects"
    if not is_measured(found, surface):
        return f"{name} over its limit\n(deviations of a shot)"
    unit = "%" if surface.response == "fill" else found.study.flash.unit
    return f"{name} of the worst cavity\n({unit})"


def interaction_exhibit(found: Fitted) -> Exhibit | None:
    """Return the pairs with words and numbers; None with one setting, or where the fit failed."""
    if not found.surfaces.converged or len(found.study.factors) < 2:
        return None
    by_response = all_pairs(found)
    told = [pair for pairs in by_response for pair in pairs]
    if not told:
        return None
    clearest = max(told, key=lambda pair: pair.clear)
    names = [spoken(found.study.factors[j].name) for j in (clearest.across, clearest.beside)]
    alt = (
        f"Lines of fill and flash over one setting with another at its low and high end, for the "
        f"{PAIRS} pairs of each that most clearly do not add. The clearest: {names[0]} with "
        f"{names[1]} on {clearest.surface.response}, chance {chance(clearest.clear)}."
    )
    heads = (
        "response", "turned up", "other kept at", "at its low end", "at its high end",
        "chance that they do not add so",
    )  # fmt: skip
    return Exhibit(
        name="interactions",
        title="Which settings do not simply add",
        figure=interaction_figure(found, by_response),
        alt=alt,
        said="Above each panel stands the other setting, at the ends of the lines its values; "
        "bands hold each line with a chance of 0.9. Lines side by side: the two add. Lines that "
        "spread or cross: what one does depends on the other.",
        table=Table(
            "Pairs in numbers: the middle line where the first setting is lowest and highest",
            heads,
            tuple(row for pair in told for row in _rows(found, pair)),
        ),
    )


def _rows(found: Fitted, pair: Pair) -> list[tuple[str, ...]]:
    factor, beside = (found.study.factors[j] for j in (pair.across, pair.beside))
    ends = (found.region.low[pair.beside], found.region.high[pair.beside])
    return [
        (
            pair.surface.response,
            axis_label(factor),
            f"{spoken(beside.name)} {with_unit(beside, end)}",
            *(_read(found, pair.surface, middle[at]) for at in (0, -1)),
            chance(pair.clear),
        )
        for (_, middle, _), end in zip(pair.lines, ends, strict=True)
    ]


def _read(found: Fitted, surface: Surface, height: float) -> str:
    if not is_measured(found, surface):
        return f"{height:+.2g} deviations"
    unit = "%" if surface.response == "fill" else found.study.flash.unit
    return f"{float(scale_of(found, surface).values(np.array([height]))[0]):.3g} {unit}"
