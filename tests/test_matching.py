"""Normal factors in the place of readings: the evidence that they give, against exact integrals."""

import numpy as np
import pytest
from densities import density, prior
from numpy.typing import NDArray
from scipy.stats import multivariate_normal

from shotwindow.models.given_scales import rest_prior
from shotwindow.models.matching import factors, left_out, log_evidence
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]
DESIGN = np.column_stack([np.ones(3), [-1.0, 0.0, 1.0]])
READ = np.array([[0.4, 0.7], [0.1, -0.2], [1.1, 1.3]])


def _study(low: Array, high: Array) -> tuple[Density, Array, Array, Array]:
    """Three shots of two cavities in two groups; mean and covariance of all readings beforehand."""
    what = density(DESIGN, low, high, prior(2, intercept_mean=0.6), group=np.array([0, 0, 1]))
    scales = what.log_median[:, None]
    (mean,), (precision,) = rest_prior(what, scales)
    log = what.logs(scales)
    noise = np.exp(2.0 * (log["scatter"] + log["cavity_ratio"]))[0]
    spread = what.rows / precision @ what.rows.T + noise * np.eye(low.size)
    return what, scales, what.rows @ mean, spread


def test_log_evidence__values_known_exactly__the_normal_density_of_scipy() -> None:
    what, scales, mean, spread = _study(READ, READ)
    found = log_evidence(what, scales, factors(what, scales, rounds=60))
    expected = multivariate_normal(mean, spread).logpdf(READ.ravel())
    assert found == pytest.approx([expected], abs=1e-6)


@pytest.mark.parametrize(("width", "off"), [(0.3, 0.01), (1.5, 0.02), (np.inf, 0.1)])
def test_log_evidence__intervals__near_the_integral_of_scipy(width: float, off: float) -> None:
    """Genz's integration, as scipy has it; of six readings that hang together closely."""
    what, scales, mean, spread = _study(READ, READ + width)
    normal = multivariate_normal(mean, spread)
    upper = np.where(np.isinf(width), 50.0, READ + width).ravel()
    expected = np.log(normal.cdf(upper, lower_limit=READ.ravel(), rng=np.random.default_rng(1)))
    found = log_evidence(what, scales, factors(what, scales))
    assert found == pytest.approx([expected], abs=off)


def test_factors__begun_with_those_of_scales_nearby__nearer_after_as_many_rounds() -> None:
    what, scales, *_ = _study(READ, np.full_like(READ, np.inf))
    whole = factors(what, scales, rounds=60)
    nearby = factors(what, scales + 0.02, rounds=60)
    off = [
        np.abs(factors(what, scales, rounds=4, start=start).precision - whole.precision).max()
        for start in (nearby, None)
    ]
    assert off[0] < 0.2 * off[1]


def test_left_out__values_known_exactly__foretold_by_the_others_as_normals_do() -> None:
    what, scales, mean, spread = _study(READ, READ)
    middle, variance = left_out(what, scales, factors(what, scales, rounds=60))
    noise = np.exp(2.0 * (what.logs(scales)["scatter"] + what.logs(scales)["cavity_ratio"]))[0]
    read = READ.ravel()
    for i in range(read.size):
        rest = np.arange(read.size) != i
        gain = np.linalg.solve(spread[np.ix_(rest, rest)], spread[rest, i])
        assert middle[0, i] == pytest.approx(mean[i] + gain @ (read - mean)[rest], abs=1e-6)
        expected = spread[i, i] - noise - gain @ spread[rest, i]
        assert variance[0, i] == pytest.approx(expected, abs=1e-6)
