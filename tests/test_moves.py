import numpy as np

from shotwindow.doe.moves import Move, Run, moves_of
from shotwindow.doe.tasks import Task, grouped_weights
from shotwindow.doe.terms import full_quadratic

TWO = np.array([-1.0, 1.0])
THREE = np.array([-1.0, 0.0, 1.0])


def test_moves_of__slow_and_given__each_free_coordinate_once() -> None:
    group = np.array([0, 0, 1, 1, 2, 2])
    given = np.full((6, 2), np.nan)
    given[0] = 0.0
    given[1, 0] = 0.0
    task = Task(
        full_quadratic("ab"),
        (THREE, THREE),
        grouped_weights(group, 1.0),
        slow=(True, False),
        unit=(0, 0, 1, 1, 1, 1),
        given=given,
    )
    first, unit, *rest = moves_of(task, 3)
    assert isinstance(first, Run) and isinstance(unit, Move)
    assert (first.rows.tolist(), first.factors.tolist()) == ([1], [1])
    assert (unit.rows.tolist(), unit.factor) == ([2, 3, 4, 5], 0)
    assert [run.rows.tolist() for run in rest] == [[2, 3, 4], [5]]
    assert unit.block.tolist() == [2, 3, 4, 5]
    assert rest[0].block.tolist() == [2, 3, 4, 5]
    assert rest[1].block.tolist() == [4, 5] and isinstance(rest[1], Run)
    assert rest[1].places.tolist() == [1]


def test_moves_of__quadratic__columns_powers_and_other_factors() -> None:
    task = Task(full_quadratic("ab"), (THREE, THREE), np.eye(1))
    (both,) = moves_of(task, 2)
    assert isinstance(both, Run)
    assert both.columns[0].tolist() == [1, 3, 4]  # a, a x b, a^2
    np.testing.assert_array_equal(both.raised[0], [[-1, -1, 1], [0, 0, 0], [1, 1, 1]])
    assert both.others[0, 0].tolist() == [0, 2, 0]


def test_moves_of__uneven_factors__filled_up_with_what_no_step_changes() -> None:
    """Three levels and a square beside two without: one level and one column to spare."""
    terms = full_quadratic("ab").subset(np.array([True] * 5 + [False]))
    (both,) = moves_of(Task(terms, (THREE, TWO), np.eye(1)), 2)
    assert isinstance(both, Run)
    assert both.levels.tolist() == [[-1, 0, 1], [-1, 1, -1]]
    assert both.columns.tolist() == [[1, 3, 4], [2, 3, 0]]
    assert both.raised[1, :, 2].tolist() == [1, 1, 1]
    assert both.others[:, 1, 2].tolist() == [0]
