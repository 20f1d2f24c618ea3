"""Scales and interval readings -> weighted draws of surface and effects, and their evidence.

Given the scales, everything is normal but for the intervals. Readings are therefore taken in one
by one: its latent value is drawn inside the interval of the reading, from what the readings before
it predict; the surface, cavities, lots and groups, kept as mean and covariance, are updated with
each shot exactly; and the chance that the prediction gave to the interval is the weight. Several
particles carry different latent values, and those of small weight are replaced on the way
(sequential importance sampling with resampling: Doucet, de Freitas and Gordon, Sequential Monte
Carlo Methods in Practice, 2001; for censored normals the sampler of Geweke, Hajivassiliou and
Keane; both from memory). A censored reading costs no more than a measured one, and none can stop
the sampler from mixing, since there is no chain.

The effect of a shot touches the readings of that shot alone. It is integrated out, so that what is
carried along is only what several shots share.
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

BLOCK = 512  # columns whose covariances stay in the processor's cache together


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
    # so far off that even its logarithm is lost: no chance, and the nearer end stands for the value
    hopeless = np.isneginf(log_right)
    ratio = np.exp(np.where(hopeless, 0.0, log_left) - np.where(hopeless, 1.0, log_right))
    with np.errstate(divide="ignore"):
        chance = log_right + np.log1p(-ratio)
    value = ndtri_exp(log_right + np.log(ratio + uniform * (1.0 - ratio)))
    value = np.where(hopeless, right, np.clip(value, left, right))
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
    order, parts = taking_order(density), []
    for first in range(0, scales.shape[1], BLOCK):
        some = slice(first, first + BLOCK)
        factors = Factors(stand_in.precision[some], stand_in.shift[some])
        intake = _Intake(density, scales[:, some], factors, count, rng)
        intake.begin(order)
        for readings in order:
            intake.take(readings)
            intake.resample()
        parts.append(intake.finish(order))
    return Particles(*(np.concatenate(same) for same in zip(*parts, strict=True)))


class _Shot(NamedTuple):
    """One shot's stand-ins once its effect is integrated out, for each column.

    With ``zeta`` the means of its readings but for its effect, they weigh
    ``exp(-zeta precision zeta / 2 + shift zeta)``; the effect is then normal with variance
    ``share`` and mean ``share (sum h - sum p zeta)``, p and h being those of the stand-ins.
    """

    precision: Array  # (columns, readings, readings)
    shift: Array  # (columns, readings)
    share: Array  # (columns,)
    log_mass: Array  # (columns,)


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

    def _stand_in(self, r: Whole) -> _Shot:
        p, h, both = self.stand_in.precision[:, r], self.stand_in.shift[:, r], slice(None)
        one = 1.0 + self.effect * p.sum(axis=1)
        share, pull = self.effect / one, h.sum(axis=1)
        precision = -share[:, None, None] * p[:, :, None] * p[:, None, :]
        places = np.arange(r.size)
        precision[both, places, places] += p
        shift = h - (share * pull)[:, None] * p
        return _Shot(precision, shift, share, 0.5 * (share * pull**2 - np.log(one)))

    def begin(self, order: list[Whole]) -> None:
        """Mean, covariance and log mass of the prior and all stand-ins."""
        prior, size = self.prior_precision, self.size
        columns, places = len(prior), np.arange(size)
        squares = (self.rows[:, :, None] * self.rows[:, None, :]).reshape(-1, size * size)
        total = (self.stand_in.precision @ squares).reshape(columns, size, size)
        total[:, places, places] += prior
        mass = 0.5 * (np.log(prior) - prior * self.prior_mean**2).sum(axis=1)
        shift, pulls = prior * self.prior_mean, np.empty((columns, len(order), size))
        shares = np.empty((columns, len(order)))
        for i, r in enumerate(order):
            shot = self._stand_in(r)
            pulls[:, i] = self.stand_in.precision[:, r] @ self.rows[r]
            shares[:, i] = shot.share
            shift += shot.shift @ self.rows[r]
            mass += shot.log_mass
        total -= pulls.transpose(0, 2, 1) @ (shares[:, :, None] * pulls)
        self.variance = np.asarray(np.linalg.inv(total), dtype=np.float64)
        mean = (self.variance @ shift[:, :, None])[:, :, 0]
        mass += 0.5 * ((mean * shift).sum(axis=1) - np.linalg.slogdet(total)[1])
        self.log_evidence = np.asarray(mass)
        self.mean = np.repeat(mean[:, None, :], self.count, axis=1)

    def take(self, r: Whole) -> None:
        """Put latent values inside the readings of one shot in the place of its stand-ins."""
        shot, x, k, eye = self._stand_in(r), self.rows[r], r.size, np.eye(r.size)
        # one product of two matrices each: one for every column would cost more than the numbers
        lean = (self.variance.reshape(-1, self.size) @ x.T).reshape(-1, self.size, k)
        along = np.ascontiguousarray(lean.transpose(0, 2, 1))
        spread = (along.reshape(-1, self.size) @ x.T).reshape(-1, k, k)
        middle = (self.mean.reshape(-1, self.size) @ x.T).reshape(-1, self.count, k)
        latent = self._latent(r, shot, spread, middle)
        noise, effect = self.noise, self.effect
        known = eye - (effect / (noise + k * effect))[:, None, None]
        known /= noise[:, None, None]  # precision of the latent values, the effect integrated out
        change = known - shot.precision
        gain = change @ np.linalg.inv(eye + spread @ change)
        pull = latent @ known - shot.shift[:, None, :]
        self.mean += (pull - (pull @ spread + middle) @ gain.transpose(0, 2, 1)) @ along
        self.variance -= lean @ (gain @ along)
        step = logsumexp(self.log_weight, axis=1)
        self.log_evidence = self.log_evidence + step
        # scales that cannot explain a shot at all are carried along, with no evidence for them
        self.log_weight[np.isneginf(step)] = -np.log(self.count)
        self.log_weight -= np.where(np.isneginf(step), 0.0, step)[:, None]

    def _latent(self, r: Whole, shot: _Shot, spread: Array, middle: Array) -> Array:
        """Latent values of one shot, reading after reading, (columns, particles, readings)."""
        p, h = self.stand_in.precision[:, r], self.stand_in.shift[:, r]
        # mean and covariance of the readings with the effect of the shot, all stand-ins in
        other = np.eye(r.size) - shot.share[:, None, None] * p[:, None, :]
        cov = other @ spread @ other.transpose(0, 2, 1) + shot.share[:, None, None]
        mean = middle @ other.transpose(0, 2, 1) + (shot.share * h.sum(axis=1))[:, None, None]
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
            change = 1.0 / self.noise[:, None] - precision
            gain = cov[:, :, j] / (1.0 + change * variance)
            pull = latent[:, :, j] / self.noise[:, None] - shift - change * mean[:, :, j]
            mean += pull[:, :, None] * gain[:, None, :]
            cov -= (change * gain)[:, :, None] * cov[:, None, :, j]
        return latent

    def _drawn(self, r: int, center: Array, sd: Array) -> tuple[Array, Array]:
        """Log chance of one reading for each particle, and a latent value inside it."""
        if self.density.data.exact[r]:
            value = self.density.data.low[r]
            away = (value - center) / sd
            chance = -0.5 * away**2 - np.log(sd) - 0.5 * np.log(2.0 * np.pi)
            return chance, np.full_like(center, value)
        uniform, low, high = self.rng.uniform(size=center.shape), self.low[r], self.high[r]
        chance, away = _inside((low[:, None] - center) / sd, (high[:, None] - center) / sd, uniform)
        return chance, center + sd * away

    def resample(self) -> None:
        """Replace particles of small weight, where half of them or more count for little."""
        crowded = np.flatnonzero(np.exp(2.0 * self.log_weight).sum(axis=1) > 2.0 / self.count)
        if crowded.size:
            kept = _resample(self.log_weight[crowded], self.rng)
            self.mean[crowded] = np.take_along_axis(self.mean[crowded], kept[:, :, None], axis=1)
            self.log_weight[crowded] = -np.log(self.count)

    def finish(self, order: list[Whole]) -> Particles:
        """Draw the shared parameters from what is left of their spread."""
        normal = self.rng.standard_normal((*self.log_weight.shape, self.size))
        away = np.linalg.solve(self._root(order), normal.transpose(0, 2, 1)).transpose(0, 2, 1)
        return Particles(self.mean + away, self.log_weight, self.log_evidence)

    def _root(self, order: list[Whole]) -> Array:
        """Upper root of the precision of the shared parameters once all latent values are known.

        Found afresh, from the precision, since many updates of a covariance lose its last digits.
        """
        size, rows, noise, effect = self.size, self.rows, self.noise[:, None], self.effect[:, None]
        sums = np.array([rows[r].sum(axis=0) for r in order])
        counts = np.array([r.size for r in order])
        away = effect / noise / (noise + counts * effect)  # taken off by the effects of the shots
        crossed = away @ (sums[:, :, None] * sums[:, None, :]).reshape(-1, size * size)
        total = (rows.T @ rows) / noise[:, :, None] - crossed.reshape(-1, size, size)
        places = np.arange(size)
        total[:, places, places] += self.prior_precision
        # where shots leave a combination of parameters to the prior, its share can drown in theirs
        total[:, places, places] *= 1.0 + 1e-12
        root: Array = np.linalg.cholesky(total).transpose(0, 2, 1)
        return root
