"""Interval likelihood against an independent normal distribution and against differences."""

import numpy as np
import pytest
from scipy.stats import norm

from shotwindow.models.censored import between, kinds, slopes

LOW = np.array([0.3, -np.inf, -0.4, 0.2, 5.0])
HIGH = np.array([np.inf, 0.1, 0.7, 0.2, 5.3])


def test_slopes__each_kind__log_probability_as_scipy() -> None:
    eta, sigma = np.array([[0.1], [0.2], [0.0], [0.5], [-1.0]]), np.array([0.6])
    found = slopes(kinds(LOW, HIGH), LOW[:, None], HIGH[:, None], eta, sigma).log_probability[:, 0]
    a, b = (LOW - eta[:, 0]) / 0.6, (HIGH - eta[:, 0]) / 0.6
    expected = [
        norm.logsf(a[0]),
        norm.logcdf(b[1]),
        np.log(norm.cdf(b[2]) - norm.cdf(a[2])),
        norm.logpdf(a[3]) - np.log(0.6),
        np.log(norm.sf(a[4]) - norm.sf(b[4])),
    ]
    assert found == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("field", ["eta", "log_sigma", "low", "high"])
def test_slopes__every_derivative__as_differences(field: str) -> None:
    rng = np.random.default_rng(5)
    eta, log_sigma = rng.normal(size=(5, 3)), np.log(rng.uniform(0.3, 2.0, 3))
    sorts = kinds(LOW, HIGH)

    def value(step: float) -> np.ndarray:
        move = {
            name: step if name == field else 0.0 for name in ("eta", "log_sigma", "low", "high")
        }
        return slopes(
            sorts,
            LOW[:, None] + move["low"],
            HIGH[:, None] + move["high"],
            eta + move["eta"],
            np.exp(log_sigma + move["log_sigma"]),
        ).log_probability

    found = getattr(slopes(sorts, LOW[:, None], HIGH[:, None], eta, np.exp(log_sigma)), field)
    expected = (value(1e-6) - value(-1e-6)) / 2e-6
    rows = (
        [0, 1, 2, 4] if field in ("low", "high") else [0, 1, 2, 3, 4]
    )  # a value has no end to move
    assert found[rows] == pytest.approx(expected[rows], rel=1e-5, abs=1e-7)


@pytest.mark.parametrize("at", [-40.0, -3.0, 0.0, 3.0, 40.0])
def test_between__narrow_interval__density_times_width(at: float) -> None:
    width = 1e-6
    value, _, _ = between(np.array([at]), np.array([at + width]))
    assert value[0] == pytest.approx(norm.logpdf(at + width / 2) + np.log(width), abs=1e-7)


def test_kinds__interval_that_says_nothing__is_refused() -> None:
    with pytest.raises(ValueError, match="low <= high"):
        kinds(np.array([-np.inf]), np.array([np.inf]))
    with pytest.raises(ValueError, match="low <= high"):
        kinds(np.array([1.0]), np.array([0.5]))
