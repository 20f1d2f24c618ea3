"""A plan and the number of a practice press -> what the plan would find on it; many -> a summary.

The presses fit what the study says and are those of `shotwindow.models.presses`, of both families
in turn. One seed and number give one press and one luck, whatever the plan, so that plans are
compared on the same presses. Nothing is written down wrongly there, so no reading is doubted: a
slip says nothing of the plan, and looking for one takes up to half as many fits again.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from shotwindow.doe.plans import PlannedShot
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.models.families import FAMILIES
from shotwindow.models.goodness import goodness
from shotwindow.models.presses import press_for
from shotwindow.models.rehearsal import shoot_plan
from shotwindow.models.scoring import score
from shotwindow.models.setpoint import find_setpoint
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.thinning import REHEARSED_MARKS, thinned
from shotwindow.models.window import Window, find_window, open_edges, settings_at

Array = NDArray[np.float64]

#: Draws of each surface; the window of a study itself is found with more.
DRAWS = 256
#: Of the thinned marks, how many are compared with the truth.
SCORED = 800
#: How sure a gain has to be to count: of eight plans that are all as good as the first, one then
#: seems better in one comparison of twenty.
CLEAR = 1.0 - 0.05 / 8


@dataclass(frozen=True)
class Rehearsal:
    """What a plan found on one practice press.

    Attributes
    ----------
    has_window : bool
        Whether any mark that was looked at truly is in the window.
    overlap : float
        Of the likely window with the true one; 0 where the fit gave no answer.
    setpoint_good : float or None
        True share of good shots at the setpoint; None where none was found.
    open_edge : bool
        Whether short shots, or flash, were never seen.
    answered : bool
        Whether the draws of the fit might be used.
    """

    has_window: bool
    overlap: float
    setpoint_good: float | None
    open_edge: bool
    answered: bool


@dataclass(frozen=True)
class Summary:
    """What a plan found on many practice presses.

    Attributes
    ----------
    presses, with_window : int
        How many there were, and on how many of them there is a window.
    overlap : tuple of float, or None
        Quartiles and median, in rising order, over presses with a window; None without any.
    works : int
        Presses with a setpoint that truly reaches the wanted share of good shots.
    open_edge : int
        With an edge that was never seen.
    missed : int
        With a window, but no setpoint found.
    unanswered : int
        Where the fit gave no answer.
    """

    presses: int
    with_window: int
    overlap: tuple[float, float, float] | None
    works: int
    open_edge: int
    missed: int
    unanswered: int


@dataclass(frozen=True)
class Gain:
    """Mean gain in overlap of one plan over another, and what is known of it.

    Attributes
    ----------
    mean, error : float
        Over presses with a window, and its standard error: infinite for fewer than two presses.
    presses : int
        How many have a window.
    """

    mean: float
    error: float
    presses: int

    @property
    def is_clear(self) -> bool:
        """Whether the one plan is better by more than luck, by Student's distribution."""
        return self.mean > self._doubt

    def is_no_loss(self, least: float) -> bool:
        """Whether it is clear that no more than so much overlap is lost."""
        return self.mean - self._doubt > -least

    @property
    def _doubt(self) -> float:
        return float(stdtrit(max(self.presses - 1, 1), CLEAR)) * self.error


def rehearse(
    study: Study,
    shots: Sequence[PlannedShot],
    *,
    seed: int,
    number: int,
    draws: int = DRAWS,
    signs: bool = True,
) -> Rehearsal:
    """Shoot a plan on a practice press, fit what came out, and compare it with the truth.

    Parameters
    ----------
    study : Study
    shots : sequence of PlannedShot
        In running order.
    seed, number : int
        Which press, and what luck. Even numbers are of the first family, odd ones of the second.
    draws : int, optional
        Of each surface.
    signs : bool, optional
        See `fit_surfaces`.

    Raises
    ------
    Unanswerable
        If no press has a window within the study's ranges.
    """
    luck = int(generator(seed, "rehearsal", number).integers(2**31))
    press = press_for(study, FAMILIES[number % len(FAMILIES)], luck)
    seen = shoot_plan(study, press, shots, seed=luck, slip_rate=0.0)
    surfaces = fit_surfaces(seen, seed=luck, signs=signs, draws=draws, simulated=True)
    thin = thinned(study, REHEARSED_MARKS)
    if surfaces.converged:
        good = goodness(surfaces)
        window = find_window(thin, seen, good)
        found = score(press, thin, window, find_setpoint(window, good), most=SCORED)
    else:  # draws that may not be used are not even looked at
        window = _empty_window(thin, open_edges(seen))
        found = score(press, thin, window, None, most=SCORED)
    return Rehearsal(
        has_window=found.true_share > 0.0,
        overlap=found.overlap,
        setpoint_good=found.setpoint_good,
        open_edge=bool(window.open_edges),
        answered=surfaces.converged,
    )


def _empty_window(study: Study, open_edges: tuple[str, ...]) -> Window:
    """Return the window of a fit without an answer: no mark is in it, none out of it."""
    shape = tuple(factor.count for factor in study.factors)
    marks = settings_at(study.factors, np.arange(int(np.prod(shape))))
    unknown = np.full(shape, np.nan)
    return Window(
        factors=study.factors,
        good_from=study.good_from,
        probability_good=unknown,
        probability_in_window=unknown,
        allowed=study.allowed(marks).reshape(shape),
        tried=np.zeros(shape, dtype=bool),
        open_edges=open_edges,
    )


def summarize(rehearsals: Sequence[Rehearsal], good_from: float) -> Summary:
    """Return what many rehearsals of one plan show.

    Parameters
    ----------
    rehearsals : sequence of Rehearsal
        At least one.
    good_from : float
        Share of good shots from which a setpoint works.

    Examples
    --------
    >>> from shotwindow.models.rehearsals import Rehearsal, summarize
    >>> found = [Rehearsal(True, 0.6, 0.97, False, True), Rehearsal(True, 0.0, None, True, True)]
    >>> summary = summarize(found, 0.9)
    >>> summary.works, summary.open_edge, summary.missed, summary.overlap[1]
    (1, 1, 1, 0.3)
    """
    overlaps = [r.overlap for r in rehearsals if r.has_window]
    return Summary(
        presses=len(rehearsals),
        with_window=len(overlaps),
        overlap=_quartiles(overlaps) if overlaps else None,
        works=sum((r.setpoint_good or 0.0) >= good_from for r in rehearsals),
        open_edge=sum(r.open_edge for r in rehearsals),
        missed=sum(r.has_window and r.setpoint_good is None for r in rehearsals),
        unanswered=sum(not r.answered for r in rehearsals),
    )


def _quartiles(values: Sequence[float]) -> tuple[float, float, float]:
    low, median, high = np.quantile(values, [0.25, 0.5, 0.75])
    return float(low), float(median), float(high)


def gain(before: Sequence[Rehearsal], after: Sequence[Rehearsal]) -> Gain:
    """Return what a second plan gains in overlap, press by press."""
    pairs = [(b.overlap, a.overlap) for b, a in zip(before, after, strict=True) if b.has_window]
    differences: Array = np.array([later - earlier for earlier, later in pairs])
    if len(differences) < 2:
        return Gain(float(differences.sum()), float("inf"), len(differences))
    error = float(differences.std(ddof=1)) / sqrt(len(differences))
    return Gain(float(differences.mean()), error, len(differences))
