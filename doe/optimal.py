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

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.moves import Move, form_of, moves_of
from shotwindow.doe.tasks import Task, random_plans
from shotwindow.doe.terms import product_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

# Keeps a singular start invertible; far below what one shot adds to any term.
RIDGE = 1e-5
# A change of |M| by more than this factor, or to less than its inverse, comes from or leads to a
# nearly singular plan: there an update loses too many digits, and A is inverted anew.
JUMP = 20.0
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
    moves = moves_of(task)
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


class _State:
    """Plans under way and their matrices, changed in place by one move after the other."""

    def __init__(self, task: Task, coded: Floats) -> None:
        ones = np.ones((*coded.shape[:-1], 1))
        self.task = task
        self.padded = np.concatenate([ones, coded], axis=-1)  # (S, n, 1 + k)
        self.matrix = task.columns(coded)  # X: (S, n, q)
        self.inverse, self.curved, self.trace = self._inverted(coded)
        self.has_changed = np.zeros(len(coded), dtype=bool)

    @property
    def coded(self) -> Floats:
        """The plans, (S, n, k)."""
        return self.padded[..., 1:]

    def _inverted(self, coded: Floats) -> tuple[Floats, Floats | None, Floats]:
        """Return A and B, (S, q, q), and trace(L A), (S,), of plans from scratch."""
        information, spread = self.task.information(coded), self.task.spread
        ridge = RIDGE * np.eye(information.shape[-1])
        inverse = np.asarray(np.linalg.inv(information + ridge), dtype=float)
        if spread is None:
            return inverse, None, np.zeros(len(coded))
        return inverse, inverse @ spread @ inverse, (inverse * spread).sum(axis=(1, 2))

    def take(self, move: Move) -> None:
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

    def _gain_of_row(self, move: Move, steps: Floats, pull: Floats) -> Floats:
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
        fall: Floats = spare * dbd + 2 * one * dbw - dad * wbw
        sound = np.maximum(ratio, 1 / JUMP)
        return np.where(ratio == sound, fall / sound / self.trace[:, None], -1.0)

    def _gain_of_unit(self, move: Move, steps: Floats, pulls: Floats) -> Floats:
        """Gain of moving r rows at once, the same with matrices of 2r for 2: (S, levels)."""
        inner = move.core + form_of(self.inverse, move, steps, pulls)
        ratio: Floats = np.abs(np.linalg.det(inner))
        if self.curved is None:
            return ratio - 1
        curved = form_of(self.curved, move, steps, pulls)
        inner[ratio < 1 / JUMP] = np.eye(inner.shape[-1])
        fall = (np.linalg.inv(inner) * curved).sum(axis=(-2, -1)) / self.trace[:, None]
        return np.where(ratio < 1 / JUMP, -1.0, fall)

    def _bar_forbidden(self, move: Move, gain: Floats) -> None:
        """Take levels that may not be planned out of the choice."""
        if self.task.allowed is None:
            return
        levels = self.task.levels[move.factor]
        tried = np.repeat(self.coded[:, None, move.rows], len(levels), axis=1)  # (S, L, r, k)
        tried[..., move.factor] = levels[:, None]
        gain[~self.task.is_allowed(tried).all(axis=2)] = -np.inf

    def _change(self, move: Move, start: Ints, level: Ints, steps: Floats, pulls: Floats) -> None:
        """Set the rows of the starts to the level and bring A and B up to date.

        A new = A - A U K^-1 U'A with U = [D', w'], K = [[0, 1], [1, -v]] + U'AU, and B likewise.
        """
        self.matrix[start[:, None, None], move.rows[:, None], move.columns] += steps
        chosen = self.task.levels[move.factor][level]
        self.padded[start[:, None], move.rows, 1 + move.factor] = chosen[:, None]
        self.has_changed[start] = True
        wide = np.zeros_like(pulls)
        wide[:, :, move.columns] = steps
        u = np.swapaxes(np.concatenate([wide, pulls], axis=1), 1, 2)  # (m, q, 2r)
        inner = move.core + np.swapaxes(u, 1, 2) @ self.inverse[start] @ u
        jump = np.abs(np.linalg.det(inner))
        sound = (jump > 1 / JUMP) & (jump < JUMP)
        self._update(start[sound], u[sound], inner[sound])
        self._renew(start[~sound])

    def _update(self, start: Ints, u: Floats, inner: Floats) -> None:
        inverse = self.inverse[start]
        y = inverse @ u
        half = y @ np.linalg.inv(inner)
        self.inverse[start] = inverse - half @ np.swapaxes(y, 1, 2)
        if self.curved is not None and self.task.spread is not None:
            t = self.curved[start] @ u
            cross = half @ np.swapaxes(t, 1, 2)
            square = half @ (np.swapaxes(u, 1, 2) @ t) @ np.swapaxes(half, 1, 2)
            self.curved[start] += square - cross - np.swapaxes(cross, 1, 2)
            self.trace[start] = (self.inverse[start] * self.task.spread).sum(axis=(1, 2))

    def _renew(self, start: Ints) -> None:
        if start.size:
            inverse, curved, self.trace[start] = self._inverted(self.coded[start])
            self.inverse[start] = inverse
            if self.curved is not None and curved is not None:
                self.curved[start] = curved
