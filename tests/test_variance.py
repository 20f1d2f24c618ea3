from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray

from shotwindow.doe.classical import axial, box_behnken, two_level
from shotwindow.doe.optimal import exchange
from shotwindow.doe.tasks import Task, grouped_weights
from shotwindow.doe.terms import first_order, full_quadratic
from shotwindow.doe.variance import (
    continuous_optimum,
    covariance,
    efficiency,
    leverages,
    prediction_variance,
    scaled_variance,
)


def _composite(k: int, alpha: float, centers: int) -> NDArray[np.float64]:
    return np.vstack([two_level(k), axial(k, alpha), np.zeros((centers, k))])


# Check values of section 4, recomputed from the definition n v(x) (reference/SOURCES.md): the
# plan, then settings and what n v is there.
SCALED: list[tuple[NDArray[np.float64], list[tuple[list[float], float]]]] = [
    (
        _composite(2, 2**0.5, 5),
        [([0, 0], 2.6), ([1, 0], 3.49375), ([1, 1], 8.125), ([2**0.5, 0], 8.125)],
    ),
    (_composite(2, 2**0.5, 1), [([0, 0], 9.0), ([1, 0], 4.21875), ([1, 1], 5.625)]),
    (
        _composite(3, 8**0.25, 6),
        [
            ([0, 0, 0], 3.32680),
            ([1, 0, 0], 3.90739),
            ([1, 1, 1], 13.39536),
            ([8**0.25, 0, 0], 12.14605),
        ],
    ),
    (
        _composite(3, 1, 3),
        [([0, 0, 0], 3.11268), ([1, 0, 0], 8.76338), ([1, 1, 1], 13.51021)],
    ),
    (_composite(4, 2, 6), [([0] * 4, 5.0), ([1, 0, 0, 0], 4.84375), ([1] * 4, 17.5)]),
    (
        np.vstack([box_behnken(3), np.zeros((3, 3))]),
        [([0, 0, 0], 5.0), ([1, 1, 0], 11.25), ([1, 1, 1], 20.9375)],
    ),
]


@pytest.mark.parametrize(("plan", "values"), SCALED)
def test_scaled_variance__textbook_plans__as_recomputed(
    plan: NDArray[np.float64], values: list[tuple[list[float], float]]
) -> None:
    terms = full_quadratic("abcd"[: plan.shape[1]])
    at = np.array([setting for setting, _ in values])
    found = scaled_variance(terms, plan, at)
    np.testing.assert_allclose(found, [value for _, value in values], atol=6e-6)


@pytest.mark.parametrize(
    ("k", "largest"),
    [(1, 0.14814815), (2, 0.011426999), (3, 5.7831266e-4), (4, 2.1572338e-5)],
)
def test_continuous_optimum__quadratic__published_determinant(k: int, largest: float) -> None:
    # section 7, EXACT-D: |M| of the continuous D-optimum (k = 1: shares of a third)
    terms = full_quadratic("abcd"[:k])
    candidates = np.array(list(product((-1.0, 0.0, 1.0), repeat=k)))
    shares = continuous_optimum(terms, candidates)
    rows = terms.matrix(candidates)
    assert shares.sum() == pytest.approx(1)
    assert np.linalg.det(rows.T @ (shares[:, None] * rows)) == pytest.approx(largest, rel=1e-5)
    if k == 2:
        corner = (np.abs(candidates) == 1).all(axis=1)
        np.testing.assert_allclose(shares[corner], 0.145791, atol=2e-4)


def test_efficiency__orthogonal_plan__one() -> None:
    corners = two_level(3)
    found = efficiency(first_order("abc"), corners, corners)
    assert (found.d, found.a, found.g) == pytest.approx((1, 1, 1))
    assert found.i == pytest.approx(4)  # p at each corner, where n v is largest


def test_efficiency__face_centered_composite__worst_at_a_corner() -> None:
    # section 4: n v of the face-centered composite for three factors is 13.51021 at a corner
    corner_and_center = np.array([[1.0, 1.0, 1.0], [0.0, 0.0, 0.0]])
    found = efficiency(full_quadratic("abc"), _composite(3, 1, 3), corner_and_center)
    assert found.g == pytest.approx(10 / 13.51021, abs=1e-6)
    assert found.i == pytest.approx((13.51021 + 3.11268) / 2, abs=1e-5)


@pytest.mark.parametrize(("shots", "determinant", "relative"), [(6, 256, 0.8849), (9, 5184, 0.974)])
def test_efficiency__exact_plans__share_of_the_continuous_optimum(
    shots: int, determinant: float, relative: float
) -> None:
    # section 7, EXACT-D: efficiency beside the continuous optimum, |M| = .011426999
    grid = np.array(list(product((-1.0, 0.0, 1.0), repeat=2)))
    three = np.array([-1.0, 0.0, 1.0])
    task = Task(full_quadratic("ab"), (three, three), np.eye(shots))
    plan = exchange(task, 20, np.random.default_rng(1)).coded[0]
    matrix = full_quadratic("ab").matrix(plan)
    assert np.linalg.det(matrix.T @ matrix) == pytest.approx(determinant)
    found = efficiency(full_quadratic("ab"), plan, grid).d
    assert found / 0.011426999 ** (1 / 6) == pytest.approx(relative, abs=5e-5)


def test_covariance__groups__generalized_least_squares() -> None:
    rng = np.random.default_rng(1)
    matrix, group = rng.normal(size=(9, 3)), np.repeat([0, 1, 2], 3)
    v = np.eye(9) + 1.5 * (group[:, None] == group)
    inverse = np.linalg.inv(matrix.T @ np.linalg.inv(v) @ matrix)
    expected = np.asarray(inverse, dtype=float)
    np.testing.assert_allclose(covariance(matrix, grouped_weights(group, 1.5)), expected)
    at = rng.normal(size=(4, 2))
    rows = first_order("ab").matrix(at)
    plain = [row @ expected @ row for row in rows]
    np.testing.assert_allclose(prediction_variance(first_order("ab"), expected, at), plain)


def test_leverages__one_shot_alone_at_its_level__one() -> None:
    plan = np.array([[-1.0], [-1.0], [1.0], [1.0], [0.0]])
    lever = leverages(full_quadratic("a").matrix(plan))
    np.testing.assert_allclose(lever, [0.5, 0.5, 0.5, 0.5, 1.0])
