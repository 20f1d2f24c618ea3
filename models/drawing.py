"""A posterior density -> draws of its parameters, and a measure of how far they can be trusted.

Scales are proposed from a heavy-tailed shape around their most probable place, the rest is drawn
for each by particles, and both are weighted by what the readings say. The shape is fitted anew to
the weighted scales until enough of them count (adaptive multiple importance sampling: Cornuet et
al., Scand. J. Statist. 39, 2012, 798-812, from memory). The tail of the weights tells when that
failed (Pareto k: Vehtari et al., J. Mach. Learn. Res. 25, 2024, from memory).
"""

from dataclasses import dataclass
from math import lgamma

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from shotwindow.models.laplace import peak
from shotwindow.models.matching import Factors, factors
from shotwindow.models.posterior import Density
from shotwindow.models.sequential import particles

Array = NDArray[np.float64]

FREEDOM = 6.0  # degrees of freedom of the proposals: tails heavier than those of the scales
PARTICLES = 4  # for each set of scales; their evidence is then known to a few tenths of a log
ROUNDS = 8
LIGHT = 0.01
BELIEVABLE = 12.0  # prior standard deviations of a scale
ENOUGH = 5.0  # effective sets of scales for each scale, to fit a shape to


@dataclass(frozen=True)
class Diagnostics:
    """How far draws can be trusted.

    Parameters
    ----------
    effective : float
        Effective number of independent sets of scales behind the draws.
    pareto_k : float
        Shape of the tail of the weights: below 0.7 averages settle, above they may not.
    rounds : int
        How often the proposals were fitted anew.
    heaviest : float
        Share of all weight on a single set of scales. Where it is small the tail does not matter,
        and its shape is read off differences between nearly equal weights.
    """

    effective: float
    pareto_k: float
    rounds: int
    heaviest: float = 1.0

    @property
    def converged(self) -> bool:
        """Whether the draws may be used."""
        return self.effective >= 100.0 and (self.pareto_k < 0.7 or self.heaviest < LIGHT)


@dataclass(frozen=True)
class Draws:
    """Equally weighted draws, ``states`` of shape (shared parameters + logarithms, draws)."""

    states: Array
    diagnostics: Diagnostics


@dataclass(frozen=True)
class _Shape:
    """Multivariate t distribution of scales: ``center + root t``."""

    center: Array
    root: Array

    def draw(self, count: int, rng: np.random.Generator) -> Array:
        normal = rng.standard_normal((self.center.size, count))
        return np.asarray(
            self.center[:, None]
            + self.root @ normal / np.sqrt(rng.chisquare(FREEDOM, count) / FREEDOM)
        )

    def standard(self, scales: Array) -> Array:
        return np.asarray(np.linalg.solve(self.root, scales - self.center[:, None]), dtype=float)

    def log_density(self, scales: Array) -> Array:
        size = self.center.size
        squares = (self.standard(scales) ** 2).sum(axis=0)
        constant = lgamma(0.5 * (FREEDOM + size)) - lgamma(0.5 * FREEDOM)
        constant -= 0.5 * size * np.log(FREEDOM * np.pi) + np.linalg.slogdet(self.root)[1]
        return np.asarray(constant - 0.5 * (FREEDOM + size) * np.log1p(squares / FREEDOM))


@dataclass(frozen=True)
class _StandIns:
    """Normal factors for any scales, from a few sets of scales by straight lines."""

    density: Density
    shape: _Shape
    log_precision: Array
    middle: Array

    def at(self, scales: Array) -> Factors:
        straight = np.vstack([np.ones(scales.shape[1]), self.shape.standard(scales)]).T
        # far out a straight line says nothing any more, but no reading can say more than its
        # scatter lets it; the factors only guide the particles, so that either is no mistake
        log = self.density.logs(scales)
        most = -2.0 * (log["scatter"] + log["cavity_ratio"])[:, None]
        precision = np.exp(np.minimum(np.maximum(straight @ self.log_precision, -30.0), most))
        return Factors(precision, precision * (straight @ self.middle))


def _stand_ins(density: Density, shape: _Shape, rng: np.random.Generator) -> _StandIns:
    nodes = 1.3 * rng.standard_normal((shape.center.size, 24))
    nodes[:, 0] = 0.0
    found = factors(density, shape.center[:, None] + shape.root @ nodes)
    straight = np.vstack([np.ones(nodes.shape[1]), nodes]).T
    precision = np.maximum(found.precision, 1e-8)
    both = np.hstack([np.log(precision), found.shift / precision])
    lines = np.asarray(np.linalg.lstsq(straight, both, rcond=None)[0], dtype=float)
    readings = precision.shape[1]
    return _StandIns(density, shape, lines[:, :readings], lines[:, readings:])


