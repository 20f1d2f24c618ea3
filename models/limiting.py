"""A window -> what goes wrong outside of it, and which cavity is the first to fail."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.goodness import Goodness
from shotwindow.models.surface import Surface
from shotwindow.models.window import Window

Array = NDArray[np.float64]

MOST_MARKS = 4000  # that are asked, evenly spread over those outside
SIZE = 256  # asked at a time


@dataclass(frozen=True)
class Weakest:
    """The cavity that most likely fails before the others.

    Attributes
    ----------
    cavity : int
        From one.
    chance : float
        Share of the draws in which it is the worst.
    """

    cavity: int
    chance: float


def weakest_cavity(surface: Surface, settings: Array) -> Weakest | None:
    """Return which cavity fails first on one response; None where cavities were not told apart.

    Where cavities run in parallel it is the same one at every edge of a response.

    Parameters
    ----------
    surface : Surface
        With a reading of its own for each cavity.
    settings : ndarray, shape (n, k)
        Where; the chance is that over all of them.
    """
    cavities = surface.cavity.shape[1]
    if cavities == 1:
        return None
    each = surface.offsets(settings)
    worst = each.argmin(axis=-1) if surface.above else each.argmax(axis=-1)
    shares = np.bincount(worst.ravel(), minlength=cavities) / worst.size
    return Weakest(int(shares.argmax()) + 1, float(shares.max()))


@dataclass(frozen=True)
class Limit:
    """How much of the settings outside of the window one response keeps out.

    Attributes
    ----------
    response : str
    share : float
        Of the tried settings outside of the likely window, those where it is the worst response.
    weakest : Weakest or None
    """

    response: str
    share: float
    weakest: Weakest | None


def find_limits(window: Window, goodness: Goodness) -> tuple[Limit, ...]:
    """Return what each response keeps out of the likely window; shares of nothing are zero."""
    tried = ~np.isnan(window.probability_in_window)
    outside = np.flatnonzero((tried & ~window.likely).ravel())
    if outside.size > MOST_MARKS:
        outside = outside[np.linspace(0, outside.size - 1, MOST_MARKS).astype(int)]
    settings = window.settings_of(outside)
    worst = np.zeros(0, dtype=np.intp)
    for first in range(0, len(settings), SIZE):
        worst = np.append(worst, worst_response(goodness, settings[first : first + SIZE]))
    counts = np.bincount(worst, window.weights_of(outside), minlength=len(goodness.curves))
    limits, anywhere = [], window.settings_of(np.zeros(1, dtype=np.intp))
    for number, (curve, count) in enumerate(zip(goodness.curves, counts, strict=True)):
        where = settings[worst == number]
        weakest = weakest_cavity(curve.surface, where if len(where) else anywhere)
        share = float(count / max(1e-9, counts.sum()))
        limits.append(Limit(curve.surface.response, share, weakest))
    return tuple(limits)


def worst_response(goodness: Goodness, settings: Array) -> NDArray[np.intp]:
    """Return which curve has the lowest mean share of good shots at settings (n, k), shape (n,)."""
    shares = [
        np.min([share.mean(axis=1) for share in curve.shares(settings)], axis=0)
        for curve in goodness.curves
    ]
    return np.asarray(np.argmin(shares, axis=0))
