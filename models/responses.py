"""Readings -> what is fitted for each response: latent intervals, terms, prior and limit."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.readings import Readings
from shotwindow.doe.terms import Terms, first_order, full_quadratic
from shotwindow.models.posterior import Observed
from shotwindow.models.scales import (
    Prior,
    fill_latent,
    fill_prior,
    flash_prior,
    grade_prior,
    warp,
)

Array = NDArray[np.float64]

GRADE_LIMITS = 3  # between the grades 0, 1, 2 and 3
WIDEST = 10.0  # times the limit: up to where a slip may put a width
FAR = 3.0  # times the limit: flash this wide is only known to be heavy


@dataclass(frozen=True)
class Latent:
    """Readings of one response on its latent scale.

    Parameters
    ----------
    low, high : ndarray, shape (shots, cavities)
        Ends of the intervals; not used for grades.
    grade : ndarray of int, shape (shots, cavities), or None
        Grades, -1 where missing.
    cuts : int
        Number of limits between grades.
    good : int
        Worst grade of a good shot: the limit above it is at zero.
    is_width : bool
        Whether the ends are logarithms of widths in multiples of the limit.
    """

    low: Array
    high: Array
    grade: NDArray[np.intp] | None = None
    cuts: int = 0
    good: int = 0
    is_width: bool = False

    @property
    def limits(self) -> Array:
        """Multiples of the gaps that add up to each grade limit, (limits, gaps).

        The limit of a good shot is at zero, the others as many gaps away as lie between.
        """
        steps = np.tril(np.ones((self.cuts, self.cuts - 1)), -1)
        return np.asarray(steps - steps[self.good])


def observed(readings: Readings, terms: Terms, latent: Latent) -> Observed:
    """Bring readings of one response into the rows that the density takes."""
    shots, cavities = latent.low.shape
    known = np.isfinite(latent.low) | np.isfinite(latent.high)
    if latent.grade is not None:
        known = latent.grade >= 0
    shot, cavity = np.nonzero(known)
    design = terms.matrix(warp(readings.factors, readings.settings))
    # without a slow setting there are no temperature groups, but days still differ
    slow = any(f.is_slow for f in readings.factors)
    groups, group = np.unique(readings.group if slow else readings.block, return_inverse=True)
    low, high, low_gaps, high_gaps = _ends(latent, shot, cavity)
    return Observed(
        design=design[shot],
        low=low,
        high=high,
        low_gaps=low_gaps,
        high_gaps=high_gaps,
        cavity=cavity,
        lot=np.unique(readings.lot, return_inverse=True)[1][shot],
        group=group[shot],
        shot=shot,
        cavities=cavities,
        lots=np.unique(readings.lot).size,
        groups=groups.size if slow or groups.size > 1 else 0,
        shots=shots,
        powers=int(latent.is_width),
    )


def _ends(
    latent: Latent, shot: NDArray[np.intp], cavity: NDArray[np.intp]
) -> tuple[Array, Array, Array, Array]:
    """Fixed parts and multiples of the gaps for the ends of each reading."""
    if latent.grade is None:
        none = np.zeros((shot.size, 0))
        return latent.low[shot, cavity], latent.high[shot, cavity], none, none
    grade = latent.grade[shot, cavity]
    limits = latent.limits
    ends = []
    for number, open_end in ((grade - 1, -np.inf), (grade, np.inf)):
        inside = (number >= 0) & (number < latent.cuts)
        gaps = np.where(inside[:, None], limits[np.clip(number, 0, latent.cuts - 1)], 0.0)
        ends.append((np.where(inside, 0.0, open_end), gaps))
    return ends[0][0], ends[1][0], ends[0][1], ends[1][1]


@dataclass(frozen=True)
class Response:
    """What is fitted for one response.

    ``any_reading`` (shots, cavities) is the log probability of each reading if it were a slip of
    the pen: half of them say full, or no flash; the others are spread evenly over what is read.
    """

    name: str
    terms: Terms
    latent: Latent
    prior: Prior
    limit: float
    any_reading: Array


def responses(readings: Readings, *, signs: bool = True) -> tuple[Response, ...]:
    """Say what is to be fitted to the readings of a study: fill, flash, and rejects if there are.

    Parameters
    ----------
    readings : Readings
    signs : bool
        Whether more pressure, heat or time is taken to fill and to flash more, softly.
    """
    factors = readings.factors
    names = tuple(f.name for f in factors)
    terms = full_quadratic(names)
    fill = Response(
        "fill",
        terms,
        Latent(fill_latent(readings.fill_low), fill_latent(readings.fill_high)),
        fill_prior(terms, factors, signs=signs),
        float(fill_latent(np.array(readings.fill_good))),
        _any_reading(readings.fill_low, readings.fill_high, 100.0),
    )
    if readings.flash_grade is not None:
        grades = _graded(readings.flash_grade, GRADE_LIMITS, int(readings.flash_good))
        flash = _words("flash", terms, grades, grade_prior(terms, factors, signs=signs))
    else:
        assert readings.flash_low is not None and readings.flash_high is not None  # widths
        flash = Response(
            "flash",
            terms,
            _widths(readings.flash_low, readings.flash_high, readings.flash_good),
            flash_prior(terms, factors, signs=signs),
            0.0,
            _any_reading(readings.flash_low, readings.flash_high, WIDEST * readings.flash_good),
        )
    if readings.other is None:
        return fill, flash
    # rejects of many kinds, too few for second-order terms; which way they go is not known
    line = first_order(names)
    rejects = _graded(readings.other[:, None].astype(np.intp), 1, 0)
    other = _words("other", line, rejects, grade_prior(line, factors, signs=False))
    return fill, flash, other


def _words(name: str, terms: Terms, latent: Latent, prior: Prior) -> Response:
    """A response told by words, any of which a slip may have put down."""
    any_word = np.full(latent.low.shape, -np.log(latent.cuts + 1.0))
    return Response(name, terms, latent, prior, 0.0, any_word)


def _any_reading(low: Array, high: Array, most: float) -> Array:
    """Log probability of readings put down at random, those with two ends evenly up to `most`."""
    closed = np.isfinite(low) & np.isfinite(high)
    width = np.where(closed, high, 1.0) - np.where(closed, low, 0.0)
    share = np.where(closed, np.clip(width / most, 1e-6, 1.0), 1.0)
    return np.log(0.5 * share)


def _widths(low: Array, high: Array, limit: float) -> Latent:
    """Logarithms of widths in multiples of the limit; beyond ``FAR`` only that they lie there.

    How wide heavy flash gets says little of where flash begins to matter, and a polynomial that
    followed it would bend at the limit.
    """
    low, high = low / limit, high / limit
    beyond = low >= FAR
    low, high = np.where(beyond, FAR, low), np.where(beyond, np.inf, high)
    with np.errstate(divide="ignore"):
        ends = np.log(np.maximum(low, 0.0)), np.log(np.maximum(high, 0.0))
    return Latent(*ends, is_width=True)


def _graded(grade: NDArray[np.intp], cuts: int, good: int) -> Latent:
    nothing = np.full(grade.shape, np.nan)
    return Latent(nothing, nothing, grade, cuts, good)
