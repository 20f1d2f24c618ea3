"""Latent scales, and what is believed before any shot."""

import numpy as np
import pytest
from scipy.stats import norm

from shotwindow.doe.factors import Factor
from shotwindow.doe.terms import full_quadratic
from shotwindow.models.scales import (
    coefficient_prior,
    fill_latent,
    fill_percent,
    flash_latent,
    flash_prior,
    flash_width,
    following_fill,
    warp,
)

FACTORS = (
    Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05),
    Factor("melt_temperature", "degC", 205.0, 235.0, 5.0, (190.0, 250.0), 2.0),
    Factor("vibration", "Hz", 10.0, 20.0, 1.0, (0.0, 50.0), 0.5),
)
TERMS = full_quadratic(tuple(f.name for f in FACTORS))


def test_latents__there_and_back_again() -> None:
    assert fill_percent(fill_latent(np.array([12.0, 100.0]))) == pytest.approx([12.0, 100.0])
    widths = np.array([0.02, 0.1, 1.5])
    for power in (0.3, 0.5, 1.0):
        latent = flash_latent(widths, 0.1, np.array(power))
        assert flash_width(latent, 0.1, np.array(power)) == pytest.approx(widths)
    assert np.isneginf(fill_latent(np.array([0.0, -1.0]))).all()
    assert np.isneginf(flash_latent(np.array([0.0]), 0.1, np.array(0.5))).all()


def test_warp__logarithms_for_pressure_alone() -> None:
    middle = np.array([[np.sqrt(15.0), 220.0, 15.0]])
    assert warp(FACTORS, middle) == pytest.approx(np.zeros((1, 3)), abs=1e-12)


def test_coefficient_prior__five_percent_on_the_wrong_side_where_a_role_is_known() -> None:
    mean, sd, _ = coefficient_prior(TERMS, FACTORS, signs=True)
    wrong = norm.cdf(0.0, mean, sd)
    assert wrong[:3] == pytest.approx([0.05, 0.05, 0.5], abs=1e-3)
    assert wrong[3:] == pytest.approx(0.5)
    assert sd[3:].max() < sd[:3].min()  # second-order effects are smaller
    free, *_ = coefficient_prior(TERMS, FACTORS, signs=False)
    assert not free.any()


def test_following_fill__first_order_effects_in_proportion_the_rest_as_before() -> None:
    before = flash_prior(TERMS, FACTORS)
    effects, doubts = np.zeros(len(TERMS)), np.full(len(TERMS), 0.01)
    effects[:4] = [0.5, 0.30, 0.10, -0.05]
    after = following_fill(before, TERMS, effects, doubts)
    assert after.mean[:3] / after.mean[0] == pytest.approx([1.0, 1 / 3, -1 / 6])
    assert np.sqrt((after.mean[:3] ** 2).mean()) == pytest.approx(1.0)  # typical effects
    assert (after.sd[:3] < 0.8).all()  # it guides
    assert np.array_equal(after.mean[3:], before.mean[3:])
    assert np.array_equal(after.sd[3:], before.sd[3:])
    vague = following_fill(before, TERMS, effects, 10 * doubts)
    assert (vague.sd[:3] > after.sd[:3]).all()  # doubt about fill is handed on
