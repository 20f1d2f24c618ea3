"""A task turned into the coordinates that an exchange visits, and what it needs to know of each."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.tasks import Task
from shotwindow.doe.terms import gather_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]


class Move(NamedTuple):
    """One coordinate to look at, and what its columns are made of."""

    rows: Ints  # shots that share the coordinate: (r,)
    block: Ints  # shots correlated with them, the rows themselves included: (b,)
    weights: Floats  # W of the rows with their block: (r, b)
    within: Floats  # W of the rows with each other: (r, r)
    core: Floats  # inverse of the middle matrix of the change of M, [[0, 1], [1, -v]]: (2r, 2r)
    factor: int
    columns: Ints  # terms that contain the factor: (c,)
    others: Ints  # their other factors, to be multiplied: (c, degree)
    raised: Floats  # powers of the factor in them, at each level: (levels, c)


def moves_of(task: Task) -> list[Move]:
    """List every coordinate of every shot, slow ones once a unit."""
    moves = []
    for unit in range(task.units.max() + 1):
        rows = np.flatnonzero(task.units == unit)
        for factor in range(len(task.levels)):
            is_slow = factor in task.slow_factors
            together = [rows] if is_slow else rows[:, None]
            moves += [_move(task, r, factor) for r in together if task.is_free[r, factor].all()]
    return moves


def _move(task: Task, rows: Ints, factor: int) -> Move:
    powers = task.terms.powers
    columns = np.flatnonzero(powers[:, factor])
    others = powers[columns].copy()
    others[:, factor] = 0
    block = np.flatnonzero(task.weights[rows].any(axis=0))
    eye, within = np.eye(rows.size), task.weights[np.ix_(rows, rows)]
    return Move(
        rows=rows,
        block=block,
        weights=task.weights[np.ix_(rows, block)],
        within=within,
        core=np.block([[0 * eye, eye], [eye, -within]]),
        factor=factor,
        columns=columns,
        others=gather_of(others),
        raised=task.levels[factor][:, None] ** powers[columns, factor],
    )


def form_of(matrix: Floats, move: Move, steps: Floats, pulls: Floats) -> Floats:
    """Return U' matrix U for U = [D', w'], the D filled up with zeros: (S, levels, 2r, 2r)."""
    corner = (slice(None), move.columns[:, None], move.columns)
    wa = pulls @ matrix  # (S, r, q)
    dd = steps @ matrix[corner][:, None] @ np.swapaxes(steps, 2, 3)
    dw = steps @ np.swapaxes(wa[:, :, move.columns], 1, 2)[:, None]
    ww = np.broadcast_to((wa @ np.swapaxes(pulls, 1, 2))[:, None], dd.shape)
    return np.concatenate(
        [
            np.concatenate([dd, dw], axis=3),
            np.concatenate([np.swapaxes(dw, 2, 3), ww], axis=3),
        ],
        axis=2,
    )
