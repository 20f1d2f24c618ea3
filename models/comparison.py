"""Two windows -> where they differ, how sure that is, and a setting that is good in both.

The draws of two studies are independent: pairing them one by one gives draws of every difference.
Two lots of one study are compared draw by draw.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.common_factors import Match
from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.factors import snap_settings
from shotwindow.doe.seeds import generator
from shotwindow.models.held_chances import held_probability
from shotwindow.models.setpoint import SAME
from shotwindow.models.shifts import Shift, Side, Span, inside, paired, shifts, span_of
from shotwindow.models.window import SURE, settings_at

Array = NDArray[np.float64]

MOST_MARKS = 10_000  # that are looked at, drawn at random from all common ones
TOP = 200  # settings whose surroundings are looked at for one that is good in both


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


def compare_windows(
    a: Side, b: Side, match: Match, *, seed: int = 1, one_fit: bool = False
) -> Comparison:
    """Compare two windows over the marks of A.

    Parameters
    ----------
    a, b : Side
    match : Match
        Takes settings of A to B.
    seed : int
        Chooses the marks where there are too many, and pairs the draws.
    one_fit : bool
        Whether both are of one fit, as two lots are, so that their draws belong together.

    Raises
    ------
    Unanswerable
        If no setting was tried in both studies.
    """
    settings = _common_marks(a, b, match, seed)
    there = match.there(settings)
    pairs = None if one_fit else seed
    in_a, in_b = paired(inside(a, settings), inside(b, there), pairs)
    chance_a, chance_b = in_a.mean(axis=1), in_b.mean(axis=1)
    share_a, share_b = in_a.mean(axis=0), in_b.mean(axis=0)
    common = _common(a, b, match, settings, (in_a & in_b).mean(axis=1))
    return Comparison(
        marks=len(settings),
        share_a=span_of(share_a),
        share_b=span_of(share_b),
        both=span_of((in_a & in_b).mean(axis=0)),
        only_a=span_of((in_a & ~in_b).mean(axis=0)),
        only_b=span_of((in_b & ~in_a).mean(axis=0)),
        difference=span_of(share_b - share_a),
        chance_b_larger=float((share_b > share_a).mean() + 0.5 * (share_b == share_a).mean()),
        sure_only_a=float((chance_a * (1.0 - chance_b) >= SURE).mean()),
        sure_only_b=float((chance_b * (1.0 - chance_a) >= SURE).mean()),
        common=common,
        shifts=shifts(a, b, match, np.array(common.a), pairs),
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


def _common(a: Side, b: Side, match: Match, settings: Array, in_both: Array) -> Common:
    """Find the mark whose worse held chance of a good shot, of the two studies, is highest.

    Of those that are as good the one most likely in both windows, given for the settings (n,).
    """
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
    best = int(np.where(held >= held.max() - SAME, in_both[top], -1.0).argmax())
    return Common(
        a=tuple(float(v) for v in settings[top[best]]),
        b=tuple(float(v) for v in there[top[best]]),
        held_a=float(held_a[best]),
        held_b=float(held_b[best]),
        in_both=float(in_both[top[best]]),
    )
