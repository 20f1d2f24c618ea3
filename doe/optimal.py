"""Coordinate exchange: a task into the plans that answer it best.

Each step changes one coordinate of one shot (or of all shots that share a slow setting) to the
level that helps most, until nothing helps. All starts advance together: every array has the
start as its first axis, and a change of rank two keeps the inverse information matrix up to date.
Exchanging coordinates is the idea of R. K. Meyer and C. J. Nachtsheim, Technometrics 37 (1995) 60
(from memory); the formulas follow from the determinant lemma and are tested against plain ones.

With W = V^-1, row i of X moved by d changes M = X'WX by d w' + w d' + v d d', where w is row i
of WX before the move and v = W[i, i]. So with A = M^-1 and B = A L A

    |M new| / |M| = r = (1 + d'Aw)^2 + d'Ad (v - w'Aw)
    trace(L A) falls by [(v - w'Aw) d'Bd + 2 (1 + d'Aw) d'Bw - d'Ad w'Bw] / r.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.tasks import Task, random_plans
from shotwindow.doe.terms import gather_of, product_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

# Keeps a singular start invertible; far below what one shot adds to any term.
RIDGE = 1e-6
# A step must help by this share, or rounding would go on for ever.
LEAST_GAIN = 1e-7
PASSES = 60


@dataclass(frozen=True)
class Found:
    """Plans found, best first: coded settings (starts, n, k) and the loss of each (starts,)."""

    coded: Floats
    loss: Floats


def exchange(task: Task, starts: int, rng: np.random.Generator) -> Found:
    """Improve random plans until no single change helps; return them best first.

    Parameters
    ----------
    task
        What is to be chosen.
    starts
        Number of random plans to start from, all improved at the same time.
    rng
        Where the random plans come from: the same generator gives the same plans.

    Examples
    --------
    The best six shots for a quadratic in two factors at three levels have |X'X| = 256.

    >>> import numpy as np
    >>> from shotwindow.doe.optimal import exchange
    >>> from shotwindow.doe.tasks import Task
    >>> from shotwindow.doe.terms import full_quadratic
    >>> three = np.array([-1.0, 0.0, 1.0])
    >>> task = Task(full_quadratic("ab"), (three, three), np.eye(6))
    >>> found = exchange(task, 20, np.random.default_rng(1))
    >>> round(float(found.loss[0] ** -6))
    256
    """
    return improve(task, random_plans(task, starts, rng))


def improve(task: Task, coded: Floats) -> Found:
    """Improve the given plans (starts, n, k) until no single change helps; best first."""
    coded = coded.copy()
    moves = _moves(task)
    live = np.arange(len(coded))
    for _ in range(PASSES):
        state = _State(task, coded[live])
        for move in moves:
            state.take(move)
        coded[live] = state.coded
        live = live[state.has_changed]
        if not live.size:
            break
    loss = task.loss(coded)
    order = np.argsort(loss, kind="stable")
    return Found(coded[order], loss[order])


class _Move(NamedTuple):
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


def _moves(task: Task) -> list[_Move]:
    """List every coordinate of every shot, slow ones once a unit."""
    moves = []
    for unit in range(task.units.max() + 1):
        rows = np.flatnonzero(task.units == unit)
        for factor in range(len(task.levels)):
            is_slow = factor in task.slow_factors
            together = [rows] if is_slow else rows[:, None]
            moves += [_move(task, r, factor) for r in together if task.is_free[r, factor].all()]
    return moves


def _move(task: Task, rows: Ints, factor: int) -> _Move:
    powers = task.terms.powers
    columns = np.flatnonzero(powers[:, factor])
    others = powers[columns].copy()
    others[:, factor] = 0
    block = np.flatnonzero(task.weights[rows].any(axis=0))
    eye, within = np.eye(rows.size), task.weights[np.ix_(rows, rows)]
    return _Move(
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


class _State:
    """Plans under way and their matrices, changed in place by one move after the other."""

    def __init__(self, task: Task, coded: Floats) -> None:
        ones = np.ones((*coded.shape[:-1], 1))
        information = task.information(coded)
        spread = task.spread
        self.task = task
        self.padded = np.concatenate([ones, coded], axis=-1)  # (S, n, 1 + k)
        self.matrix = task.columns(coded)  # X: (S, n, q)
        ridge = RIDGE * np.eye(information.shape[-1])
        inverse = np.asarray(np.linalg.inv(information + ridge), dtype=float)
        self.inverse = inverse  # A: (S, q, q)
        self.curved = None if spread is None else inverse @ spread @ inverse  # B
        self.trace: Floats = np.sum(inverse * (0.0 if spread is None else spread), axis=(1, 2))
        self.has_changed = np.zeros(len(coded), dtype=bool)

    @property
    def coded(self) -> Floats:
        """The plans, (S, n, k)."""
        return self.padded[..., 1:]

    def take(self, move: _Move) -> None:
        """Make the move's best change in every plan that it helps."""
        rest = product_of(self.padded[:, move.rows], move.others)  # (S, r, c)
        old = self.matrix[:, move.rows[:, None], move.columns]
        steps = rest[:, None] * move.raised[:, None] - old[:, None]  # d: (S, levels, r, c)
        pulls = move.weights @ self.matrix[:, move.block]  # w of each row: (S, r, q)
        if move.rows.size == 1:
            gain = self._gain_of_row(move, steps[:, :, 0], pulls[:, 0])
        else:
            gain = self._gain_of_unit(move, steps, pulls)
        self._bar_forbidden(move, gain)
        level = gain.argmax(axis=1)
        start = np.flatnonzero(gain.max(axis=1) > LEAST_GAIN)
        if start.size:
            self._change(move, start, level[start], steps[start, level[start]], pulls[start])

    def _gain_of_row(self, move: _Move, steps: Floats, pull: Floats) -> Floats:
        """Gain of moving one row by d, by the formulas above: (S, levels)."""
        corner = (slice(None), move.columns[:, None], move.columns)
        aw = (self.inverse @ pull[..., None])[..., 0]
        spare = (move.within[0, 0] - (pull * aw).sum(axis=1))[:, None]
        dad = ((steps @ self.inverse[corner]) * steps).sum(axis=2)
        one = 1 + (steps @ aw[:, move.columns, None])[..., 0]
        ratio: Floats = one**2 + dad * spare
        if self.curved is None:
            return ratio - 1
        bw = (self.curved @ pull[..., None])[..., 0]
        dbd = ((steps @ self.curved[corner]) * steps).sum(axis=2)
        dbw = (steps @ bw[:, move.columns, None])[..., 0]
        wbw = (pull * bw).sum(axis=1)[:, None]
        fall: Floats = (spare * dbd + 2 * one * dbw - dad * wbw) / ratio / self.trace[:, None]
        return fall

    def _gain_of_unit(self, move: _Move, steps: Floats, pulls: Floats) -> Floats:
        """Gain of moving r rows at once, the same with matrices of 2r for 2: (S, levels)."""
        inner = move.core + _form(self.inverse, move, steps, pulls)
        if self.curved is None:
            ratio: Floats = np.abs(np.linalg.det(inner))
            return ratio - 1
        curved = _form(self.curved, move, steps, pulls)
        fall: Floats = (np.linalg.inv(inner) * curved).sum(axis=(-2, -1)) / self.trace[:, None]
        return fall

    def _bar_forbidden(self, move: _Move, gain: Floats) -> None:
        """Take levels that may not be planned out of the choice."""
        if self.task.allowed is None:
            return
        levels = self.task.levels[move.factor]
        tried = np.repeat(self.coded[:, None, move.rows], len(levels), axis=1)  # (S, L, r, k)
        tried[..., move.factor] = levels[:, None]
        gain[~self.task.is_allowed(tried).all(axis=2)] = -np.inf

    def _change(self, move: _Move, start: Ints, level: Ints, steps: Floats, pulls: Floats) -> None:
        """Set the rows of the starts to the level and bring A and B up to date.

        A new = A - A U K^-1 U'A with U = [D', w'], K = [[0, 1], [1, -v]] + U'AU, and B likewise.
        """
        wide = np.zeros_like(pulls)
        wide[:, :, move.columns] = steps
        u = np.swapaxes(np.concatenate([wide, pulls], axis=1), 1, 2)  # (m, q, 2r)
        inverse = self.inverse[start]
        y = inverse @ u
        half = y @ np.linalg.inv(move.core + np.swapaxes(u, 1, 2) @ y)
        self.inverse[start] = inverse - half @ np.swapaxes(y, 1, 2)
        if self.curved is not None and self.task.spread is not None:
            t = self.curved[start] @ u
            cross = half @ np.swapaxes(t, 1, 2)
            square = half @ (np.swapaxes(u, 1, 2) @ t) @ np.swapaxes(half, 1, 2)
            self.curved[start] += square - cross - np.swapaxes(cross, 1, 2)
            self.trace[start] = (self.inverse[start] * self.task.spread).sum(axis=(1, 2))
        self.matrix[start[:, None, None], move.rows[:, None], move.columns] += steps
        chosen = self.task.levels[move.factor][level]
        self.padded[start[:, None], move.rows, 1 + move.factor] = chosen[:, None]
        self.has_changed[start] = True


def _form(matrix: Floats, move: _Move, steps: Floats, pulls: Floats) -> Floats:
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
