"""Sample of readings -> limits that hold a share of all readings to come, with confidence.

Normal readings: ``mean +- factor * sd`` of n of them. Any readings: the smallest and largest of
enough of them.
"""

import numpy as np

from shotwindow.models.confirmation import shots_to_show


def one_sided_factor(shots: int, coverage: float, confidence: float) -> float:
    """Return the exact factor for one limit, from the noncentral t distribution.

    Parameters
    ----------
    shots : int
        Two or more.
    coverage : float
        Share of all readings that shall lie on the right side.
    confidence : float
        Probability that at least this share does.

    Examples
    --------
    >>> from shotwindow.models.tolerance import one_sided_factor
    >>> round(one_sided_factor(10, 0.95, 0.95), 4)
    2.911
    """
    from scipy.special import ndtri
    from scipy.stats import nct

    root = np.sqrt(shots)
    return float(nct.ppf(confidence, shots - 1, ndtri(coverage) * root) / root)


def two_sided_factor(shots: int, coverage: float, confidence: float) -> float:
    """Return the exact factor for two limits, symmetric about the mean.

    With the mean off by z, the limits must reach the radius r(z) that holds the coverage; the
    factor makes the probability of ``factor * s >= r`` equal to the confidence on the average of z.

    Parameters are those of `one_sided_factor`.

    Examples
    --------
    >>> from shotwindow.models.tolerance import two_sided_factor
    >>> round(two_sided_factor(10, 0.95, 0.95), 4)
    3.3934
    """
    from scipy.optimize import brentq
    from scipy.special import chdtrc, ndtr

    nodes, weights = np.polynomial.legendre.leggauss(120)
    scaled = 4.25 * (nodes + 1.0)  # 0 to 8.5 standard errors of the mean; beyond is nothing
    density = 8.5 * weights * np.exp(-0.5 * scaled**2) / np.sqrt(2.0 * np.pi)  # both signs of z
    off = scaled / np.sqrt(shots)
    low, high = np.zeros_like(off), off + 40.0
    for _ in range(60):  # halving: r(z) to 14 digits for all z at once
        middle = 0.5 * (low + high)
        enough = ndtr(off + middle) - ndtr(off - middle) >= coverage
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    df = shots - 1

    def short(log_factor: float) -> float:
        reached = chdtrc(df, df * np.square(high / np.exp(log_factor)))
        return float(density @ reached) - confidence

    return float(np.exp(brentq(short, np.log(1e-3), np.log(1e8), xtol=1e-13)))


def howe_factor(shots: int, coverage: float, confidence: float) -> float:
    """Return Howe's approximation of `two_sided_factor`, which differs in the third digit.

    ``z sqrt(df (1 + 1/n) / chi2)`` (NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3); here
    to compare with tables and programs that use it.

    Examples
    --------
    >>> from shotwindow.models.tolerance import howe_factor
    >>> round(howe_factor(43, 0.90, 0.99), 4)
    2.2173
    """
    from scipy.special import chdtri, ndtri

    df = shots - 1
    reach = float(ndtri(0.5 + coverage / 2))
    return reach * float(np.sqrt(df * (1.0 + 1.0 / shots) / chdtri(df, confidence)))


def shots_for_extremes(coverage: float, confidence: float, *, sides: int = 2) -> int:
    """Return how many readings of any distribution have extremes that hold a share of all others.

    One side: ``1 - p^n >= C``. Two sides: ``1 - n p^(n-1) + (n-1) p^n >= C`` (Wilks).

    Parameters
    ----------
    coverage, confidence : float
        Between 0 and 1.
    sides : {1, 2}
        Largest (or smallest) reading alone, or both.

    Examples
    --------
    >>> from shotwindow.models.tolerance import shots_for_extremes
    >>> shots_for_extremes(0.95, 0.95, sides=1), shots_for_extremes(0.95, 0.95)
    (59, 93)
    """
    # the r extreme readings stand for r - 1 failures that are allowed
    return shots_to_show(coverage, confidence, failures=sides - 1)
