"""A task turned into the coordinates that an exchange visits, and what it needs to know of each.

Coordinates that several shots share, slow ones, are moves of their own. Coordinates of single shots
that follow each other make a run: they are looked at in one go, which saves most of the time that
a step costs, and changed in the order in which they stand, as if each had been looked at alone.
"""

from collections.abc import Iterator
from itertools import groupby
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.tasks import Task
from shotwindow.doe.terms import gather_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]


class Move(NamedTuple):
    """One coordinate that r shots share, and what its columns are made of."""

    rows: Ints  # shots that share the coordinate: (r,)
    block: Ints  # shots correlated with them, the rows themselves included: (b,)
    weights: Floats  # W of the rows with their block: (r, b)
    core: Floats  # inverse of the middle matrix of the change of M, [[0, 1], [1, -v]]: (2r, 2r)
    factor: int
    columns: Ints  # terms that contain the factor: (c,)
    others: Ints  # their other factors, to be multiplied: (c, degree)
    raised: Floats  # powers of the factor in them, at each level: (levels, c)


class Run(NamedTuple):
    """M coordinates of single shots, in the order in which they are visited.

    Where a factor has fewer levels or columns than another, some levels stand again, and so do
    columns without the factor, which no step of it changes.
    """

    rows: Ints  # shot of each: (M,)
    factors: Ints  # (M,)
    levels: Floats  # (M, L)
    block: Ints  # shots correlated with any of them: (b,)
    places: Ints  # of their rows in the block: (M,)
    weights: Floats  # W of each with the block: (M, b)
    within: Floats  # W of each with itself: (M,)
    cores: Floats  # as the core of a move: (M, 2, 2)
    columns: Ints  # (M, c)
    others: Ints  # (degree, M, c)
    raised: Floats  # (M, L, c)


def moves_of(task: Task, together: int) -> list[Move | Run]:
    """List every free coordinate of every shot, slow ones once a unit.

    Parameters
    ----------
    task
        What is to be chosen.
    together
        How many coordinates of single shots make a run at most; what is found hardly depends on it.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.moves import moves_of
    >>> from shotwindow.doe.tasks import Task
    >>> from shotwindow.doe.terms import first_order
    >>> task = Task(first_order("ab"), (np.array([-1.0, 1.0]),) * 2, np.eye(3))
    >>> [(run.rows.tolist(), run.factors.tolist()) for run in moves_of(task, 4)]
    [([0, 0, 1, 1], [0, 1, 0, 1]), ([2, 2], [0, 1])]
    """
    parts = [_part(task, factor) for factor in range(len(task.levels))]
    even = _evened(task, parts)
    moves: list[Move | Run] = []
    for alone, visits in groupby(_visits(task), key=lambda visit: visit[0].size == 1):
        if not alone:
            moves += [_move(task, rows, parts[factor]) for rows, factor in visits]
            continue
        singles = np.array([(rows[0], factor) for rows, factor in visits])
        for start in range(0, len(singles), together):
            moves.append(_run(task, even, *singles[start : start + together].T))
    return moves


def _visits(task: Task) -> Iterator[tuple[Ints, int]]:
    """Give the rows and the factor of every coordinate that is to be chosen."""
    for unit in range(task.units.max() + 1):
        rows = np.flatnonzero(task.units == unit)
        for factor in range(len(task.levels)):
            together = [rows] if factor in task.slow_factors else rows[:, None]
            for some in together:
                if task.is_free[some, factor].all():
                    yield some, factor


class _Part(NamedTuple):
    """What all moves of one factor have in common, named as in a move."""

    factor: int
    levels: Floats
    columns: Ints
    others: Ints
    raised: Floats


def _part(task: Task, factor: int) -> _Part:
    powers = task.terms.powers
    columns = np.flatnonzero(powers[:, factor])
    others = powers[columns].copy()
    others[:, factor] = 0
    levels = task.levels[factor]
    raised = levels[:, None] ** powers[columns, factor]
    return _Part(factor, levels, columns, gather_of(others), raised)


class _Even(NamedTuple):
    """The parts of all factors as arrays, filled up to the same number of levels and columns."""

    levels: Floats  # (k, L)
    columns: Ints  # (k, c)
    others: Ints  # (k, c, degree)
    raised: Floats  # (k, L, c)


def _evened(task: Task, parts: list[_Part]) -> _Even:
    width = max(len(part.columns) for part in parts)
    most = max(len(part.levels) for part in parts)
    degree = max(part.others.shape[1] for part in parts)
    powers = task.terms.powers
    columns, others = [], []
    for part in parts:
        without = np.flatnonzero(powers[:, part.factor] == 0)
        spare = without[powers[without].sum(axis=1).argsort()[: width - len(part.columns)]]
        spare = np.resize(spare, width - len(part.columns))
        filler = gather_of(powers[spare])
        columns.append(np.append(part.columns, spare))
        others.append(_stacked(part.others, filler, max(degree, filler.shape[1])))
    degree = max(some.shape[1] for some in others)
    return _Even(
        levels=np.stack([np.resize(p.levels, most) for p in parts]),
        columns=np.stack(columns),
        others=np.stack([_stacked(some, some[:0], degree) for some in others]),
        raised=np.stack([_filled(p.raised, most, width) for p in parts]),
    )


def _stacked(one: Ints, other: Ints, degree: int) -> Ints:
    """Return indices to be multiplied, one set above the other, filled up with the constant."""
    found = np.zeros((len(one) + len(other), degree), dtype=int)
    found[: len(one), : one.shape[1]] = one
    found[len(one) :, : other.shape[1]] = other
    return found


def _filled(raised: Floats, most: int, width: int) -> Floats:
    """Return powers with levels repeated from the first on, and ones in the columns to spare."""
    found = np.ones((most, width))
    found[:, : raised.shape[1]] = np.resize(raised, (most, raised.shape[1]))
    return found


def _move(task: Task, rows: Ints, part: _Part) -> Move:
    block = np.flatnonzero(task.weights[rows].any(axis=0))
    eye, within = np.eye(rows.size), task.weights[np.ix_(rows, rows)]
    return Move(
        rows=rows,
        block=block,
        weights=task.weights[np.ix_(rows, block)],
        core=np.block([[0 * eye, eye], [eye, -within]]),
        factor=part.factor,
        columns=part.columns,
        others=part.others,
        raised=part.raised,
    )


def _run(task: Task, even: _Even, rows: Ints, factors: Ints) -> Run:
    weights = task.weights[rows]
    block = np.flatnonzero(weights.any(axis=0))
    within = weights[np.arange(len(rows)), rows]
    cores = np.tile(np.array([[0.0, 1.0], [1.0, 0.0]]), (len(rows), 1, 1))
    cores[:, 1, 1] = -within
    return Run(
        rows=rows,
        factors=factors,
        levels=even.levels[factors],
        block=block,
        places=np.searchsorted(block, rows),
        weights=weights[:, block],
        within=within,
        cores=cores,
        columns=even.columns[factors],
        others=np.moveaxis(even.others[factors], -1, 0).copy(),
        raised=even.raised[factors],
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
