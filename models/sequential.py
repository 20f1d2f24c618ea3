"""Scales and interval readings -> weighted draws of surface and effects, and their evidence.

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
from shotwindow.models.posterior import Density

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
    intake = _Intake(density, scales, stand_in, count, rng)
    for readings in taking_order(density):
        for r in readings:
            intake.take(int(r))
        intake.resample()
    return intake.finish()


class _Intake:
    """Particles while readings are taken in.

    ``mean`` (columns, particles, size) and ``variance`` (columns, size, size) are those of surface,
    offsets and effects given the latent values drawn so far and the stand-ins of the rest.
    """

    def __init__(
        self,
        density: Density,
        scales: Array,
        stand_in: Factors,
        count: int,
        rng: np.random.Generator,
    ) -> None:
        self.density, self.stand_in, self.count, self.rng = density, stand_in, count, rng
        log, data = density.logs(scales), density.data
        self.noise = np.exp(2.0 * (log["scatter"] + log["cavity_ratio"]))[:, None]
        gaps = np.exp(log["gaps"])
        self.low = (data.low[:, None] + data.low_gaps @ gaps)[:, :, None]
        self.high = (data.high[:, None] + data.high_gaps @ gaps)[:, :, None]
        prior_mean, self.prior_precision = rest_prior(density, scales)
        self._begin(self.prior_precision * prior_mean)
        self.log_weight = np.full((scales.shape[1], count), -np.log(count))

    def _begin(self, pull: Array) -> None:
        """Mean, covariance and log mass of the prior and all stand-ins."""
        rows, stand_in, precision = self.density.rows, self.stand_in, self.prior_precision
        total = rows.T @ (stand_in.precision[:, :, None] * rows)
        places = np.arange(self.density.rest)
        total[:, places, places] += precision
        self.variance = np.asarray(np.linalg.inv(total), dtype=np.float64)
        shift = pull + stand_in.shift @ rows
        mean = (self.variance @ shift[:, :, None])[:, :, 0]
        mass = 0.5 * (np.log(precision).sum(axis=1) - np.linalg.slogdet(total)[1])
        mass += 0.5 * ((mean * shift).sum(axis=1) - (pull**2 / precision).sum(axis=1))
        self.log_evidence = np.asarray(mass)
        self.mean = np.repeat(mean[:, None, :], self.count, axis=1)

    def take(self, r: int) -> None:
        """Put a latent value inside reading ``r`` in the place of its stand-in."""
        used = np.flatnonzero(self.density.rows[r])
        row = self.density.rows[r, used]
        lean = self.variance[:, :, used] @ row  # (columns, size)
        spread = np.maximum(lean[:, used] @ row, 0.0)[:, None]  # below zero by rounding alone
        precision = self.stand_in.precision[:, r, None]
        shift = self.stand_in.shift[:, r, None]
        center = self.mean[:, :, used] @ row
        # prediction without the stand-in of this reading, and the mass that this one had
        left = np.maximum(1.0 - precision * spread, 1e-9)  # positive but for rounding
        apart, middle = spread / left, (center - shift * spread) / left
        stretch = 1.0 + precision * apart
        had = (shift**2 * apart + (2.0 * shift - precision * middle) * middle) / (2.0 * stretch)
        chance, latent = self._latent(r, middle, np.sqrt(apart + self.noise))
        change = 1.0 / self.noise - precision
        gain = lean / (1.0 + change * spread)
        self.mean += (latent / self.noise - shift - change * center)[:, :, None] * gain[:, None, :]
        self.variance -= (change * gain)[:, :, None] * lean[:, None, :]
        self.log_weight += chance - had + 0.5 * np.log(stretch)
        step = logsumexp(self.log_weight, axis=1)
        self.log_evidence += step
        self.log_weight -= step[:, None]

    def _latent(self, r: int, middle: Array, sd: Array) -> tuple[Array, Array]:
        """Log chance of one reading for each particle, and a latent value inside it."""
        if self.density.data.exact[r]:
            value = self.density.data.low[r]
            away = (value - middle) / sd
            chance = -0.5 * away**2 - np.log(sd) - 0.5 * np.log(2.0 * np.pi)
            return chance, np.full_like(middle, value)
        uniform = self.rng.uniform(size=middle.shape)
        chance, away = _inside((self.low[r] - middle) / sd, (self.high[r] - middle) / sd, uniform)
        return chance, middle + sd * away

    def resample(self) -> None:
        """Replace particles of small weight, where half of them or more count for little."""
        crowded = np.flatnonzero(np.exp(2.0 * self.log_weight).sum(axis=1) > 2.0 / self.count)
        if crowded.size:
            kept = _resample(self.log_weight[crowded], self.rng)
            self.mean[crowded] = np.take_along_axis(self.mean[crowded], kept[:, :, None], axis=1)
            self.log_weight[crowded] = -np.log(self.count)

    def finish(self) -> Particles:
        """Draw the shared parameters from what is left of their spread."""
        size = self.density.shared
        normal = self.rng.standard_normal((*self.log_weight.shape, size))
        away = np.linalg.solve(self._root(), normal.transpose(0, 2, 1)).transpose(0, 2, 1)
        return Particles(self.mean[:, :, :size] + away, self.log_weight, self.log_evidence)

    def _root(self) -> Array:
        """Upper root of the precision of the shared parameters once all latent values are known.

        Found afresh, from the precision, since many updates of a covariance lose its last digits.
        """
        size, rows, places = self.density.shared, self.density.rows, np.arange(self.density.rest)
        total = (rows.T @ rows) / self.noise[:, :, None]
        total[:, places, places] += self.prior_precision
        across = total[
            :, :size, size:
        ]  # to the effects of the shots, which do not touch each other
        alone = np.diagonal(total, axis1=1, axis2=2)[:, None, size:]
        shared = total[:, :size, :size] - (across / alone) @ across.transpose(0, 2, 1)
        # where shots leave a combination of parameters to the prior, its share can drown in theirs
        tiny = 1e-12 * np.diagonal(shared, axis1=1, axis2=2)
        shared[:, np.arange(size), np.arange(size)] += tiny
        return np.asarray(np.linalg.cholesky(shared)).transpose(0, 2, 1)
