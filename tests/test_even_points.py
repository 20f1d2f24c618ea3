"""Points that keep out of each other's way: each is as random as any, averages settle sooner."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import kstest, norm

from shotwindow.models.even_points import apart, each_even_normals, together_even

Array = NDArray[np.float64]


def _spread(
    points: Callable[[np.random.Generator], Array], what: Callable[[Array], Array]
) -> float:
    """Variance of averages over repeats."""
    means = [what(points(np.random.default_rng(seed))).mean() for seed in range(200)]
    return float(np.var(means))


def test_together_even__each_point_uniform_by_itself() -> None:
    one = np.array([together_even(7, 50, np.random.default_rng(s))[:, 17] for s in range(400)])
    for column in one.T:
        assert kstest(column, "uniform").pvalue > 1e-3
    assert np.abs(np.corrcoef(one.T) - np.eye(7)).max() < 4.0 / np.sqrt(400)


@pytest.mark.parametrize("dimensions", [2, 10])
def test_together_even__average_of_a_product__settles_sooner_than_by_chance(
    dimensions: int,
) -> None:
    def product(points: Array) -> Array:
        return np.asarray(points[0] * points[-1])

    by_chance = _spread(lambda rng: rng.uniform(size=(dimensions, 300)), product)
    assert _spread(lambda rng: together_even(dimensions, 300, rng), product) < 0.1 * by_chance


def test_each_even_normals__normal_and_without_ties_between_coordinates() -> None:
    points = each_even_normals(4000, 5, np.random.default_rng(2))
    for column in points.T:
        # one point in each stretch of equal chance
        assert np.array_equal(np.sort((norm.cdf(column) * 4000).astype(int)), np.arange(4000))
    assert np.abs(np.corrcoef(points.T) - np.eye(5)).max() < 4.0 / np.sqrt(4000)


def test_each_even_normals__average_of_a_sum__settles_sooner_than_by_chance() -> None:
    def total(points: Array) -> Array:
        return np.asarray(np.maximum(points, 0.5).sum(axis=1))

    by_chance = _spread(lambda rng: rng.standard_normal((100, 8)), total)
    assert _spread(lambda rng: each_even_normals(100, 8, rng), total) < 0.05 * by_chance


def test_apart__shares_of_equal_steps_uniform_by_themselves() -> None:
    found = apart(3000, 4, np.random.default_rng(4))
    ordered = np.sort(found, axis=1)
    assert np.diff(ordered, axis=1) == pytest.approx(np.full((3000, 3), 0.25))
    for column in found.T:
        assert kstest(column, "uniform").pvalue > 1e-3
