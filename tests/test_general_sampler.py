"""The draws beside those of a general sampler on a density that is written anew.

`plain_densities` says the model once more, in its own words and without the engine; emcee
(Foreman-Mackey, Hogg, Lang and Goodman, PASP 125, 2013, 306-312) draws from it, the engine from its
own. Both have Monte Carlo errors, which the limits below are multiples of.
"""

from dataclasses import replace

import emcee
import numpy as np
import pytest
from densities import bending, density, prior
from numpy.typing import NDArray
from plain_densities import log_density, log_likelihood, unfolded

from shotwindow.models.drawing import draw
from shotwindow.models.given_scales import rest_prior
from shotwindow.models.posterior import Density
from shotwindow.models.responses import Latent

Array = NDArray[np.float64]

LOOSE = {"scatter_spread": 0.5, "ratio_spread": 0.4, "effect_spread": 0.4}
WALKERS, STEPS = 200, {"alone": 800, "grouped": 2400, "graded": 800, "bent": 2400}
SETTINGS = np.array([[1.0, -1.0], [1.0, 0.0], [1.0, 0.8]])


def _readings(latent: Array) -> tuple[Array, Array]:
    """Steps of 0.3 with a ceiling at 0.3 and a floor at -0.9."""
    low = np.floor(latent / 0.3) * 0.3
    full, nothing = latent > 0.3, latent < -0.9
    ends = np.where(nothing, -np.inf, np.where(full, 0.3, low))
    return ends, np.where(full, np.inf, np.where(nothing, -0.9, np.minimum(low + 0.3, 0.3)))


def _alone() -> Density:
    """Eight shots of one cavity: two coefficients and two scales; three shots at the ceiling."""
    rng = np.random.default_rng(11)
    design = np.column_stack([np.ones(8), np.linspace(-1, 1, 8)])
    latent = (design @ [-0.2, 0.7] + 0.3 * rng.standard_normal(8))[:, None]
    return density(design, *_readings(latent), replace(prior(2, **LOOSE), mean=np.array([1.0])))


def _grouped() -> Density:
    """Six shots of two cavities in three groups: seventeen parameters for twelve readings."""
    rng = np.random.default_rng(12)
    design = np.column_stack([np.ones(6), [-1.0, 1.0, -0.5, 0.5, -1.0, 1.0]])
    group = np.repeat(np.arange(3), 2)
    latent = (design @ [0.1, 0.6])[:, None] + [0.2, -0.2]
    latent = latent + 0.3 * rng.standard_normal(3)[group][:, None]
    latent = latent + 0.3 * rng.standard_normal((6, 1)) + 0.2 * rng.standard_normal((6, 2))
    return density(design, *_readings(latent), prior(2, **LOOSE), group=group)


def _bent() -> Density:
    """Six shots of two cavities with slopes of their own, on a line that may bend."""
    rng = np.random.default_rng(13)
    x = np.array([-1.0, 1.0, -0.5, 0.5, 0.0, 0.8])
    design = np.column_stack([np.ones(6), x, x**2])
    latent = (design @ [0.1, 0.6, -0.3])[:, None] + [0.2, -0.2] + x[:, None] * [0.15, -0.15]
    latent = latent + 0.3 * rng.standard_normal((6, 1)) + 0.2 * rng.standard_normal((6, 2))
    plain = density(design, *_readings(latent), bending(prior(3, **LOOSE), 1))
    return replace(plain, data=replace(plain.data, slopes=1))


def _graded() -> Density:
    """Nine shots graded 0 to 3, good up to 1: two gaps between the limits are estimated."""
    design = np.column_stack([np.ones(9), np.linspace(-1, 1, 9)])
    grade = np.array([0, 0, 1, 0, 1, 1, 2, 3, 2])
    nothing = np.full((9, 1), np.nan)
    limits = Latent(nothing, nothing, grade[:, None], cuts=3, good=1).limits
    plain = density(design, nothing, nothing, prior(2, cut_gap=1.0, cut_spread=0.5, **LOOSE))
    below, above = grade > 0, grade < 3
    return replace(
        plain,
        data=replace(
            plain.data,
            low=np.where(below, 0.0, -np.inf),
            high=np.where(above, 0.0, np.inf),
            low_gaps=np.where(below[:, None], limits[np.maximum(grade - 1, 0)], 0.0),
            high_gaps=np.where(above[:, None], limits[np.minimum(grade, 2)], 0.0),
        ),
    )


