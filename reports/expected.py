"""Fitted shots -> what each fitted shot was foretold to be, beside what was seen of it.

Foretold is a new shot in a new temperature group at the shot's settings and lot, so that what a
group or a shot did by itself is left to be seen. The worst cavity stands for the shot, as it does
when the shot is judged.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.goodness import Curve
from shotwindow.reports.changes import LEVEL
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.latent_axis import Scale, scale_of
from shotwindow.reports.outcomes import is_short
from shotwindow.reports.points import new_worst

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

_ENDS = [(1 - LEVEL) / 2, 0.5, (1 + LEVEL) / 2]
_ONE_SD = [0.15866, 0.84134]  # quantiles of the normal distribution one deviation off its middle


@dataclass(frozen=True)
class Measured:
    """A response that is read as a number, on the scale on which it is fitted; arrays (n,).

    Attributes
    ----------
    response : str
        "fill" or "flash".
    unit : str
        Of what was read.
    low, middle, high : ndarray
        Foretold: the middle, and the ends that hold a new shot with a chance of 0.9.
    sd : ndarray
        Half of the span that holds a new shot with a chance of 0.68.
    seen_low, seen_high : ndarray
        Where the reading lies; infinite on the side where it is open, on both where it is missing.
    limit : float
        What parts good from bad.
    scale : Scale
        On which all of this is.
    """

    response: str
    unit: str
    low: Array
    middle: Array
    high: Array
    sd: Array
    seen_low: Array
    seen_high: Array
    limit: float
    scale: Scale

    @property
    def missing(self) -> Flags:
        """Shots without a reading."""
        return np.isinf(self.seen_low) & np.isinf(self.seen_high)

    @property
    def open_above(self) -> Flags:
        """Readings that say "so much or more"."""
        return np.asarray(np.isinf(self.seen_high) & ~self.missing)

    @property
    def open_below(self) -> Flags:
        """Readings that say "so much or less"."""
        return np.asarray(np.isinf(self.seen_low) & ~self.missing)

    @property
    def seen(self) -> Array:
        """The middle of each reading, or its known end; not a number where it is missing."""
        with np.errstate(invalid="ignore"):  # of a missing reading
            middle = (self.seen_low + self.seen_high) / 2
        one_end = np.where(self.open_above, self.seen_low, middle)
        return np.asarray(np.where(self.open_below, self.seen_high, one_end))

    @property
    def off(self) -> Array:
        """How far the reading lies above what was foretold, in `sd`; nan where it is missing.

        Of an open reading its known end counts.
        """
        return np.asarray((self.seen - self.middle) / self.sd)

    @property
    def span(self) -> tuple[Array, Array]:
        """How far the ends of the reading lie above what was foretold, in `sd`."""
        return (self.seen_low - self.middle) / self.sd, (self.seen_high - self.middle) / self.sd

    @property
    def nearest(self) -> Array:
        """How far off the reading is at least, in `sd`: 0 where it may be just as foretold."""
        return np.asarray(np.where(self.missing, np.nan, np.clip(0.0, *self.span)))

    def values(self, latent: Array) -> Array:
        """Return values of the fitted scale in the unit that was read."""
        return self.scale.values(latent)


@dataclass(frozen=True)
class Worded:
    """A response that is told by a word or grade; arrays (n,).

    Attributes
    ----------
    response : str
        "fill", "flash" or "other".
    words : tuple of str
        What can be seen, the best first.
    bad_from : int
        Place in `words` from which a shot is bad.
    low, middle, high : ndarray
        Foretold chance of a bad shot: its mean, and the ends that hold it with a chance of 0.9.
    seen : ndarray of int
        Place in `words`; -1 where nothing was read.
    """

    response: str
    words: tuple[str, ...]
    bad_from: int
    low: Array
    middle: Array
    high: Array
    seen: NDArray[np.int_]

    @property
    def missing(self) -> Flags:
        """Shots without a reading."""
        return np.asarray(self.seen < 0)

    @property
    def off(self) -> Array:
        """One for a bad shot and 0 for a good one, less its chance; nan where it is missing."""
        bad = (self.seen >= self.bad_from).astype(float)
        return np.asarray(np.where(self.missing, np.nan, bad - self.middle))


Expected = Measured | Worded


def expected(found: Fitted) -> tuple[Expected, ...]:
    """Return what was foretold and seen of each response, shot by shot in running order."""
    graded = found.readings.flash_grade is not None
    worded = {
        "fill": found.study.fill.measured == "full-or-short",
        "flash": graded,
        "other": True,
    }
    lot = np.searchsorted(np.array(found.surfaces.lots), found.readings.lot)
    return tuple(
        _worded(found, curve, lot)
        if worded[curve.surface.response]
        else _measured(found, curve, lot)
        for curve in found.goodness.curves
    )


def _measured(found: Fitted, curve: Curve, lot: NDArray[np.int_]) -> Measured:
    seen, surface = found.readings, curve.surface
    scale = scale_of(found, surface)
    new = new_worst(surface, seen.settings, found.seed, lot)
    flat = scale.of_draws(new, surface.power).reshape(len(new), -1)
    low, middle, high = np.quantile(flat, _ENDS, axis=1)
    below, above = np.quantile(flat, _ONE_SD, axis=1)
    if surface.response == "fill":
        read, unit = (seen.fill_low.min(axis=1), seen.fill_high.min(axis=1)), "%"
    else:
        assert seen.flash_low is not None and seen.flash_high is not None  # widths
        read = (seen.flash_low.max(axis=1), seen.flash_high.max(axis=1))
        unit = found.study.flash.unit
    least, most = (scale.latents(end) for end in read)
    ends = (least, most, surface.limit, scale)
    return Measured(surface.response, unit, low, middle, high, (above - below) / 2, *ends)


def _worded(found: Fitted, curve: Curve, lot: NDArray[np.int_]) -> Worded:
    readings, response = found.readings, curve.surface.response
    by_lot = np.array(curve.shares(readings.settings), dtype=float)  # (lots, n, draws)
    bad = 1.0 - by_lot[lot, np.arange(len(lot))]
    low, _, high = np.quantile(bad, _ENDS, axis=1)
    if response == "flash":
        assert readings.flash_grade is not None
        words = tuple(f"grade {grade}" for grade in range(4))
        seen, bad_from = readings.flash_grade.max(axis=1), int(readings.flash_good) + 1
    elif response == "fill":
        words, bad_from = ("full", "short"), 1
        short = is_short(readings)
        told = np.isfinite(readings.fill_low).all(axis=1) | short
        seen = np.where(told, short.astype(int), -1)
    else:
        assert readings.other is not None
        words, bad_from = ("not rejected", "rejected"), 1
        seen = readings.other.astype(int)
    return Worded(response, words, bad_from, low, bad.mean(axis=1), high, np.asarray(seen))
