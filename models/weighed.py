"""Masses of the parts from one cavity -> the interval that holds those to come, and capability."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.capability import capability
from shotwindow.models.tolerance import two_sided_factor

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Weighed:
    """What the masses from one cavity say, if they are normal; in g.

    Attributes
    ----------
    cavity : int
        From one.
    parts : int
    mean, sd : float
    low, high : float
        Tolerance limits: they hold the share asked for of all parts with the confidence asked for.
    least : float
        Mass from which a part is full.
    cpk, cpk_low, cpk_high : float
        Capability toward `least`, with limits of the same confidence.
    """

    cavity: int
    parts: int
    mean: float
    sd: float
    low: float
    high: float
    least: float
    cpk: float
    cpk_low: float
    cpk_high: float


def weigh(
    cavity: int, grams: Array, least: float, coverage: float, confidence: float
) -> Weighed | None:
    """Return tolerance limits and capability; None for fewer than two parts or all alike.

    Parameters
    ----------
    cavity : int
    grams : ndarray, shape (n,)
    least : float
        Mass from which a part is full.
    coverage, confidence : float
        Of the tolerance limits.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.weighed import weigh
    >>> found = weigh(1, np.array([2.08, 2.10, 2.09, 2.10, 2.08]), 2.06, 0.9, 0.9)
    >>> round(found.mean, 3), round(found.sd, 4), round(found.cpk, 3)
    (2.09, 0.01, 1.0)
    """
    if grams.size < 2 or np.ptp(grams) == 0:
        return None
    mean, sd = float(grams.mean()), float(grams.std(ddof=1))
    reach = two_sided_factor(grams.size, coverage, confidence) * sd
    able = capability(mean, sd, grams.size, (least, None), level=confidence)
    return Weighed(
        cavity=cavity,
        parts=int(grams.size),
        mean=mean,
        sd=sd,
        low=mean - reach,
        high=mean + reach,
        least=least,
        cpk=able.cpk,
        cpk_low=able.cpk_low,
        cpk_high=able.cpk_high,
    )
