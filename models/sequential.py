"""Scales and interval readings -> weighted draws of surface and effects, and their evidence.

Given the scales, everything is normal but for the intervals. Readings are therefore taken in one
by one: its latent value is drawn inside the interval of the reading, from what the readings before
it predict; the surface, cavities, lots and groups, kept as mean and covariance, are updated with
a few shots at a time, exactly; and the chance that the prediction gave to the interval is the
weight. Several particles carry different latent values, and those of small weight are replaced on
the way (sequential importance sampling with resampling: Doucet, de Freitas and Gordon, Sequential
Monte Carlo Methods in Practice, 2001; for censored normals the sampler of Geweke, Hajivassiliou
and Keane; both from memory). A censored reading costs no more than a measured one, and none can
stop the sampler from mixing, since there is no chain.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.censored import inside
from shotwindow.models.even_points import apart, each_even_normals
from shotwindow.models.few_shots import FewShots, few_shots, taking_order
from shotwindow.models.given_scales import rest_prior
from shotwindow.models.matching import Factors
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]
Whole = NDArray[np.intp]

BLOCK = 512  # columns at once: enough to do much with each call, few enough for the memory


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
    together, parts = taking_order(density), []
    for first in range(0, scales.shape[1], BLOCK):
        some = slice(first, first + BLOCK)
        factors = Factors(stand_in.precision[some], stand_in.shift[some])
        intake = _Intake(density, scales[:, some], factors, count, rng)
        order = [few_shots(density, readings, factors, intake.effect) for readings in together]
        intake.begin(order)
        for few in order:
            intake.take(few)
            intake.resample()
        parts.append(intake.finish())
    return Particles(*(np.concatenate(same) for same in zip(*parts, strict=True)))


class _Intake:
    """Particles while shots are taken in.

    ``mean`` (columns, particles, size) and ``variance`` (columns, size, size) are those of surface,
    offsets and groups given the latent values drawn so far and the stand-ins of the rest.
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
        log, self.size, columns = density.logs(scales), density.shared, scales.shape[1]
        self.rows = density.rows[:, : self.size]
        self.noise = np.exp(2.0 * (log["scatter"] + log["cavity_ratio"]))
        several = density.data.cavities > 1  # with one cavity the noise is that of the shot
        self.effect = np.exp(2.0 * log["scatter"]) if several else np.zeros(columns)
        self.low, self.high = density.ends(log)
        prior_mean, prior_precision = rest_prior(density, scales)
        self.prior_mean = prior_mean[:, : self.size]
        self.prior_precision = prior_precision[:, : self.size]
        self.log_weight = np.full((columns, count), -np.log(count))

    def begin(self, order: list[FewShots]) -> None:
        """Mean, covariance and log mass of the prior and all stand-ins."""
        prior, size = self.prior_precision, self.size
        columns, places = len(prior), np.arange(size)
        squares = (self.rows[:, :, None] * self.rows[:, None, :]).reshape(-1, size * size)
        total = (self.stand_in.precision @ squares).reshape(columns, size, size)
        total[:, places, places] += prior
        if self.effect.any():
            total -= self._of_effects(self.stand_in.precision)
        mass = 0.5 * (np.log(prior) - prior * self.prior_mean**2).sum(axis=1)
        shift = prior * self.prior_mean
        for few in order:
            shift += few.shift @ self.rows[few.readings]
            mass += few.log_mass
        self.variance = np.asarray(np.linalg.inv(total), dtype=np.float64)
        mean = (self.variance @ shift[:, :, None])[:, :, 0]
        mass += 0.5 * ((mean * shift).sum(axis=1) - np.linalg.slogdet(total)[1])
        self.log_evidence = np.asarray(mass)
        self.mean = np.repeat(mean[:, None, :], self.count, axis=1)

    def _of_effects(self, p: Array) -> Array:
        """What unknown effects of shots take off where readings weigh p (columns, readings)."""
        shot = self.density.data.shot
        each = [np.flatnonzero(shot == s) for s in np.unique(shot)]
        pulls = np.stack([p[:, r] @ self.rows[r] for r in each], axis=1)
        effect = self.effect[:, None]
        share = effect / (1.0 + effect * np.stack([p[:, r].sum(axis=1) for r in each], axis=1))
        return np.asarray(pulls.transpose(0, 2, 1) @ (share[:, :, None] * pulls))

    def take(self, few: FewShots) -> None:
        """Put latent values inside the readings of a few shots in the place of their stand-ins."""
        r, same = few.readings, few.same
        x, eye = self.rows[r], np.eye(r.size)
        # one product of two matrices each: one for every column would cost more than the numbers
        lean = (self.variance.reshape(-1, self.size) @ x.T).reshape(-1, self.size, r.size)
        along = np.ascontiguousarray(lean.transpose(0, 2, 1))
        spread = (along.reshape(-1, self.size) @ x.T).reshape(-1, r.size, r.size)
        middle = (self.mean.reshape(-1, self.size) @ x.T).reshape(-1, self.count, r.size)
        latent = self._latent(few, spread, middle)
        noise, effect = self.noise[:, None, None], self.effect[:, None, None]
        # precision of the latent values, the effects of the shots integrated out
        known = (eye - same * effect / (noise + same.sum(axis=0) * effect)) / noise
        change = known - few.precision
        gain = change @ np.linalg.inv(eye + spread @ change)
        pull = latent @ known - few.shift[:, None, :]
        self.mean += (pull - (pull @ spread + middle) @ gain.transpose(0, 2, 1)) @ along
        self.variance -= lean @ (gain @ along)
        step = np.logaddexp.reduce(self.log_weight, axis=1)
        self.log_evidence = self.log_evidence + step
        # scales that cannot explain a shot at all are carried along, with no evidence for them
        self.log_weight[np.isneginf(step)] = -np.log(self.count)
        self.log_weight -= np.where(np.isneginf(step), 0.0, step)[:, None]

    def _latent(self, few: FewShots, spread: Array, middle: Array) -> Array:
        """Latent values of a few shots, reading after reading, (columns, particles, readings)."""
        r, same = few.readings, few.same
        p, h = self.stand_in.precision[:, r], self.stand_in.shift[:, r]
        # mean and covariance of the readings with the effects of the shots, all stand-ins in
        other = np.eye(r.size) - same * few.share[:, :, None] * p[:, None, :]
        cov = other @ spread @ other.transpose(0, 2, 1) + same * few.share[:, :, None]
        mean = middle @ other.transpose(0, 2, 1) + (few.share * (h @ same))[:, None, :]
        latent: Array = np.empty(mean.shape)
        for j in range(r.size):
            variance = np.maximum(cov[:, j, j], 0.0)[:, None]  # below zero by rounding alone
            precision, shift = p[:, j, None], h[:, j, None]
            # prediction without the stand-in of this reading, and the mass that this one had
            left = np.maximum(1.0 - precision * variance, 1e-9)  # positive but for rounding
            apart, center = variance / left, (mean[:, :, j] - shift * variance) / left
            stretch = 1.0 + precision * apart
            had = (shift**2 * apart + (2.0 * shift - precision * center) * center) / (2.0 * stretch)
            sd = np.sqrt(apart + self.noise[:, None])
            chance, latent[:, :, j] = self._drawn(int(r[j]), center, sd)
            self.log_weight += chance - had + 0.5 * np.log(stretch)
            change, later = 1.0 / self.noise[:, None] - precision, slice(j + 1, None)
            gain = cov[:, later, j] / (1.0 + change * variance)
            pull = latent[:, :, j] / self.noise[:, None] - shift - change * mean[:, :, j]
            mean[:, :, later] += pull[:, :, None] * gain[:, None, :]
            cov[:, later, later] -= (change * gain)[:, :, None] * cov[:, None, later, j]
        return latent

    def _drawn(self, r: int, center: Array, sd: Array) -> tuple[Array, Array]:
        """Log chance of one reading for each particle, and a latent value inside it."""
        if self.density.data.exact[r]:
            value = self.density.data.low[r]
            away = (value - center) / sd
            chance = -0.5 * away**2 - np.log(sd) - 0.5 * np.log(2.0 * np.pi)
            return chance, np.full_like(center, value)
        uniform = apart(len(center), self.count, self.rng)
        low, high = self.low[r][:, None], self.high[r][:, None]
        chance, away = inside((low - center) / sd, (high - center) / sd, uniform)
        return chance, center + sd * away

    def resample(self) -> None:
        """Replace particles of small weight, where half of them or more count for little."""
        crowded = np.flatnonzero(np.exp(2.0 * self.log_weight).sum(axis=1) > 2.0 / self.count)
        if crowded.size:
            kept = _resample(self.log_weight[crowded], self.rng)
            self.mean[crowded] = np.take_along_axis(self.mean[crowded], kept[:, :, None], axis=1)
            self.log_weight[crowded] = -np.log(self.count)

    def finish(self) -> Particles:
        """Draw the shared parameters from what is left of their spread."""
        columns, count = self.log_weight.shape
        normal = each_even_normals(columns * count, self.size, self.rng)
        normal = normal.reshape(columns, count, self.size)
        away = np.linalg.solve(self._root(), normal.transpose(0, 2, 1)).transpose(0, 2, 1)
        return Particles(self.mean + away, self.log_weight, self.log_evidence)

    def _root(self) -> Array:
        """Upper root of the precision of the shared parameters once all latent values are known.

        Found afresh, from the precision, since many updates of a covariance lose its last digits.
        """
        noise, places = self.noise[:, None], np.arange(self.size)
        total = (self.rows.T @ self.rows) / noise[:, :, None]
        if self.effect.any():
            total -= self._of_effects(np.repeat(1.0 / noise, len(self.rows), axis=1))
        total[:, places, places] += self.prior_precision
        # where shots leave a combination of parameters to the prior, its share can drown in theirs
        total[:, places, places] *= 1.0 + 1e-12
        root = np.asarray(np.linalg.cholesky(total), dtype=np.float64).transpose(0, 2, 1)
        return root
