"""A posterior density that weights could not settle -> draws from chains that walk over its scales.

The second way to the same posterior, for readings so odd that few of the proposed scales explain
them. Each chain takes steps of scales; the rest is drawn anew for each step by particles, whose
estimated evidence is unbiased, so that the chains keep the exact posterior in balance (Andrieu and
Roberts, Ann. Statist. 37, 2009, 697-725). Steps are differences between other chains, which gives
them the shape of the posterior unasked (ter Braak, Stat. Comput. 16, 2006, 239-249). Both from
memory. It takes some ten times as long, and says by R-hat whether it has settled.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.matching import factors
from shotwindow.models.posterior import BELIEVABLE, Density
from shotwindow.models.sequential import particles

Array = NDArray[np.float64]

CHAINS = 32
PARTICLES = 16  # an estimate of the evidence that was too lucky holds a chain up for long
LEAP = 5  # every so many steps is as long as the difference itself, from one hill to another
ROUND = 40  # steps between two looks at how well the chains have settled
ROUNDS = 8
SETTLED = 1.1  # largest ratio of the spread over all chains to that within each
ENOUGH = 200.0  # effective draws


class Walked(NamedTuple):
    """Draws from chains.

    Parameters
    ----------
    states : ndarray, shape (shared parameters + logarithms, draws)
    effective : float
        Effective number of draws of the scale that is known least.
    r_hat : float
        Largest split R-hat of the scales: near 1 once all chains tell the same.
    """

    states: Array
    effective: float
    r_hat: float


class _Chains:
    """Where the chains stand: scales (scales, chains), their targets, and a draw of the rest."""

    def __init__(self, density: Density, starts: Array, rng: np.random.Generator) -> None:
        self.density, self.rng = density, rng
        self.scales = starts.copy()
        self.target, self.rest = self._look(starts)

    def _look(self, scales: Array) -> tuple[Array, Array]:
        """Log target of each column of scales, estimated, and a draw of the rest given it."""
        density, columns = self.density, scales.shape[1]
        away = (scales - density.log_median[:, None]) / density.log_spread[:, None]
        believable = (np.abs(away) < BELIEVABLE).all(axis=0)
        scales = np.where(believable, scales, density.log_median[:, None])
        found = particles(density, scales, factors(density, scales), PARTICLES, self.rng)
        ends = np.cumsum(np.exp(found.log_weight), axis=1)
        marks = self.rng.uniform(size=(columns, 1)) * ends[:, -1:]
        chosen = np.minimum((marks > ends).sum(axis=1), PARTICLES - 1)
        target = found.log_evidence - 0.5 * (away**2).sum(axis=0)
        target = np.where(believable & np.isfinite(target), target, -np.inf)
        return target, found.rest[np.arange(columns), chosen]

    def step(self, leap: bool) -> None:
        """Move either half of the chains along differences between chains of the other half."""
        half, size = CHAINS // 2, len(self.scales)
        length = 1.0 if leap else 2.38 / np.sqrt(2.0 * size)
        for mine, others in ((slice(0, half), half), (slice(half, CHAINS), 0)):
            pairs = np.array([self.rng.permutation(half)[:2] for _ in range(half)]) + others
            along = self.scales[:, pairs[:, 0]] - self.scales[:, pairs[:, 1]]
            noise = 0.02 * self.density.log_spread[:, None] * self.rng.standard_normal(along.shape)
            tried = self.scales[:, mine] + length * along + noise
            target, rest = self._look(tried)
            taken = np.log(self.rng.uniform(size=half)) < target - self.target[mine]
            self.scales[:, mine] = np.where(taken, tried, self.scales[:, mine])
            self.target[mine] = np.where(taken, target, self.target[mine])
            self.rest[mine] = np.where(taken[:, None], rest, self.rest[mine])


def walk(density: Density, starts: Array, rng: np.random.Generator, *, draws: int) -> Walked:
    """Let chains walk until they have settled, or as far as is sensible.

    Parameters
    ----------
    density : Density
    starts : ndarray, shape (scales, CHAINS)
        Scales that explain the readings, spread out.
    rng : Generator
    draws : int
        How many to keep, evenly from the second half of all steps.
    """
    chains, kept = _Chains(density, starts, rng), []
    for number in range(1, ROUNDS * ROUND + 1):
        chains.step(number % LEAP == 0)
        kept.append(np.vstack([chains.rest.T, chains.scales]))
        if number % ROUND:
            continue
        late = np.array(kept[len(kept) // 2 :])  # (steps, parameters, chains)
        effective, r_hat = settled(late[:, density.shared :])
        if r_hat < SETTLED and effective >= ENOUGH:
            break
    flat = late.transpose(1, 0, 2).reshape(late.shape[1], -1)
    even = np.linspace(0, flat.shape[1] - 1, draws).round().astype(int)
    return Walked(flat[:, rng.permutation(even)], effective, r_hat)


def settled(walked: Array) -> tuple[float, float]:
    """Effective number of draws and split R-hat, each of the worst parameter.

    Parameters
    ----------
    walked : ndarray, shape (steps, parameters, chains)

    Examples
    --------
    Without memory every draw counts:

    >>> import numpy as np
    >>> from shotwindow.models.chains import settled
    >>> effective, r_hat = settled(np.random.default_rng(1).standard_normal((200, 1, 32)))
    >>> bool(5000 < effective < 8000), round(r_hat, 2)
    (True, 1.0)
    """
    half = walked.shape[0] // 2
    halves = np.concatenate([walked[:half], walked[half : 2 * half]], axis=2)
    within = halves.var(axis=0, ddof=1).mean(axis=1)
    within = np.maximum(within, 1e-300)
    total = within * (half - 1) / half + halves.mean(axis=0).var(axis=1, ddof=1)
    r_hat = float(np.sqrt(total / within).max())
    return float(_effective(halves, within, total).min()), r_hat


def _effective(halves: Array, within: Array, total: Array) -> Array:
    """Effective draws from the autocorrelation over all chains, summed in pairs while above zero.

    (Geyer, Statist. Sci. 7, 1992, 473-483; Gelman et al., Bayesian Data Analysis, 3rd ed., 11.5.)
    """
    steps, parameters, chains = halves.shape
    away = halves - halves.mean(axis=0)
    count, pairs = np.ones(parameters), np.zeros(parameters)
    going = np.ones(parameters, dtype=bool)
    for lag in range(1, steps - 1):
        product = (away[lag:] * away[:-lag]).sum(axis=0).mean(axis=1) / steps
        correlation = 1.0 - (within - product) / total
        pairs += correlation
        if lag % 2 == 0:  # two neighbors together are above zero until noise takes over
            going &= pairs > 0
            count += np.where(going, 2.0 * pairs, 0.0)
            pairs = np.zeros(parameters)
    return np.asarray(steps * chains / np.maximum(count, 1.0))
