import numpy as np

from shotwindow.doe.moves import moves_of
from shotwindow.doe.tasks import Task, grouped_weights
from shotwindow.doe.terms import full_quadratic

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
    moves = moves_of(task)
    assert [(m.rows.tolist(), m.factor) for m in moves] == [
        ([1], 1),
        ([2, 3, 4, 5], 0),
        ([2], 1),
        ([3], 1),
        ([4], 1),
        ([5], 1),
    ]
    assert moves[1].block.tolist() == [2, 3, 4, 5]
    assert moves[2].block.tolist() == [2, 3]


def test_moves_of__quadratic__columns_powers_and_other_factors() -> None:
    task = Task(full_quadratic("ab"), (THREE, THREE), np.eye(1))
    (first, _) = moves_of(task)
    assert first.columns.tolist() == [1, 3, 4]  # a, a x b, a^2
    np.testing.assert_array_equal(first.raised, [[-1, -1, 1], [0, 0, 0], [1, 1, 1]])
    assert first.others[:, 0].tolist() == [0, 2, 0]
