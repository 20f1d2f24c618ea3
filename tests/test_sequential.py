"""Readings taken in one by one: what the tests of the posterior do not reach."""

import numpy as np
import pytest
from densities import density, prior
from scipy.stats import multivariate_normal, truncnorm

from shotwindow.models.censored import inside
from shotwindow.models.given_scales import rest_prior
from shotwindow.models.matching import Factors
from shotwindow.models.sequential import particles


@pytest.mark.parametrize(("low", "high"), [(-1.0, 2.0), (3.0, np.inf), (-np.inf, -5.0)])
def test_inside__as_the_truncated_normal_of_scipy(low: float, high: float) -> None:
    uniform = np.array([0.1, 0.5, 0.9])
    _, value = inside(np.full(3, low), np.full(3, high), uniform)
    expected = truncnorm.ppf(uniform, low, high)
    # the right tail is drawn mirrored
    mirrored = -truncnorm.ppf(uniform, -high, -low)
    assert value == pytest.approx(mirrored if low + high > 0 else expected, rel=1e-9)


def test_inside__beyond_what_logarithms_hold__no_chance_and_a_finite_value() -> None:
    chance, value = inside(np.array([1e200, -np.inf]), np.array([np.inf, -1e200]), np.full(2, 0.5))
    assert np.isneginf(chance).all()
    assert value.tolist() == [1e200, -1e200]


def test_particles__values_known_exactly__evidence_and_draws_of_the_normal_distribution() -> None:
    """Shots of several cavities, taken in a few at a time, from stand-ins that are far off."""
    rng, columns, count = np.random.default_rng(5), 1500, 4
    shots, cavities = 9, 3
    read = rng.normal(0.3, 1.0, (shots, cavities))
    design = np.column_stack([np.ones(shots), rng.uniform(-1.0, 1.0, (shots, 2))])
    what = density(design, read, read, prior(3), group=np.repeat([0, 1, 2], 3))
    scales = np.repeat(what.log_median[:, None], columns, axis=1)
    stand_in = Factors(*(rng.uniform(0.2, 3.0, (2, 1, read.size)) * np.ones((columns, 1))))
    found = particles(what, scales, stand_in, count, rng)
    mean, precision = (part[0] for part in rest_prior(what, scales[:, :1]))
    log = what.logs(scales[:, :1])
    noise = np.exp(2.0 * (log["scatter"] + log["cavity_ratio"]))[0]
    spread = what.rows / precision @ what.rows.T + noise * np.eye(read.size)
    exact = multivariate_normal(what.rows @ mean, spread).logpdf(read.ravel())
    assert found.log_evidence == pytest.approx(np.full(columns, exact), abs=1e-8)
    gain = np.linalg.solve(spread, what.rows / precision).T
    center = (mean + gain @ (read.ravel() - what.rows @ mean))[: what.shared]
    sd = np.sqrt((1.0 / precision - (gain @ what.rows / precision).diagonal())[: what.shared])
    draws = found.rest.reshape(-1, what.shared)
    assert np.abs((draws.mean(axis=0) - center) / sd).max() < 5.0 / np.sqrt(columns * count)
    assert draws.std(axis=0) == pytest.approx(sd, rel=0.05)
