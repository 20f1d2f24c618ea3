"""Chances of a good shot -> the worst of them over what the press holds around a setting."""

from collections.abc import Iterator
from itertools import product

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.goodness import Goodness

Array = NDArray[np.float64]
Whole = NDArray[np.intp]

TOGETHER = 16  # settings asked at all corners at once: what they tell spares most of the others


def _moved(factors: tuple[Factor, ...], settings: Array, signs: Array) -> Array:
    """Settings (..., k) moved by what the press holds, as far as its limits let them."""
    holds = np.array([f.holds for f in factors])
    low = np.array([f.limits[0] for f in factors])
    high = np.array([f.limits[1] for f in factors])
    return np.asarray(np.clip(settings + signs * holds, low, high))


def _around(goodness: Goodness, factors: tuple[Factor, ...], settings: Array) -> Array:
    """Chances at settings (n, k) and at the corners of what the press holds, (n, 1 + 2^k)."""
    around = _moved(factors, settings[:, None, :], _corners(len(factors)))
    chances = goodness.probability_good(around.reshape(-1, settings.shape[1]))
    return chances.reshape(around.shape[:2])


def _corners(factors: int) -> Array:
    """Which way each factor moves, (1 + 2^k, k): nowhere, then all down, and so on to all up."""
    return np.array([np.zeros(factors), *product((-1.0, 1.0), repeat=factors)])


def held_probability(goodness: Goodness, factors: tuple[Factor, ...], settings: Array) -> Array:
    """Lowest chance of a good shot over what the press holds around each of settings (n, k)."""
    return np.asarray(_around(goodness, factors, settings).min(axis=1))


class HeldSearch:
    """Worst chances over what the press holds, exactly, of settings where they reach `least`.

    With many factors a setting has hundreds of corners, but most settings fail at one of the few
    corners where others failed before: these are asked first. At the start they are all factors
    down, which most likely falls short, and all up, which most likely flashes.

    Parameters
    ----------
    goodness : Goodness
    factors : tuple of Factor, length k
    least : float
        May be raised at any time.
    """

    def __init__(self, goodness: Goodness, factors: tuple[Factor, ...], least: float) -> None:
        self.goodness, self.factors, self.least = goodness, factors, least
        self._corners = _corners(len(factors))
        self._first = [1, len(self._corners) - 1]

    def among(self, settings: Array) -> Iterator[tuple[Whole, Array]]:
        """Yield rows of settings (n, k), in order, and their worst chances, some at a time."""
        rows = np.arange(len(settings))
        for corner in self._first:
            rows = self._reach(settings, rows, corner)
        while rows.size:
            some, rows = rows[:TOGETHER], rows[TOGETHER:]
            around = _around(self.goodness, self.factors, settings[some])
            held = around.min(axis=1)
            failed = np.bincount(around.argmin(axis=1)[held < self.least])
            yield some, held
            if failed.size:
                corner = int(failed.argmax())
                self._first = [corner, *(each for each in self._first if each != corner)]
                rows = self._reach(settings, rows, corner)

    def _reach(self, settings: Array, rows: Whole, corner: int) -> Whole:
        """Return the rows whose settings reach the chance at one corner."""
        ends = _moved(self.factors, settings[rows], self._corners[corner])
        return rows[self.goodness.probability_good(ends) >= self.least]
