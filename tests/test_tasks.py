import numpy as np
import pytest

from shotwindow.doe.tasks import Task, block_columns, grouped_weights, random_plans
from shotwindow.doe.terms import first_order, full_quadratic

THREE = np.array([-1.0, 0.0, 1.0])


def test_grouped_weights__any_groups__inverse_of_the_covariance() -> None:
    group = np.array([3, 1, 3, 3, 2, 1])
    covariance = np.eye(6) + 2.5 * (group[:, None] == group)
    np.testing.assert_allclose(grouped_weights(group, 2.5) @ covariance, np.eye(6), atol=1e-12)


def test_loss__confounded_terms__infinite() -> None:
    task = Task(full_quadratic("a"), (THREE,), np.eye(3), moments=np.eye(3))
    plans = np.array([[[-1.0], [1.0], [1.0]], [[-1.0], [0.0], [1.0]]])
    assert np.isinf(task.loss(plans)).tolist() == [True, False]


def test_loss__moments__mean_variance_of_prediction() -> None:
    points = np.linspace(-1, 1, 7)[:, None]
    terms = full_quadratic("a")
    rows = terms.matrix(points)
    task = Task(terms, (THREE,), np.eye(4), moments=rows.T @ rows / 7)
    plan = np.array([[-1.0], [0.0], [0.0], [1.0]])
    matrix = terms.matrix(plan)
    variances = [row @ np.linalg.inv(matrix.T @ matrix) @ row for row in rows]
    assert task.loss(plan) == pytest.approx(np.mean(variances))


def test_loss__two_blocks__like_columns_of_their_own() -> None:
    beside = np.array([[0.0], [0.0], [1.0], [1.0]])
    task = Task(first_order("a"), (THREE,), np.eye(4), beside=beside)
    plan = np.array([[-1.0], [1.0], [-1.0], [1.0]])
    full = np.hstack([np.ones((4, 1)), plan, beside])
    assert task.loss(plan) ** -3 == pytest.approx(np.linalg.det(full.T @ full))


def test_random_plans__rules_and_units__kept() -> None:
    task = Task(
        first_order("ab"),
        (THREE, THREE),
        np.eye(6),
        slow=(True, False),
        unit=(5, 5, 2, 2, 5, 2),
        allowed=lambda coded: ~((coded[:, 0] > 0) & (coded[:, 1] > -1)),
    )
    plans = random_plans(task, 40, np.random.default_rng(1))
    assert task.is_allowed(plans).all()
    assert (plans[:, [0, 2]] == plans[:, [1, 5]])[..., 0].all()
    assert len(np.unique(plans[..., 1])) == 3


def test_random_plans__nothing_allowed__refused() -> None:
    task = Task(
        first_order("a"), (THREE,), np.eye(2), allowed=lambda coded: np.zeros(len(coded), bool)
    )
    with pytest.raises(ValueError, match="no allowed setting"):
        random_plans(task, 3, np.random.default_rng(1))


def test_block_columns__three_blocks__two_centered_columns() -> None:
    columns = block_columns(["1", "2", "2", "3"])
    np.testing.assert_allclose(columns.sum(axis=0), 0, atol=1e-12)
    assert columns.shape == (4, 2)


def test_random_plans__given_settings__kept() -> None:
    given = np.full((4, 2), np.nan)
    given[0] = 0.0, -1.0
    given[1, 0] = 0.0
    task = Task(
        first_order("ab"),
        (THREE, THREE),
        np.eye(4),
        slow=(True, False),
        unit=(0, 0, 1, 1),
        given=given,
    )
    plans = random_plans(task, 30, np.random.default_rng(1))
    assert (plans[:, 0] == [0, -1]).all()
    assert (plans[:, 1, 0] == 0).all()
    assert len(np.unique(plans[:, 1, 1])) == 3