CASES = {"alone": _alone, "grouped": _grouped, "graded": _graded, "bent": _bent}


def _by_emcee(name: str) -> tuple[Array, float]:
    """Draws of all parameters (draws, size), and the smallest effective number of them."""
    what = CASES[name]()
    jumps = emcee.moves.DEMove(), emcee.moves.DEMove(gamma0=1.0)  # the second between two modes
    sampler = emcee.EnsembleSampler(
        WALKERS,
        what.size,
        lambda plain: log_likelihood(what, unfolded(what, plain)) - 0.5 * (plain**2).sum(axis=1),
        moves=list(zip(jumps, (0.9, 0.1), strict=True)),
        vectorize=True,
    )
    state = np.random.RandomState(5)  # of the kind that this library takes
    sampler.random_state = state.get_state()
    sampler.run_mcmc(state.standard_normal((WALKERS, what.size)), STEPS[name])
    kept = sampler.get_chain(discard=STEPS[name] // 4)
    # walkers hardly know of each other: how far their means are apart tells the error of them all
    effective = WALKERS * kept.var(axis=(0, 1)) / kept.mean(axis=0).var(axis=0, ddof=1)
    return unfolded(what, kept.reshape(-1, what.size)), float(effective.min())


def _looked_at(what: Density, states: Array) -> dict[str, Array]:
    """Surface values and logarithms of scales of states (draws, size or less the shot effects)."""
    scales = states[:, -what.log_median.size :]
    values = states[:, :2] @ SETTINGS.T
    return {
        **{f"surface at {x:g}": v for x, v in zip(SETTINGS[:, 1], values.T, strict=True)},
        **{f"logarithm {i}": column for i, column in enumerate(scales.T)},
    }


@pytest.mark.parametrize("name", CASES)
def test_density__as_written_anew(name: str) -> None:
    """At thirty places all over the prior, both logarithms differ by one number."""
    what = CASES[name]()
    states = unfolded(what, 1.5 * np.random.default_rng(2).standard_normal((30, what.size)))
    rest, scales = states[:, : what.rest].T, states[:, what.rest :].T
    log = what.logs(scales)
    fit = what.likelihood(
        what.rows @ rest, what.ends(log), np.exp(log["scatter"] + log["cavity_ratio"])
    )
    mean, precision = rest_prior(what, scales)
    ours = fit.log_probability.sum(axis=0)
    ours += 0.5 * np.log(precision).sum(axis=1) - 0.5 * (precision * (rest.T - mean) ** 2).sum(1)
    away = (scales.T - what.log_median) / what.log_spread
    ours -= 0.5 * (away**2).sum(axis=1)
    apart = ours - log_density(what, states)
    assert np.ptp(ours) > 10.0
    assert apart == pytest.approx(np.full(30, apart[0]), abs=1e-7)


@pytest.mark.parametrize("name", CASES)
def test_draw__as_a_general_sampler(name: str) -> None:
    """Means, standard deviations and five quantiles of surface values and scales.

    Some 130 comparisons at 4.5 standard errors: if these were exact, one run in a thousand would
    fail by chance, should seeds, versions or the engine change.
    """
    what = CASES[name]()
    chain, effective = _by_emcee(name)
    drawn = draw(what, np.random.default_rng(3), draws=8192, effective=2000.0)
    assert drawn.diagnostics.converged
    theirs, ours = _looked_at(what, chain), _looked_at(what, drawn.states.T)
    assert effective > 1000.0
    count = 1.0 / (1.0 / effective + 1.0 / drawn.diagnostics.effective)
    for key, right in theirs.items():
        left, spread = ours[key], right.std()
        error = spread / np.sqrt(count)
        assert abs(left.mean() - right.mean()) < 4.5 * error, key
        # how far a variance is off follows from the fourth moment
        fourth = float((((right - right.mean()) / spread) ** 4).mean())
        assert abs(left.std() / spread - 1.0) < 4.5 * np.sqrt((fourth - 1.0) / 4.0 / count), key
        for share in (0.05, 0.25, 0.5, 0.75, 0.95):
            below = float((left < np.quantile(right, share)).mean())
            assert abs(below - share) < 4.5 * np.sqrt(share * (1.0 - share) / count), (key, share)
