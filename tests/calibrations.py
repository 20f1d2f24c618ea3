"""Studies drawn from the engine's own prior, and where the truth falls among its draws.

Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari and Gelman, 2018, arXiv
1804.06788; from memory): with parameters from the prior and readings from the parameters, the rank
of each parameter among draws of the posterior is uniform if, and only if, the draws are right. So
is that of whatever follows from the parameters, such as the place where the window ends.
"""

import numpy as np
from densities import bending, density, prior
from numpy.typing import NDArray
from scipy.special import ndtr

from shotwindow.models.drawing import draw
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]

SHOTS, CAVITIES, GROUPS, DRAWS = 12, 2, 4, 127
FULL, NOTHING, GOOD_FROM = 0.3, -0.8, 0.9
NAMES = (
    "intercept", "first effect", "second effect", "both together", "first cavity",
    "second cavity", "shot scatter", "group scatter", "cavity scatter", "effect size", "bend",
    "edge",
)  # fmt: skip
LEVELS = (0.5, 0.8, 0.95)
NODES = np.linspace(-5.0, 5.0, 41)  # of what all cavities of a shot share, in its own deviations
WEIGHTS = np.exp(-0.5 * NODES**2) / np.exp(-0.5 * NODES**2).sum()


def ranks(count: int, seed: int) -> Array:
    """Rank of every parameter and of the edge among the draws, from zero to one, (count, names).

    Readings come in steps, with a ceiling that about a third of them reach and a floor, so that
    exact values are never seen.
    """
    rng = np.random.default_rng(seed)
    return np.array([_rank(rng) for _ in range(count)])


def _rank(rng: np.random.Generator) -> Array:
    spreads = {"scatter_spread": 0.5, "ratio_spread": 0.4, "effect_spread": 0.4, "bend_spread": 0.4}
    what = bending(prior(4, scatter=0.3, **spreads), 1)
    logs = np.log([0.3, what.group_ratio, what.cavity_ratio, what.effect, 1.0])
    logs = logs + np.array([0.5, 0.4, 0.4, 0.4, 0.4]) * rng.standard_normal(5)
    shot, group, rest = np.exp(logs[0]), np.exp(logs[0] + logs[1]), np.exp(logs[0] + logs[2])
    surface = rng.standard_normal(4) * np.exp([0.0, logs[3], logs[3], logs[3] + logs[4]])
    cavity = what.cavity_sd * rng.standard_normal(CAVITIES)
    x = rng.uniform(-1, 1, (SHOTS, 2))
    design = np.column_stack([np.ones(SHOTS), x, x.prod(axis=1)])
    groups = np.repeat(np.arange(GROUPS), SHOTS // GROUPS)
    latent = (design @ surface)[:, None] + cavity
    latent = latent + group * rng.standard_normal(GROUPS)[groups][:, None]
    latent = latent + shot * rng.standard_normal((SHOTS, 1))
    latent = latent + rest * rng.standard_normal((SHOTS, CAVITIES))
    low = np.floor(latent / 0.1) * 0.1
    high = low + 0.1
    full, nothing = latent > FULL, latent < NOTHING
    low = np.where(nothing, -np.inf, np.where(full, FULL, low))
    high = np.where(full, np.inf, np.where(nothing, NOTHING, np.minimum(high, FULL)))
    made = density(design, low, high, what, group=groups)
    drawn = draw(made, rng, draws=2 * DRAWS)
    states = drawn.states[:, ::2]
    shared = 4 + CAVITIES
    kept = np.concatenate([states[:shared], states[shared + GROUPS :]])
    truth = np.concatenate([surface, cavity, logs])
    true_edge = edges(made, np.concatenate([surface, cavity, np.zeros(GROUPS), logs])[:, None])
    kept, truth = np.vstack([kept, edges(made, states)]), np.append(truth, true_edge)
    # edges beyond the range are all alike: their order is drawn
    less, alike = (kept < truth[:, None]).sum(axis=1), (kept == truth[:, None]).sum(axis=1)
    return np.asarray((less + np.floor(rng.uniform(size=alike.size) * (alike + 1))) / DRAWS)


def edges(what: Density, states: Array) -> Array:
    """Where along the first factor, the second at zero, nine shots in ten are full, (draws,).

    Worked out anew here: a shot is full when each of its cavities is, over new groups and shots.
    Places outside of the range are its ends.
    """
    named = what.named(states)
    heights = np.linspace(-6.0, 6.0, 481)
    shared = np.hypot(named["group_sd"], named["shot_sd"])
    found = []
    for i, (intercept, slope, *_) in enumerate(named["surface"]):
        reached = heights[:, None, None] + named["cavity"][i] + shared[i] * NODES[:, None]
        good = ndtr((reached - FULL) / named["rest_sd"][i]).prod(axis=2) @ WEIGHTS
        needed = np.interp(GOOD_FROM, good, heights)
        found.append((needed - intercept) / slope)
    return np.asarray(np.clip(found, -1.0, 1.0))


def covered(places: Array, level: float) -> float:
    """Share of ranks within the middle ``level`` of all, as of truths within such a band."""
    return float((np.abs(places - 0.5) <= 0.5 * level).mean())


def misfit(places: Array, bins: int = 8) -> float:
    """Chi-square of ranks against uniform ones, with ``bins - 1`` degrees of freedom."""
    seen = np.histogram(places, bins=bins, range=(0.0, 1.0 + 1e-9))[0]
    expected = places.size / bins
    return float(((seen - expected) ** 2 / expected).sum())
