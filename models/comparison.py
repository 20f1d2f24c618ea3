"""Two windows -> where they differ, how sure that is, and a setting that is good in both.

The draws of two studies are independent: pairing them one by one gives draws of every difference.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.common_factors import Match
from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.factors import snap_settings
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.models.goodness import Goodness
from shotwindow.models.setpoint import SAME, held_probability
from shotwindow.models.window import SURE, Region, settings_at

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

MOST_MARKS = 10_000  # that are looked at, drawn at random from all common ones
SLICE = 256
TOP = 200  # settings whose surroundings are looked at for one that is good in both
PLACES = 201  # along a line through that setting


@dataclass(frozen=True)
class Side:
    """One of two studies, with what was found in it."""

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


@dataclass(frozen=True)
class Common:
    """A setting for both.

    Attributes
    ----------
    a, b : tuple of float
        On the marks and in the units of each study.
    held_a, held_b : float
        Lowest chance of a good shot over what each press holds.
    in_both : float
        Chance that it lies in both windows.
    """

    a: tuple[float, ...]
    b: tuple[float, ...]
    held_a: float
    held_b: float
    in_both: float


@dataclass(frozen=True)
class Comparison:
    """What sets two windows apart, over the settings that both studies tried.

    Attributes
    ----------
    marks : int
        Marks of A that both studies allow and tried, or as many as were looked at.
    share_a, share_b : Span
        In each window, as a share of these.
    both, only_a, only_b : Span
    difference : Span
        Share of B less share of A.
    chance_b_larger : float
    sure_only_a, sure_only_b : float
        Share of settings in one window and not in the other with a chance of 0.9 or more.
    common : Common
    shifts : tuple of Shift
        Along each factor through `common`.
    """

    marks: int
    share_a: Span
    share_b: Span
    both: Span
    only_a: Span
    only_b: Span
    difference: Span
    chance_b_larger: float
    sure_only_a: float
    sure_only_b: float
    common: Common
    shifts: tuple[Shift, ...]


def compare_windows(a: Side, b: Side, match: Match, *, seed: int = 1) -> Comparison:
    """Compare two windows over the marks of A.

    Parameters
    ----------
    a, b : Side
    match : Match
        Takes settings of A to B.
    seed : int
        Chooses the marks where there are too many.

    Raises
    ------
    Unanswerable
        If no setting was tried in both studies.
    """
    settings = _common_marks(a, b, match, seed)
    there = match.there(settings)
    in_a, in_b = _inside(a, settings), _inside(b, there)
    in_a, in_b = _paired(in_a, in_b, seed)
    chance_a, chance_b = in_a.mean(axis=1), in_b.mean(axis=1)
    share_a, share_b = in_a.mean(axis=0), in_b.mean(axis=0)
    common = _common(a, b, match, settings, np.minimum(chance_a, chance_b))
    return Comparison(
        marks=len(settings),
        share_a=_span(share_a),
        share_b=_span(share_b),
        both=_span((in_a & in_b).mean(axis=0)),
        only_a=_span((in_a & ~in_b).mean(axis=0)),
        only_b=_span((in_b & ~in_a).mean(axis=0)),
        difference=_span(share_b - share_a),
        chance_b_larger=float((share_b > share_a).mean() + 0.5 * (share_b == share_a).mean()),
        sure_only_a=float((chance_a * (1.0 - chance_b) >= SURE).mean()),
        sure_only_b=float((chance_b * (1.0 - chance_a) >= SURE).mean()),
        common=common,
        shifts=_shifts(a, b, match, np.array(common.a), seed),
    )


def _common_marks(a: Side, b: Side, match: Match, seed: int) -> Array:
    """Marks of A (n, k) that both studies allow and tried."""
    counts = [f.count for f in a.study.factors]
    total = int(np.prod(counts))
    rng = generator(seed, "comparison")
    flat = np.arange(total)
    if total > 20 * MOST_MARKS:
        flat = np.unique(rng.integers(total, size=20 * MOST_MARKS))
    settings = settings_at(a.study.factors, flat)
    found = settings[a.usable(settings)]
    found = found[b.usable(match.there(found))]
    if not len(found):
        raise Unanswerable("no setting was tried in both studies: there is nothing to compare")
    if len(found) > MOST_MARKS:
        found = found[np.sort(rng.choice(len(found), MOST_MARKS, replace=False))]
    return found


def _inside(side: Side, settings: Array) -> Flags:
    """Whether settings (n, k) are in the window by each draw, (n, draws)."""
    wanted = side.study.good_from
    parts = [
        side.goodness.shares(settings[i : i + SLICE]) >= wanted
        for i in range(0, len(settings), SLICE)
    ]
    return np.concatenate(parts)


def _paired(in_a: Flags, in_b: Flags, seed: int) -> tuple[Flags, Flags]:
    """Pair draws (n, draws) of A and B by chance: fits with one seed draw much the same numbers."""
    draws = min(in_a.shape[1], in_b.shape[1])
    order = generator(seed, "pairs of draws").permutation(in_b.shape[1])[:draws]
    return in_a[:, :draws], in_b[:, order]


def _span(values: Array) -> Span:
    low, median, high = np.quantile(values, [0.05, 0.5, 0.95])
    return Span(float(median), float(low), float(high))


def _common(a: Side, b: Side, match: Match, settings: Array, likely: Array) -> Common:
    """Find the mark whose worse held chance of a good shot, of the two studies, is highest."""
    there = snap_settings(b.study.factors, match.there(settings))
    usable = np.flatnonzero(b.usable(there))
    if not usable.size:
        usable = np.arange(len(settings))
    worse = np.minimum(
        a.goodness.probability_good(settings[usable]), b.goodness.probability_good(there[usable])
    )
    top = usable[np.argsort(-worse, kind="stable")[:TOP]]
    held_a = held_probability(a.goodness, a.study.factors, settings[top])
    held_b = held_probability(b.goodness, b.study.factors, there[top])
    held = np.minimum(held_a, held_b)
    best = int(np.where(held >= held.max() - SAME, likely[top], -1.0).argmax())
    here = top[[best]]
    in_both = _inside(a, settings[here]).mean() * _inside(b, there[here]).mean()
    return Common(
        a=tuple(float(v) for v in settings[top[best]]),
        b=tuple(float(v) for v in there[top[best]]),
        held_a=float(held_a[best]),
        held_b=float(held_b[best]),
        in_both=float(in_both),
    )


def _shifts(a: Side, b: Side, match: Match, setting: Array, seed: int) -> tuple[Shift, ...]:
    found = []
    for j, factor in enumerate(a.study.factors):
        line = np.tile(setting, (PLACES, 1))
        line[:, j] = np.linspace(factor.low, factor.high, PLACES)
        line = line[a.region.holds(line) & b.region.holds(match.there(line))]
        if len(line) < 2:
            continue
        here = int(np.abs(line[:, j] - setting[j]).argmin())
        pairs = _paired(_inside(a, line), _inside(b, match.there(line)), seed)
        for side in ("low", "high"):
            edges = [_edges(flags, line[:, j], here, side) for flags in pairs]
            found.append(_shift(factor.name, side, edges[0], edges[1]))
    return tuple(found)


def _edges(inside: Flags, places: Array, here: int, side: str) -> Array:
    """Place where each draw leaves the window on its way from `here`; infinite where it does not."""
    rows = slice(here, None, -1) if side == "low" else slice(here, None)
    outside, way = ~inside[rows], places[rows]
    first = way[outside.argmax(axis=0)]
    return np.where(outside.any(axis=0), first, -np.inf if side == "low" else np.inf)


def _shift(factor: str, side: str, edge_a: Array, edge_b: Array) -> Shift:
    both = np.isfinite(edge_a) & np.isfinite(edge_b)
    higher = (edge_b > edge_a).mean() + 0.5 * (edge_b == edge_a).mean()
    moved = _span((edge_b - edge_a)[both]) if both.mean() >= 0.5 else None
    return Shift(factor, side, moved, float(higher))
