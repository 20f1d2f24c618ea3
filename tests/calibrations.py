"""Studies drawn from the engine's own prior, and where the truth falls among its draws.

Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari and Gelman, 2018, arXiv
1804.06788; from memory): with parameters from the prior and readings from the parameters, the rank
of each parameter among draws of the posterior is uniform if, and only if, the draws are right.
"""

from dataclasses import replace

import numpy as np
from densities import density, prior
from numpy.typing import NDArray

from shotwindow.models.drawing import draw

Array = NDArray[np.float64]

SHOTS, CAVITIES, GROUPS, DRAWS = 12, 2, 4, 127
NAMES = (
    "intercept", "first effect", "second effect", "first cavity", "second cavity",
    "shot scatter", "group scatter", "cavity scatter", "effect size",
)  # fmt: skip


def ranks(count: int, seed: int) -> Array:
    """Rank of every parameter among the draws, from zero to one, shape (count, parameters).

    Readings come in steps, with a ceiling that about a third of them reach and a floor, so that
    exact values are never seen.
    """
    rng = np.random.default_rng(seed)
    return np.array([_rank(rng) for _ in range(count)])


def _rank(rng: np.random.Generator) -> Array:
    what = replace(prior(3, scatter=0.3, scatter_spread=0.5, ratio_spread=0.4, effect_spread=0.4))
    logs = np.log([0.3, what.group_ratio, what.cavity_ratio, what.effect])
    logs = logs + np.array([0.5, 0.4, 0.4, 0.4]) * rng.standard_normal(4)
    shot, group, rest = np.exp(logs[0]), np.exp(logs[0] + logs[1]), np.exp(logs[0] + logs[2])
    surface = np.concatenate([rng.standard_normal(1), np.exp(logs[3]) * rng.standard_normal(2)])
    cavity = what.cavity_sd * rng.standard_normal(CAVITIES)
    design = np.column_stack([np.ones(SHOTS), rng.uniform(-1, 1, (SHOTS, 2))])
    groups = np.repeat(np.arange(GROUPS), SHOTS // GROUPS)
    latent = (design @ surface)[:, None] + cavity
    latent = latent + group * rng.standard_normal(GROUPS)[groups][:, None]
    latent = latent + shot * rng.standard_normal((SHOTS, 1))
    latent = latent + rest * rng.standard_normal((SHOTS, CAVITIES))
    low = np.floor(latent / 0.1) * 0.1
    high = low + 0.1
    full, nothing = latent > 0.3, latent < -0.8
    low = np.where(nothing, -np.inf, np.where(full, 0.3, low))
    high = np.where(full, np.inf, np.where(nothing, -0.8, np.minimum(high, 0.3)))
    drawn = draw(density(design, low, high, what, group=groups), rng, draws=2 * DRAWS)
    states = drawn.states[:, ::2]
    shared = 3 + CAVITIES
    kept = np.concatenate([states[:shared], states[shared + GROUPS :]])
    truth = np.concatenate([surface, cavity, logs])
    return np.asarray((kept < truth[:, None]).sum(axis=1) / DRAWS)


def misfit(places: Array, bins: int = 8) -> float:
    """Chi-square of ranks against uniform ones, with ``bins - 1`` degrees of freedom."""
    seen = np.histogram(places, bins=bins, range=(0.0, 1.0 + 1e-9))[0]
    expected = places.size / bins
    return float(((seen - expected) ** 2 / expected).sum())
