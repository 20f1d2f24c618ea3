"""Readings given the scales of a density -> normal factors with the same moments.

The maximum of a density full of censored readings sits against their limits, and its curvature
there says little of how far the density reaches on the open side. Expectation propagation replaces
each reading by a normal factor with the same effect on mean and variance, in turn, until nothing
changes (Minka, UAI 2001; Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006,
section 3.6; both from memory).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.laplace import rest_prior
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]


class Factors(NamedTuple):
    """Normal factors ``exp(-precision eta**2 / 2 + shift eta)`` that stand for the readings.

    Parameters
    ----------
    precision, shift : ndarray, shape (columns, readings)
    """

    precision: Array
    shift: Array


def factors(density: Density, scales: Array, *, rounds: int = 12) -> Factors:
    """Factors for every column of scales at once.

    Parameters
    ----------
    density : Density
    scales : ndarray, shape (scales, columns)
        The parameters that are logarithms.
    rounds : int
        How often all readings are gone through.
    """
    prior_mean, prior_precision = rest_prior(density, scales)
    log, rows = density.logs(scales), density.rows
    ends, sd = density.ends(log), np.exp(log["scatter"] + log["cavity_ratio"])
    columns, diagonal = scales.shape[1], np.arange(density.rest)
    precision = np.zeros((columns, rows.shape[0]))  # of the normal factor of each reading
    shift = np.zeros_like(precision)  # its mean times its precision
    for k in range(rounds):
        total = rows.T @ (precision[:, :, None] * rows)
        total[:, diagonal, diagonal] += prior_precision
        covariance = np.linalg.inv(total)
        pull = prior_precision * prior_mean + shift @ rows
        mean = (covariance @ pull[:, :, None])[:, :, 0]
        spread = rows @ covariance
        variance = (spread * rows).sum(axis=2)
        center = mean @ rows.T
        middle, apart = _without_own(center, variance, precision, shift)
        width = np.sqrt(apart + sd[:, None] ** 2)
        fit = density.likelihood(middle.T, ends, width.T)
        bend = np.maximum((fit.eta**2 - fit.log_sigma / width.T**2).T, 1e-12)
        new = bend / np.maximum(1.0 - bend * apart, 1e-6)
        keep = 0.0 if k == 0 else 0.3  # a part of the old factor keeps the rounds from swinging
        shift = keep * shift + (1.0 - keep) * new * (middle + fit.eta.T / bend)
        precision = keep * precision + (1.0 - keep) * new
    return Factors(precision, shift)


def _without_own(
    center: Array, variance: Array, precision: Array, shift: Array
) -> tuple[Array, Array]:
    """Mean and variance that the other factors give a reading's mean: with more doubt."""
    apart = 1.0 / np.maximum(1.0 / variance - precision, 1e-3 / variance)
    return apart * (center / variance - shift), apart


def left_out(density: Density, scales: Array, found: Factors) -> tuple[Array, Array]:
    """Mean and variance of each reading's mean, foretold by all others, (columns, readings)."""
    prior_mean, prior_precision = rest_prior(density, scales)
    rows, diagonal = density.rows, np.arange(density.rest)
    total = rows.T @ (found.precision[:, :, None] * rows)
    total[:, diagonal, diagonal] += prior_precision
    covariance = np.linalg.inv(total)
    pull = prior_precision * prior_mean + found.shift @ rows
    center = (covariance @ pull[:, :, None])[:, :, 0] @ rows.T
    variance = ((rows @ covariance) * rows).sum(axis=2)
    return _without_own(center, variance, found.precision, found.shift)
