"""Two windows side by side -> how far apart their edges lie along each factor.

The draws of two studies are independent: pairing them one by one gives draws of every difference.
Those of two lots of one study come from one fit and belong together as they are.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.common_factors import Match
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.models.goodness import Goodness
from shotwindow.models.window import Region

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SLICE = 256
PLACES = 201  # along a line


@dataclass(frozen=True)
class Side:
    """One of two studies or lots, with what was found in it."""

    study: Study
    goodness: Goodness
    region: Region

    def usable(self, settings: Array) -> Flags:
        """Return which settings (n, k) are allowed and lie where shots were made."""
        return np.asarray(self.study.allowed(settings) & self.region.holds(settings))


@dataclass(frozen=True)
class Span:
    """A share or a difference: its median and the ends that hold 90 %."""

    median: float
    low: float
    high: float


@dataclass(frozen=True)
class Shift:
    """How far one edge lies from the other study's, along one factor.

    Attributes
    ----------
    factor, side : str
        "low" or "high" edge.
    moved : Span or None
        Edge of B less edge of A in A's unit; None where most draws have no edge in one of them.
    chance_higher : float
        Chance that the edge of B lies higher; an edge beyond what was tried is farther than any.
    """

    factor: str
    side: str
    moved: Span | None
    chance_higher: float


def inside(side: Side, settings: Array) -> Flags:
    """Whether settings (n, k) are in the window by each draw, (n, draws)."""
    wanted = side.study.good_from
    parts = [
        side.goodness.shares(settings[i : i + SLICE]) >= wanted
        for i in range(0, len(settings), SLICE)
    ]
    return np.concatenate(parts)


def paired(in_a: Flags, in_b: Flags, seed: int | None) -> tuple[Flags, Flags]:
    """Pair draws (n, draws) of A and B.

    By chance, since fits with one seed draw much the same numbers; as they are without a seed, for
    draws of one fit.
    """
    if seed is None:
        return in_a, in_b
    draws = min(in_a.shape[1], in_b.shape[1])
    order = generator(seed, "pairs of draws").permutation(in_b.shape[1])[:draws]
    return in_a[:, :draws], in_b[:, order]


def span_of(values: Array) -> Span:
    """Return the median of some draws and the ends that hold 90 %."""
    low, median, high = np.quantile(values, [0.05, 0.5, 0.95])
    return Span(float(median), float(low), float(high))


def shifts(a: Side, b: Side, match: Match, setting: Array, seed: int | None) -> tuple[Shift, ...]:
    """Return how far the edges of B lie from those of A on lines through a setting (k,) of A.

    The seed pairs the draws, see `paired`.
    """
    found = []
    for j, factor in enumerate(a.study.factors):
        line = np.tile(setting, (PLACES, 1))
        line[:, j] = np.linspace(factor.low, factor.high, PLACES)
        line = line[a.region.holds(line) & b.region.holds(match.there(line))]
        if len(line) < 2:
            continue
        here = int(np.abs(line[:, j] - setting[j]).argmin())
        pairs = paired(inside(a, line), inside(b, match.there(line)), seed)
        for side in ("low", "high"):
            edges = [_edges(flags, line[:, j], here, side) for flags in pairs]
            found.append(_shift(factor.name, side, edges[0], edges[1]))
    return tuple(found)


def _edges(inside: Flags, places: Array, here: int, side: str) -> Array:
    """Place where each draw leaves the window, going from `here`; infinite where it does not."""
    rows = slice(here, None, -1) if side == "low" else slice(here, None)
    outside, way = ~inside[rows], places[rows]
    first = way[outside.argmax(axis=0)]
    return np.where(outside.any(axis=0), first, -np.inf if side == "low" else np.inf)


def _shift(factor: str, side: str, edge_a: Array, edge_b: Array) -> Shift:
    both = np.isfinite(edge_a) & np.isfinite(edge_b)
    higher = (edge_b > edge_a).mean() + 0.5 * (edge_b == edge_a).mean()
    moved = span_of(edge_b[both] - edge_a[both]) if both.mean() >= 0.5 else None
    return Shift(factor, side, moved, float(higher))
