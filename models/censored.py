"""Interval-censored Gaussian readings -> log likelihood and its derivatives, many chains at once.

A reading says only that a latent quantity lies in ``[low, high]``: a full part is at least full, a
scale in steps of 2 % rounds, a flash too thin to see is below what can be seen. Its probability
under a Gaussian of mean ``eta`` and standard deviation ``sigma`` is the difference of two normal
distribution functions, and must stay finite far out in either tail.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtri_exp

Array = NDArray[np.float64]

LOG_SQRT_2PI = 0.5 * np.log(2.0 * np.pi)
NARROW = 1e-4  # in standard deviations; below it the density at the middle is exact to 1e-9


class Slopes(NamedTuple):
    """Log probability of each reading and its derivatives, each of shape (readings, chains)."""

    log_probability: Array
    eta: Array
    log_sigma: Array
    low: Array
    high: Array


def _log_density(z: Array) -> Array:
    return np.asarray(-0.5 * z * z - LOG_SQRT_2PI)


def above(z: Array) -> tuple[Array, Array]:
    """Log P(Z < z) of a standard normal and its derivative, stable in both tails.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.censored import above
    >>> value, slope = above(np.array([0.0]))
    >>> [float(np.round(v[0], 6)) for v in (value, slope)]
    [-0.693147, 0.797885]
    """
    value = log_ndtr(z)
    return value, np.exp(_log_density(z) - value)


def between(a: Array, b: Array) -> tuple[Array, Array, Array]:
    """Log P(a < Z < b) and the two densities at the ends divided by that probability.

    Parameters
    ----------
    a, b : ndarray of one shape
        Standardized limits, ``a < b``.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.censored import between
    >>> value, _, _ = between(np.array([30.0]), np.array([31.0]))
    >>> float(np.round(value[0], 3))
    -454.321
    """
    flip = a + b > 0  # both ends into the left tail, where log_ndtr keeps all its digits
    left, right = np.where(flip, -b, a), np.where(flip, -a, b)
    log_right = log_ndtr(right)
    wide = log_right + np.log(-np.expm1(log_ndtr(left) - log_right))
    width = b - a
    narrow = width < NARROW
    if narrow.any():
        middle = 0.5 * (a + b)
        safe = np.where(narrow, width, NARROW)
        flat = _log_density(middle) + np.log(safe) + (middle**2 - 1.0) * safe**2 / 24.0
        wide = np.where(narrow, flat, wide)
    return wide, np.exp(_log_density(a) - wide), np.exp(_log_density(b) - wide)


def inside(low: Array, high: Array, uniform: Array) -> tuple[Array, Array]:
    """Log probability of each standard normal interval, and a draw from inside it.

    Parameters
    ----------
    low, high : ndarray of one shape
        Standardized limits, ``low < high``; ``-inf`` and ``inf`` where open.
    uniform : ndarray of the same shape
        Between zero and one, from which the draw is made.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.censored import inside
    >>> chance, value = inside(np.zeros(1), np.full(1, np.inf), np.array([0.5]))
    >>> [float(np.round(v[0], 6)) for v in (chance, np.abs(value))]
    [-0.693147, 0.67449]
    """
    flip = low + high > 0  # into the left tail, where the logarithms keep their digits
    left, right = np.where(flip, -high, low), np.where(flip, -low, high)
    log_right = log_ndtr(right)
    # so far off that even its logarithm is lost: no chance, and the nearer end stands for the value
    hopeless = np.isneginf(log_right)
    if np.isneginf(left).all():  # open, as a reading of a full part is: half of the work is saved
        chance, share = log_right, uniform
    else:
        log_left = np.where(hopeless, 0.0, log_ndtr(left))
        ratio = np.exp(log_left - np.where(hopeless, 1.0, log_right))
        with np.errstate(divide="ignore"):
            chance = log_right + np.log1p(-ratio)
        share = ratio + uniform * (1.0 - ratio)
    value = ndtri_exp(log_right + np.log(share))
    value = np.where(hopeless, right, np.clip(value, left, right))
    return chance, np.where(flip, -value, value)


@dataclass(frozen=True)
class Kinds:
    """Row numbers of the readings by what is known: an end, both ends, or the value itself."""

    at_least: NDArray[np.intp]
    at_most: NDArray[np.intp]
    inside: NDArray[np.intp]
    exact: NDArray[np.intp]


def kinds(low: Array, high: Array, exact: NDArray[np.bool_] | None = None) -> Kinds:
    """Sort readings by kind.

    Parameters
    ----------
    low, high : ndarray, shape (readings,)
        Ends of each interval in latent units; ``-inf`` and ``inf`` where open.
    exact : ndarray of bool, shape (readings,), optional
        Which are the value itself; by default those with both ends alike.

    Raises
    ------
    ValueError
        When an interval is empty or says nothing at all.
    """
    if np.any(low > high) or np.any(np.isneginf(low) & np.isposinf(high)):
        raise ValueError("each interval needs low <= high and at least one end")
    exact = low == high if exact is None else exact
    return Kinds(
        at_least=np.flatnonzero(np.isfinite(low) & np.isposinf(high)),
        at_most=np.flatnonzero(np.isneginf(low) & np.isfinite(high)),
        inside=np.flatnonzero(np.isfinite(low) & np.isfinite(high) & ~exact),
        exact=np.flatnonzero(exact),
    )


def slopes(sorts: Kinds, low: Array, high: Array, eta: Array, sigma: Array) -> Slopes:
    """Log probability of every reading and its derivatives.

    Parameters
    ----------
    sorts : Kinds
        From :func:`kinds`.
    low, high : ndarray, shape (readings, chains) or (readings, 1)
        Interval ends in latent units.
    eta : ndarray, shape (readings, chains)
        Means in latent units.
    sigma : ndarray, shape (chains,) or (readings, chains)
        Standard deviations in latent units.

    Returns
    -------
    Slopes
        Each field of the shape of ``eta``; derivatives for eta, log sigma, low and high.
    """
    value, d_eta, d_log, d_low, d_high = (np.zeros_like(eta) for _ in range(5))
    sigmas = np.broadcast_to(sigma, eta.shape)
    rows = sorts.at_least
    if rows.size:
        sd = sigmas[rows]
        z = (eta[rows] - low[rows]) / sd
        value[rows], slope = above(z)
        d_eta[rows], d_log[rows], d_low[rows] = slope / sd, -slope * z, -slope / sd
    rows = sorts.at_most
    if rows.size:
        sd = sigmas[rows]
        z = (high[rows] - eta[rows]) / sd
        value[rows], slope = above(z)
        d_eta[rows], d_log[rows], d_high[rows] = -slope / sd, -slope * z, slope / sd
    rows = sorts.inside
    if rows.size:
        sd = sigmas[rows]
        a, b = (low[rows] - eta[rows]) / sd, (high[rows] - eta[rows]) / sd
        value[rows], at_a, at_b = between(a, b)
        middle, narrow = 0.5 * (a + b), b - a < NARROW  # the difference of the ends cancels there
        d_eta[rows] = np.where(narrow, middle, at_a - at_b) / sd
        d_log[rows] = np.where(narrow, middle**2 - 1.0, a * at_a - b * at_b)
        d_low[rows], d_high[rows] = -at_a / sd, at_b / sd
    rows = sorts.exact
    if rows.size:
        sd = sigmas[rows]
        z = (low[rows] - eta[rows]) / sd
        value[rows] = _log_density(z) - np.log(sd)
        d_eta[rows], d_log[rows] = z / sd, z * z - 1.0
    return Slopes(value, d_eta, d_log, d_low, d_high)
