"""A posterior density -> draws of its parameters, and a measure of how far they can be trusted.

Scales are proposed, evenly spread, from a heavy-tailed shape around their most probable place, the
rest is drawn for each by particles, and both are weighted by what the readings say. The shape is
fitted anew to the weighted scales until enough of them count (adaptive multiple importance
sampling: Cornuet et al., Scand. J. Statist. 39, 2012, 798-812, from memory). The tail of the
weights tells when that failed; then particles that foresee better are tried, and at last chains.
"""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from shotwindow.models.chains import CHAINS, walk
from shotwindow.models.matching import factors
from shotwindow.models.peak import peak
from shotwindow.models.posterior import BELIEVABLE, Density
from shotwindow.models.proposals import Foreseen, Shape, straight_stand_ins
from shotwindow.models.sequential import particles
from shotwindow.models.trust import LIGHT, Diagnostics, tail_shape

Array = NDArray[np.float64]

PARTICLES = 4  # for each set of scales; their evidence is then known to a few tenths of a log
ROUNDS = 15
STRAIGHT = 11  # rounds with stand-ins on straight lines, which cost next to nothing
POOR = 0.3  # part of the sets that count, below which stand-ins are laid anew
ENOUGH = 5.0  # effective sets of scales for each scale, to fit a shape to


@dataclass(frozen=True)
class Draws:
    """Equally weighted draws, ``states`` of shape (shared parameters + logarithms, draws).

    ``log_evidence`` is the log probability of all readings, but for a constant of the prior; not a
    number where chains took over.
    """

    states: Array
    diagnostics: Diagnostics
    log_evidence: float


@dataclass
class _Pool:
    """All scales proposed so far, with the particles of each."""

    density: Density
    shapes: list[Shape]
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

    def add(self, shape: Shape, stand_ins: Foreseen, count: int, rng: np.random.Generator) -> None:
        density, scales = self.density, shape.draw(count, rng)
        away = (scales - density.log_median[:, None]) / density.log_spread[:, None]
        # proposals have heavy tails; scales that nobody believes only bring overflow and rounding
        believable = (np.abs(away) < BELIEVABLE).all(axis=0)
        scales = np.where(believable, scales, density.log_median[:, None])
        found = particles(density, scales, stand_ins(scales), PARTICLES, rng)
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

    def _log_ratio(self) -> Array:
        """Targets of the scales over the mixture of all proposals."""
        mixture = logsumexp(
            [
                np.log(count) + shape.log_density(self.scales)
                for shape, count in zip(self.shapes, self.counts, strict=True)
            ],
            axis=0,
        )
        return np.asarray(self.log_target - mixture)

    def log_weight(self) -> Array:
        """Weights of the scales, summing to one."""
        if self.lost:
            return np.full(self.log_target.size, -np.log(self.log_target.size))
        weight = self._log_ratio()
        return np.asarray(weight - logsumexp(weight))

    def log_evidence(self) -> float:
        """Log of the mean of the weights: the integral of the target over the scales."""
        return float(logsumexp(self._log_ratio()))

    def flat_weight(self) -> Array:
        """Weights of the scales, flattened until enough of them count."""
        log_weight = self.log_weight()
        for flatter in (1.0, 0.7, 0.5, 0.35, 0.25, 0.15, 0.1, 0.05):
            flat = np.exp(flatter * log_weight - logsumexp(flatter * log_weight))
            if (flat**2).sum() * ENOUGH * self.scales.shape[0] < 1.0:
                break
        return np.asarray(flat)

    def refit(self) -> Shape:
        """Fit the shape to the weighted scales."""
        flat = self.flat_weight()
        center: Array = self.scales @ flat
        away = self.scales - center[:, None]
        covariance: Array = (flat * away) @ away.T
        old = self.shapes[-1].root
        mixed = 0.95 * covariance + 0.05 * old @ old.T
        return Shape(center, 1.1 * np.asarray(np.linalg.cholesky(mixed), dtype=np.float64))


def _missing(reached: float, made: int, effective: float) -> int:
    """How many more sets of scales it takes, if they count as those before, within limits.

    A shape that was fitted to few sets that count is soon fitted anew, and better.
    """
    most = max(256.0, 8.0 * reached)
    return int(np.clip(1.1 * (effective - reached) * made / max(reached, 1.0), 192, most))


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
    shape = Shape(top.scales, 1.1 * top.root)
    stand_ins: Foreseen = straight_stand_ins(density, shape, rng).at
    pool = _Pool.empty(density)
    count = 192
    for rounds in range(1, ROUNDS + 1):
        if rounds == STRAIGHT + 1:  # straight lines will not do; what they brought is dropped
            pool, stand_ins = _Pool.empty(density), partial(factors, density)
        pool.add(shape, stand_ins, count, rng)
        log_weight = pool.log_weight()
        reached = 0.0 if pool.lost else float(np.exp(-logsumexp(2.0 * log_weight)))
        tail, heaviest = tail_shape(log_weight), float(np.exp(log_weight.max()))
        if reached >= effective and (tail < 0.6 or heaviest < LIGHT):
            break
        made = pool.scales.shape[1]
        shape, count = pool.refit(), _missing(reached, made, effective)
        if rounds in (1, 3, 5) and reached < POOR * made:  # the first place may be a poor one
            stand_ins = straight_stand_ins(density, shape, rng).at
    diagnostics = Diagnostics(reached, tail, rounds, heaviest)
    if not diagnostics.converged and not pool.lost:
        starts = pool.scales[:, rng.choice(pool.scales.shape[1], CHAINS, p=pool.flat_weight())]
        walked = walk(density, starts, rng, draws=draws)
        told = replace(diagnostics, effective=walked.effective, r_hat=walked.r_hat)
        return Draws(walked.states, told, np.nan)
    joint = (log_weight[:, None] + pool.log_particle).ravel()
    ends = np.cumsum(np.exp(joint - logsumexp(joint)))
    marks = (np.arange(draws) + rng.uniform()) / draws
    chosen = np.minimum(np.searchsorted(ends, marks * ends[-1]), joint.size - 1)
    chosen = rng.permutation(chosen)  # any part of the draws stands for the whole
    rest = pool.rest.reshape(-1, density.shared)[chosen].T
    states = np.vstack([rest, pool.scales[:, chosen // PARTICLES]])
    return Draws(states, diagnostics, pool.log_evidence())
