"""A study and its shots -> the settings that a further shot could have, and its minutes."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import prod

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.groups import change_minutes, slow_positions
from shotwindow.doe.study import Study
from shotwindow.models.window import Region

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

MOST = 200  # settings to choose from within one temperature group
LEVELS = 700  # settings to choose from over all factors, at a few marks of each
NEAR = 0.05  # of a factor's range, or one mark: nearer shots tell the same
OUT = 0.1  # of a factor's range: the step beyond what was tried


@dataclass(frozen=True)
class Ground:
    """What may be shot next.

    Attributes
    ----------
    study : Study
    region : Region
        Where shots were made.
    planned : ndarray, shape (n, k)
        Settings of all shots made or planned so far.
    flashed : ndarray, shape (m, k), optional
        Settings of shots with heavy flash: nothing at least as high in every factor is suggested.
    reference : ndarray, shape (k,), optional
        Settings to be shot once whatever that tells, near a shot made or not.
    """

    study: Study
    region: Region
    planned: Array
    flashed: Array | None = None
    reference: Array | None = None

    def is_new(self, settings: Array, chosen: Sequence[Array] = ()) -> Flags:
        """Return which settings (n, k) are no near-duplicate of a shot made, planned or chosen."""
        factors = self.study.factors
        reach = np.array([max(f.step, NEAR * (f.high - f.low)) for f in factors]) * 1.001
        others = np.vstack([self.planned, *chosen])
        near = np.asarray((np.abs(settings[:, None, :] - others) <= reach).all(axis=2))
        return np.asarray(~near.any(axis=1))

    def is_worth_a_soak(self, settings: Array, groups: Sequence[Array]) -> Flags:
        """Return which settings (n, k) have the slow settings of a group (k,), or others for good.

        Nobody waits for a soak to be half a degree away from where the press stands.
        """
        slow = list(slow_positions(self.study))
        reach = np.array([NEAR * (f.high - f.low) for f in self.study.factors])[slow] * 1.001
        worth = np.ones(len(settings), dtype=bool)
        for like in groups:
            near = (np.abs(settings[:, slow] - like[slow]) <= reach).all(axis=1)
            worth &= ~near | ~self.moved(settings, like)
        return worth

    def is_safe(self, settings: Array) -> Flags:
        """Return which settings (n, k) are lower in some factor than each heavily flashed shot."""
        if self.flashed is None or not len(self.flashed):
            return np.ones(len(settings), dtype=bool)
        lower = np.any(settings[:, None, :] < self.flashed, axis=2)
        return np.asarray(np.all(lower, axis=1))

    def inside(self, settings: Array) -> Array:
        """Return those of some settings that are allowed and lie where shots were made."""
        usable = self.study.allowed(settings) & self.region.holds(settings)
        return settings[usable & self.is_safe(settings)]

    def spread(self, rng: np.random.Generator, like: Array | None = None) -> Array:
        """Return settings at a few evenly spaced marks of each factor, from low to high.

        They may lie outside of what was tried, as the shots of a plan may.

        Parameters
        ----------
        rng : numpy.random.Generator
            Chooses where there are too many.
        like : ndarray, shape (k,), optional
            Only those with its slow settings.
        """
        slow, factors = slow_positions(self.study), self.study.factors
        levels = max(3, int(LEVELS ** (1.0 / len(factors))))
        marks = []
        for j, factor in enumerate(factors):
            own = like[[j]] if like is not None and j in slow else factor.marks
            marks.append(own[np.unique(np.linspace(0, own.size - 1, levels).round().astype(int))])
        counts = [m.size for m in marks]
        total = prod(counts)
        flat = np.arange(total) if total <= LEVELS else rng.choice(total, LEVELS, replace=False)
        places = np.unravel_index(flat, counts)
        found = np.column_stack([m[p] for m, p in zip(marks, places, strict=True)])
        return found[self.study.allowed(found) & self.is_safe(found)]

    def group(self, like: Array, rng: np.random.Generator) -> Array:
        """Return settings to choose from with the slow settings of another one (k,)."""
        slow = slow_positions(self.study)
        marks = [
            np.array([like[j]]) if j in slow else f.marks for j, f in enumerate(self.study.factors)
        ]
        counts = [m.size for m in marks]
        total = prod(counts)
        flat = np.arange(total) if total <= 50 * MOST else rng.integers(total, size=50 * MOST)
        places = np.unravel_index(flat, counts)
        found = self.inside(np.column_stack([m[p] for m, p in zip(marks, places, strict=True)]))
        if len(found) <= MOST:
            return found
        return found[np.sort(rng.choice(len(found), MOST, replace=False))]

    def beyond(self, bases: Array) -> Array:
        """Return settings a small step outside of what was tried, from bases (n, k) at its end.

        Always inside the limits, and one factor at a time.
        """
        found = [np.zeros((0, bases.shape[1]))]
        for j, factor in enumerate(self.study.factors):
            step = max(1, round(OUT * (factor.high - factor.low) / factor.step)) * factor.step
            for end, way in ((self.region.low[j], -1.0), (self.region.high[j], 1.0)):
                at_end = bases[np.abs(bases[:, j] - end) < 0.5 * factor.step]
                moved = at_end.copy()
                moved[:, j] = np.round(factor.low + _marks_up(factor.low, end, factor.step), 9)
                moved[:, j] = np.round(moved[:, j] + way * step, 9)
                found.append(moved[self.study.allowed(moved) & self.is_safe(moved)])
        return np.vstack(found)

    def minutes(self, settings: Array, present: Array | None, shots: int) -> Array:
        """Return minutes a shot at each of settings (n, k) costs.

        Parameters
        ----------
        settings : ndarray, shape (n, k)
        present : ndarray, shape (k,), or None
            Where the press stands; None where it is cold.
        shots : int
            How many shots share the soak and the warm-up shots of a new temperature group.
        """
        time = self.study.time
        extra = time.warm_up_shots * time.shot_min
        if present is None:
            return np.full(len(settings), time.shot_min + extra / shots)
        moved = self.moved(settings, present)
        soak = change_minutes(self.study, np.broadcast_to(present, settings.shape), settings)
        return np.asarray(time.shot_min + np.where(moved, soak + extra, 0.0) / shots)

    def moved(self, settings: Array, present: Array) -> Flags:
        """Return which settings (n, k) need a slow setting changed."""
        slow = list(slow_positions(self.study))
        return np.asarray((settings[:, slow] != present[slow]).any(axis=1))


def _marks_up(low: float, value: float, step: float) -> float:
    """Distance from the low end to the mark nearest to a value, also beyond the high end."""
    return round((value - low) / step) * step
