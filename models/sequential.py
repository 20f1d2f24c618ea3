"""Scales and interval readings -> weighted draws of the surface and the effects, and their evidence.

Given the scales, everything is normal but for the intervals. Readings are therefore taken in one
by one: its latent value is drawn inside the interval of the reading, from what the readings before
it predict; the surface, cavities, lots and groups, kept as mean and covariance, are updated with it
exactly; and the chance that the prediction gave to the interval is the weight. Several particles
carry different latent values, and those of small weight are replaced on the way (sequential
importance sampling with resampling: Doucet, de Freitas and Gordon, Sequential Monte Carlo Methods
in Practice, 2001; for censored normals the sampler of Geweke, Hajivassiliou and Keane; both from
memory). A censored reading costs no more than a measured one, and none can stop the sampler from
mixing, since there is no chain.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, logsumexp, ndtri_exp

from shotwindow.models.laplace import rest_prior
from shotwindow.models.matching import Factors
from shotwindow.models.posterior import Density, Observed

Array = NDArray[np.float64]
Whole = NDArray[np.intp]


class Particles(NamedTuple):
    """Draws of surface, cavities, lots and groups for each column of scales.

    Parameters
    ----------
    rest : ndarray, shape (columns, particles, size)
    log_weight : ndarray, shape (columns, particles)
        Weights within a column, normalized to sum to one.
    log_evidence : ndarray, shape (columns,)
        Estimated log probability of the readings given the scales; its exponential is unbiased.
    """

    rest: Array
    log_weight: Array
    log_evidence: Array


def _inside(low: Array, high: Array, uniform: Array) -> tuple[Array, Array]:
    """Log probability of each standard normal interval, and a draw from inside it."""
    flip = low + high > 0  # into the left tail, where the logarithms keep their digits
    left, right = np.where(flip, -high, low), np.where(flip, -low, high)
    log_left, log_right = log_ndtr(left), log_ndtr(right)
    ratio = np.exp(log_left - log_right)
    with np.errstate(divide="ignore"):
        chance = log_right + np.log1p(-ratio)
    value = ndtri_exp(log_right + np.log(ratio + uniform * (1.0 - ratio)))
    value = np.clip(value, left, right)
    return chance, np.where(flip, -value, value)


def taking_order(density: Density) -> list[Whole]:
    """Readings of each shot, the shots that say most first, exact and narrow readings first."""
    data = density.data
    closed = np.isfinite(data.low) & np.isfinite(data.high)
    shots = [np.flatnonzero(data.shot == s) for s in range(data.shots)]
    shots = [rows for rows in shots if rows.size]
    shots.sort(key=lambda rows: -int(closed[rows].sum()))
    return [rows[np.argsort(~closed[rows], kind="stable")] for rows in shots]


def _resample(log_weight: Array, rng: np.random.Generator) -> Whole:
    """Particle numbers to keep, systematically, shape (columns, particles)."""
    columns, count = log_weight.shape
    ends = np.cumsum(np.exp(log_weight), axis=1)
    ends[:, -1] = 1.0 + 1e-12
    marks = (np.arange(count) + rng.uniform(size=(columns, 1))) / count
    return np.asarray((marks[:, :, None] > ends[:, None, :]).sum(axis=2))


def _begin(
    prior_precision: Array, pull: Array, rows: Array, stand_in: Factors
) -> tuple[Array, Array, Array]:
    """Mean, covariance and log mass of prior and stand-ins, each first of columns."""
    size = prior_precision.shape[1]
    total = rows.T @ (stand_in.precision[:, :, None] * rows)
    total[:, np.arange(size), np.arange(size)] += prior_precision
    variance = np.asarray(np.linalg.inv(total), dtype=np.float64)
    shift = pull + stand_in.shift @ rows
    mean = np.asarray((variance @ shift[:, :, None])[:, :, 0])
    mass = 0.5 * (np.log(prior_precision).sum(axis=1) - np.linalg.slogdet(total)[1])
    mass += 0.5 * ((mean * shift).sum(axis=1) - (pull**2 / prior_precision).sum(axis=1))
    return mean, variance, mass


def particles(
    density: Density, scales: Array, stand_in: Factors, count: int, rng: np.random.Generator
) -> Particles:
    """Take in all readings for every column of scales at once.

    Parameters
    ----------
    density : Density
    scales : ndarray, shape (scales, columns)
        The parameters that are logarithms.
    stand_in : Factors
        Normal factors that stand for each reading until it is taken in. Any will do; the nearer
        they are, the better the particles foresee what is to come.
    count : int
        Particles for each column.
    rng : Generator
    """
    data, log = density.data, density.logs(scales)
    prior_mean, prior_precision = rest_prior(density, scales)
    start, variance, log_evidence = _begin(
        prior_precision, prior_precision * prior_mean, density.rows, stand_in
    )
    mean = np.repeat(start[:, None, :], count, axis=1)  # (columns, particles, size)
    noise = np.exp(2.0 * (log["scatter"] + log["cavity_ratio"]))[:, None]
    gaps = np.exp(log["gaps"])
    low = (data.low[:, None] + data.low_gaps @ gaps)[:, :, None]
    high = (data.high[:, None] + data.high_gaps @ gaps)[:, :, None]
    log_weight = np.full(mean.shape[:2], -np.log(count))
    for readings in taking_order(density):
        for r in readings:
            used = np.flatnonzero(density.rows[r])
            row = density.rows[r, used]
            lean = variance[:, :, used] @ row  # (columns, size)
            spread = (lean[:, used] @ row)[:, None]
            precision, shift = stand_in.precision[:, r, None], stand_in.shift[:, r, None]
            center = mean[:, :, used] @ row
            # prediction without the stand-in of this reading, and the mass that this one had
            left = np.maximum(1.0 - precision * spread, 1e-9)  # positive but for rounding
            apart, middle = spread / left, (center - shift * spread) / left
            stretch = 1.0 + precision * apart
            had = (shift**2 * apart + (2.0 * shift - precision * middle) * middle) / (2.0 * stretch)
            chance, latent = _taken(data, r, low, high, middle, np.sqrt(apart + noise), rng)
            log_weight = log_weight + chance - had + 0.5 * np.log(stretch)
            change = 1.0 / noise - precision
            gain = lean / (1.0 + change * spread)
            mean += (latent / noise - shift - change * center)[:, :, None] * gain[:, None, :]
            variance -= (change * gain)[:, :, None] * lean[:, None, :]
            step = logsumexp(log_weight, axis=1)
            log_evidence += step
            log_weight -= step[:, None]
        crowded = np.flatnonzero(np.exp(2.0 * log_weight).sum(axis=1) > 2.0 / count)
        if crowded.size:
            kept = _resample(log_weight[crowded], rng)
            mean[crowded] = np.take_along_axis(mean[crowded], kept[:, :, None], axis=1)
            log_weight[crowded] = -np.log(count)
    size = density.shared
    root = np.linalg.cholesky(0.5 * (variance + variance.transpose(0, 2, 1))[:, :size, :size])
    rest = mean[:, :, :size] + rng.standard_normal((*mean.shape[:2], size)) @ root.transpose(
        0, 2, 1
    )
    return Particles(rest, log_weight, log_evidence)


def _taken(
    data: Observed,
    r: int,
    low: Array,
    high: Array,
    middle: Array,
    sd: Array,
    rng: np.random.Generator,
) -> tuple[Array, Array]:
    """Log chance of one reading for each particle, and a latent value inside it."""
    if data.low[r] == data.high[r]:
        away = (data.low[r] - middle) / sd
        chance = -0.5 * away**2 - np.log(sd) - 0.5 * np.log(2.0 * np.pi)
        return chance, np.full_like(middle, data.low[r])
    uniform = rng.uniform(size=middle.shape)
    chance, away = _inside((low[r] - middle) / sd, (high[r] - middle) / sd, uniform)
    return chance, middle + sd * away