def tail_shape(log_weight: Array) -> float:
    """Pareto k of the largest weights, by the estimator of Zhang and Stephens (2009, from memory).

    Parameters
    ----------
    log_weight : ndarray, shape (count,)

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.drawing import tail_shape
    >>> uniform = np.random.default_rng(3).uniform(size=20000)
    >>> round(tail_shape(-0.5 * np.log(uniform)), 1)  # weights with a Pareto tail of shape 0.5
    0.5
    """
    count = log_weight.size
    largest = int(min(0.2 * count, 3.0 * np.sqrt(count)))
    ordered = np.sort(np.exp(log_weight - log_weight.max()))
    above = ordered[-largest:] - ordered[-largest - 1]
    if above[-1] <= 0.0:
        return -np.inf  # all weights alike
    above = np.maximum(above, 1e-300)
    grid = 30 + int(np.sqrt(largest))
    quarter = above[max(int(largest / 4 + 0.5) - 1, 0)]
    theta = 1.0 / above[-1] + (1.0 - np.sqrt(grid / (np.arange(1, grid + 1) - 0.5))) / (
        3.0 * quarter
    )
    k = np.log1p(-theta[:, None] * above).mean(axis=1)
    fit = largest * (np.log(-theta / k) - k - 1.0)
    weight = np.exp(fit - logsumexp(fit))
    best = float((theta * weight).sum())
    shape = float(np.log1p(-best * above).mean())
    return (largest * shape + 10 * 0.5) / (largest + 10)  # drawn a little toward one half


@dataclass
class _Pool:
    """All scales proposed so far, with the particles of each."""

    density: Density
    shapes: list[_Shape]
    counts: list[int]
    scales: Array
    log_target: Array
    rest: Array
    log_particle: Array

    @classmethod
    def empty(cls, density: Density) -> "_Pool":
        nothing = np.zeros((0, PARTICLES, density.shared))
        size = density.size - density.rest
        return cls(
            density, [], [], np.zeros((size, 0)), np.zeros(0), nothing, np.zeros((0, PARTICLES))
        )

    def add(
        self, shape: _Shape, stand_ins: _StandIns, count: int, rng: np.random.Generator
    ) -> None:
        density, scales = self.density, shape.draw(count, rng)
        away = (scales - density.log_median[:, None]) / density.log_spread[:, None]
        # proposals have heavy tails; scales that nobody believes only bring overflow and rounding
        believable = (np.abs(away) < BELIEVABLE).all(axis=0)
        scales = np.where(believable, scales, density.log_median[:, None])
        found = particles(density, scales, stand_ins.at(scales), PARTICLES, rng)
        target = found.log_evidence - 0.5 * (away**2).sum(axis=0)
        target = np.where(believable & np.isfinite(target), target, -np.inf)
        self.shapes.append(shape)
        self.counts.append(count)
        self.scales = np.hstack([self.scales, scales])
        self.log_target = np.append(self.log_target, target)
        self.rest = np.concatenate([self.rest, found.rest])
        self.log_particle = np.concatenate([self.log_particle, found.log_weight])

    @property
    def lost(self) -> bool:
        """Whether no scale proposed so far can explain the readings at all."""
        return not np.isfinite(self.log_target).any()

    def log_weight(self) -> Array:
        """Weights of the scales against the mixture of all proposals, summing to one."""
        mixture = logsumexp(
            [
                np.log(count) + shape.log_density(self.scales)
                for shape, count in zip(self.shapes, self.counts, strict=True)
            ],
            axis=0,
        )
        if self.lost:
            return np.full(self.log_target.size, -np.log(self.log_target.size))
        weight = self.log_target - mixture
        return np.asarray(weight - logsumexp(weight))

    def refit(self) -> _Shape:
        """Fit the shape to the weighted scales, their weights flattened until enough count."""
        log_weight = self.log_weight()
        for flatter in (1.0, 0.7, 0.5, 0.35, 0.25, 0.15, 0.1, 0.05):
            flat = np.exp(flatter * log_weight - logsumexp(flatter * log_weight))
            if (flat**2).sum() * ENOUGH * self.scales.shape[0] < 1.0:
                break
        center = self.scales @ flat
        away = self.scales - center[:, None]
        covariance = (flat * away) @ away.T
        old = self.shapes[-1].root
        mixed = 0.95 * covariance + 0.05 * old @ old.T
        return _Shape(center, 1.1 * np.linalg.cholesky(mixed))


def draw(
    density: Density, rng: np.random.Generator, *, draws: int = 1024, effective: float = 300.0
) -> Draws:
    """Draws from the posterior.

    Parameters
    ----------
    density : Density
    rng : Generator
    draws : int
        How many.
    effective : float
        Effective number of sets of scales to aim at.

    Returns
    -------
    Draws
        Their ``diagnostics`` say whether they may be used.
    """
    top = peak(density)
    shape = _Shape(top.scales, 1.1 * top.root)
    stand_ins = _stand_ins(density, shape, rng)
    pool = _Pool.empty(density)
    count = 192
    for rounds in range(1, ROUNDS + 1):
        pool.add(shape, stand_ins, count, rng)
        log_weight = pool.log_weight()
        reached = 0.0 if pool.lost else float(np.exp(-logsumexp(2.0 * log_weight)))
        tail, heaviest = tail_shape(log_weight), float(np.exp(log_weight.max()))
        if reached >= effective and (tail < 0.6 or heaviest < LIGHT):
            break
        shape, count = pool.refit(), 384
        if rounds in (1, 3):  # the first place may have been a poor one
            stand_ins = _stand_ins(density, shape, rng)
    joint = (log_weight[:, None] + pool.log_particle).ravel()
    ends = np.cumsum(np.exp(joint - logsumexp(joint)))
    marks = (np.arange(draws) + rng.uniform()) / draws
    chosen = np.minimum(np.searchsorted(ends, marks * ends[-1]), joint.size - 1)
    chosen = rng.permutation(chosen)  # any part of the draws stands for the whole
    rest = pool.rest.reshape(-1, density.shared)[chosen].T
    states = np.vstack([rest, pool.scales[:, chosen // PARTICLES]])
    return Draws(states, Diagnostics(reached, tail, rounds, heaviest))
