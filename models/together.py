"""What fill, flash and other rejects of one shot could change by hanging together.

At given settings they are taken to scatter apart from each other. A melt that happens to be hot may
well fill more and flash more in the same shot. Hardly any shot can tell: one that is short shows no
flash, and of one that flashes only "full" is read. But the shares of good shots on each side alone
bound what is good on all of them, whatever hangs together with what.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.readings import Readings
from shotwindow.models.goodness import Goodness
from shotwindow.models.window import Window

Array = NDArray[np.float64]

MARKS = 1000  # at which it is seen what could change anywhere


@dataclass(frozen=True)
class Together:
    """How little, and how much, of all shots could be good.

    Parameters
    ----------
    stated : float
        Chance of a good shot if fill, flash and other rejects scatter apart from each other.
    low, high : float
        The same however they hang together.
    anywhere : float
        Most that it could change the stated chance at any of some marks all over the window.
    shots : int
        Shots that show how far short they are and flash as well; only these tell.
    """

    stated: float
    low: float
    high: float
    anywhere: float
    shots: int


def bounds(goodness: Goodness, settings: Array) -> tuple[Array, Array]:
    """Chance of a good shot at least and at most, however responses hang together.

    For each draw: bad on any is at most the sum of what is bad on each, and at least the largest
    (Frechet, Annales de l'Universite de Lyon A 14, 1951, 53-77, from memory).

    Parameters
    ----------
    goodness : Goodness
    settings : ndarray, shape (n, k)
        Natural units.

    Returns
    -------
    low, high : ndarray, shape (n,)

    Examples
    --------
    >>> from pathlib import Path
    >>> import numpy as np
    >>> from shotwindow.models.together import bounds
    >>> from shotwindow.reports.findings import read_findings
    >>> found = read_findings(Path("examples/plant-label"), seed=1)
    >>> here = np.array([found.setpoint.settings])
    >>> (low,), (high,) = bounds(found.goodness, here)
    >>> bool(low <= found.goodness.probability_good(here)[0] <= high)
    True
    """
    each = [curve.shares(settings) for curve in goodness.curves]
    # as everywhere, in the worst of the lots
    by_lot = [np.array(lot, dtype=float) for lot in zip(*each, strict=True)]
    low = np.min([np.maximum(1.0 - (1.0 - lot).sum(axis=0), 0.0) for lot in by_lot], axis=0)
    high = np.min([lot.min(axis=0) for lot in by_lot], axis=0)
    return low.mean(axis=1), high.mean(axis=1)


def find_together(
    readings: Readings, goodness: Goodness, window: Window, mark: tuple[int, ...]
) -> Together:
    """Find the bounds at one mark and all over a window, and how many shots could tell.

    Parameters
    ----------
    readings : Readings
    goodness : Goodness
    window : Window
        With an answer at some mark.
    mark : tuple of int, length k
        Of that window.
    """
    own = np.ravel_multi_index(mark, window.allowed.shape)
    known = np.flatnonzero(np.isfinite(window.probability_good))
    settings = window.settings_of(np.append(own, known[:: max(1, known.size // MARKS)]))
    stated = goodness.probability_good(settings)
    low, high = bounds(goodness, settings)
    short = np.isfinite(readings.fill_high).any(axis=1)
    if readings.flash_grade is not None:
        flashed = (readings.flash_grade > 0).any(axis=1)
    else:
        assert readings.flash_low is not None  # widths
        flashed = (readings.flash_low > 0).any(axis=1)
    return Together(
        stated=float(stated[0]),
        low=float(low[0]),
        high=float(high[0]),
        anywhere=float(np.maximum(stated - low, high - stated).max()),
        shots=int((short & flashed).sum()),
    )
