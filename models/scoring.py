"""A window that was found, and the press that it was found on -> how near it came to the truth."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.quantities import convert
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.models.press import Press
from shotwindow.models.setpoint import Setpoint
from shotwindow.models.truth import probability_good
from shotwindow.models.window import Window

Array = NDArray[np.float64]

#: Marks that are looked at; all where there are no more. With 1500 the overlap of a window of a
#: fifth of all marks has a standard error of about 0.02.
MOST_MARKS = 1500
_DRAWS = 32  # of what nobody sets, at each mark


@dataclass(frozen=True)
class Score:
    """How near a study came to the truth.

    Attributes
    ----------
    overlap : float
        Marks in both the likely and the true window, as a share of those in either; 0 where
        both are empty.
    sure_good : float or None
        Share of the sure window that is in the true one; None where nothing is sure.
    true_share, likely_share : float
        Of all allowed marks.
    best_good : float
        True share of good shots at the best mark.
    setpoint_good : float or None
        True share of good shots at the setpoint; None without one.
    true_ranges : tuple of (float, float) or None, length k
        For each factor the true window along it, all others at the setpoint; None where the
        setpoint is not in it, and everywhere without a setpoint.
    """

    overlap: float
    sure_good: float | None
    true_share: float
    likely_share: float
    best_good: float
    setpoint_good: float | None
    true_ranges: tuple[tuple[float, float] | None, ...]


def score(
    press: Press, study: Study, window: Window, setpoint: Setpoint | None, *, most: int = MOST_MARKS
) -> Score:
    """Return how near a window and a setpoint are to the truth.

    Parameters
    ----------
    press : Press
        Takes the factors of the study, in its units.
    study : Study
        Says from where a part is full and which flash is good.
    window : Window
    setpoint : Setpoint or None
    most : int, optional
        Marks that are looked at, drawn evenly from all allowed ones.
    """
    allowed = np.flatnonzero(window.allowed)
    if len(allowed) > most:
        allowed = generator(1, "marks to score").choice(allowed, most, replace=False)
    good = true_share_good(press, study, window.settings_of(allowed))
    true = good >= study.good_from
    likely, sure = window.likely.ravel()[allowed], window.sure.ravel()[allowed]
    in_true = true[sure] if sure.any() else _few_sure(press, study, window)
    either = (true | likely).sum()
    return Score(
        overlap=float((true & likely).sum() / either) if either else 0.0,
        sure_good=float(in_true.mean()) if len(in_true) else None,
        true_share=float(true.mean()),
        likely_share=float(likely.mean()),
        best_good=float(good.max()),
        setpoint_good=None if setpoint is None else _at(press, study, setpoint),
        true_ranges=_ranges(press, study, setpoint),
    )


def _few_sure(press: Press, study: Study, window: Window) -> NDArray[np.bool_]:
    """Whether the marks of a sure window, of which none was drawn, lie in the true one."""
    few = np.flatnonzero(window.sure)
    if len(few) == 0:
        return np.zeros(0, bool)
    return true_share_good(press, study, window.settings_of(few)) >= study.good_from


def true_share_good(press: Press, study: Study, settings: Array) -> Array:
    """Return the true share of good shots at settings (n, k) by the study's own limits, (n,)."""
    full = study.fill.full_from if study.fill.measured == "mass" else 100.0
    if study.flash.measured == "grade":
        limit = press.flash_limits_mm[int(study.flash.good)]
    else:
        limit = convert(study.flash.good, study.flash.unit, "mm")
    return probability_good(press, settings, fill_good=full, flash_good=limit, draws=_DRAWS)


def _at(press: Press, study: Study, setpoint: Setpoint) -> float:
    return float(true_share_good(press, study, np.array([setpoint.settings]))[0])


def _ranges(
    press: Press, study: Study, setpoint: Setpoint | None
) -> tuple[tuple[float, float] | None, ...]:
    if setpoint is None:
        return (None,) * len(study.factors)
    ranges = []
    for j, factor in enumerate(study.factors):
        line = np.tile(np.array(setpoint.settings), (factor.count, 1))
        line[:, j] = factor.marks
        good = true_share_good(press, study, line) >= study.good_from
        first = last = place = int(np.abs(factor.marks - setpoint.settings[j]).argmin())
        while first > 0 and good[first - 1]:
            first -= 1
        while last < factor.count - 1 and good[last + 1]:
            last += 1
        ends = (float(factor.marks[first]), float(factor.marks[last]))
        ranges.append(ends if good[place] else None)
    return tuple(ranges)
