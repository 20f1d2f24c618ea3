"""Readings taken in one by one: what the tests of the posterior do not reach."""

import numpy as np
import pytest
from scipy.stats import truncnorm

from shotwindow.models.sequential import _inside


@pytest.mark.parametrize(("low", "high"), [(-1.0, 2.0), (3.0, np.inf), (-np.inf, -5.0)])
def test_inside__as_the_truncated_normal_of_scipy(low: float, high: float) -> None:
    uniform = np.array([0.1, 0.5, 0.9])
    _, value = _inside(np.full(3, low), np.full(3, high), uniform)
    expected = truncnorm.ppf(uniform, low, high)
    # the right tail is drawn mirrored
    mirrored = -truncnorm.ppf(uniform, -high, -low)
    assert value == pytest.approx(mirrored if low + high > 0 else expected, rel=1e-9)


def test_inside__beyond_what_logarithms_hold__no_chance_and_a_finite_value() -> None:
    chance, value = _inside(np.array([1e200, -np.inf]), np.array([np.inf, -1e200]), np.full(2, 0.5))
    assert np.isneginf(chance).all()
    assert value.tolist() == [1e200, -1e200]
