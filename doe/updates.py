"""Plans under way and their inverse information matrices, changed by one move after the other.

With W = V^-1, row i of X moved by d changes M = X'WX by d w' + w d' + v d d', where w is row i
of WX before the move and v = W[i, i]. So with A = M^-1 and B = A L A

    |M new| / |M| = r = (1 + d'Aw)^2 + d'Ad (v - w'Aw)
    trace(L A) falls by [(v - w'Aw) d'Bd + 2 (1 + d'Aw) d'Bw - d'Ad w'Bw] / r.

The formulas follow from the determinant lemma and are tested against plain ones. A change of rank
two keeps A and B up to date.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.moves import Move, Run, form_of
from shotwindow.doe.tasks import Task
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


class _Change(NamedTuple):
    """What is changed in m plans; arrays may have 1 in place of m."""

    rows: Ints  # (m, r)
    columns: Ints  # (m, c)
    factor: Ints  # (m,)
    chosen: Floats  # level that the factor is set to: (m,)
    steps: Floats  # d of each row: (m, r, c)
    pulls: Floats  # w of each row: (m, r, q)
    core: Floats  # (m, 2r, 2r)


class State:
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

    def take(self, move: Move | Run) -> None:
        """Make the best change of each coordinate, one after the other, in plans that it helps."""
        if isinstance(move, Move):
            self._take_unit(move)
            return
        start = np.arange(len(self.padded))
        behind = np.zeros((len(start), 1), dtype=int)
        while start.size:  # what stands behind a change is looked at again
            gain, steps, pulls = self._gain_of_run(move, start)
            helps = (gain.max(axis=2) > LEAST_GAIN) & (np.arange(len(move.rows)) >= behind)
            some = np.flatnonzero(helps.any(axis=1))
            which = helps[some].argmax(axis=1)
            level = gain[some, which].argmax(axis=1)
            start, behind = start[some], which[:, None] + 1
            change = _Change(
                rows=move.rows[which, None],
                columns=move.columns[which],
                factor=move.factors[which],
                chosen=move.levels[which, level],
                steps=steps[some, which, level][:, None],
                pulls=pulls[some, which][:, None],
                core=move.cores[which],
            )
            self._make(change, start)
            left = behind[:, 0] < len(move.rows)
            start, behind = start[left], behind[left]

    def _gain_of_run(self, run: Run, start: Ints) -> tuple[Floats, Floats, Floats]:
        """Return the gain (m, M, levels) of each coordinate of a run in some plans, d and w."""
        whole = start.size == len(self.padded)
        some = slice(None) if whole else start[:, None]
        padded, matrix = self.padded[some, run.block], self.matrix[some, run.block]
        place = run.places[:, None]
        rest = padded[:, place, run.others[0]]  # (m, M, c)
        for other in run.others[1:]:
            rest = rest * padded[:, place, other]
        steps = rest[:, :, None] * run.raised - matrix[:, place, run.columns][:, :, None]
        pulls = run.weights @ matrix  # (m, M, q)
        some = slice(None) if whole else start
        curved = None if self.curved is None else self.curved[some]
        gain = _gains(run, (self.inverse[some], curved, self.trace[some]), steps, pulls)
        if self.task.allowed is not None:
            tried = np.repeat(padded[:, run.places, None, 1:], run.levels.shape[1], axis=2)
            tried[:, np.arange(len(run.rows)), :, run.factors] = run.levels[:, None]
            gain[~self.task.is_allowed(tried)] = -np.inf
        return gain, steps, pulls

    def _take_unit(self, move: Move) -> None:
        """Make the best change of a coordinate that several shots share."""
        rest = product_of(self.padded[:, move.rows], move.others)  # (S, r, c)
        old = self.matrix[:, move.rows[:, None], move.columns]
        steps = rest[:, None] * move.raised[:, None] - old[:, None]  # d: (S, levels, r, c)
        pulls = move.weights @ self.matrix[:, move.block]  # w of each row: (S, r, q)
        gain = self._gain_of_unit(move, steps, pulls)
        level = gain.argmax(axis=1)
        start = np.flatnonzero(gain.max(axis=1) > LEAST_GAIN)
        change = _Change(
            rows=move.rows[None],
            columns=move.columns[None],
            factor=np.array([move.factor]),
            chosen=self.task.levels[move.factor][level[start]],
            steps=steps[start, level[start]],
            pulls=pulls[start],
            core=move.core[None],
        )
        self._make(change, start)

    def _gain_of_unit(self, move: Move, steps: Floats, pulls: Floats) -> Floats:
        """Gain of moving r rows at once, the same with matrices of 2r for 2: (S, levels)."""
        inner = move.core + form_of(self.inverse, move, steps, pulls)
        ratio: Floats = np.abs(np.linalg.det(inner))
        gain = ratio - 1
        if self.curved is not None:
            curved = form_of(self.curved, move, steps, pulls)
            inner[ratio < 1 / JUMP] = np.eye(inner.shape[-1])
            fall = (np.linalg.inv(inner) * curved).sum(axis=(-2, -1)) / self.trace[:, None]
            gain = np.where(ratio < 1 / JUMP, -1.0, fall)
        if self.task.allowed is not None:
            levels = self.task.levels[move.factor]
            tried = np.repeat(self.coded[:, None, move.rows], len(levels), axis=1)  # (S, L, r, k)
            tried[..., move.factor] = levels[:, None]
            gain[~self.task.is_allowed(tried).all(axis=2)] = -np.inf
        return gain

    def _make(self, change: _Change, start: Ints) -> None:
        """Make a change in these plans and bring A and B up to date.

        A new = A - A U K^-1 U'A with U = [D', w'], K = [[0, 1], [1, -v]] + U'AU, and B likewise.
        """
        if not start.size:
            return
        place = (start[:, None, None], change.rows[:, :, None], change.columns[:, None])
        self.matrix[place] += change.steps
        factor = 1 + change.factor[:, None]
        self.padded[start[:, None], change.rows, factor] = change.chosen[:, None]
        self.has_changed[start] = True
        wide = np.zeros_like(change.pulls)
        plans, rows = np.arange(len(start))[:, None, None], np.arange(wide.shape[1])[:, None]
        wide[plans, rows, change.columns[:, None]] = change.steps
        u = np.swapaxes(np.concatenate([wide, change.pulls], axis=1), 1, 2)  # (m, q, 2r)
        inverse = self.inverse[start]
        inner = change.core + np.swapaxes(u, 1, 2) @ inverse @ u
        jump = np.abs(np.linalg.det(inner))
        sound = (jump > 1 / JUMP) & (jump < JUMP)
        if sound.all():
            self._update(start, u, inner)
            return
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
        inverse, curved, self.trace[start] = self._inverted(self.coded[start])
        self.inverse[start] = inverse
        if self.curved is not None and curved is not None:
            self.curved[start] = curved


def _gains(
    run: Run, known: tuple[Floats, Floats | None, Floats], steps: Floats, pulls: Floats
) -> Floats:
    """Gain of moving each row of a run by d alone, by the formulas above: (m, M, levels)."""
    inverse, curved, trace = known
    corner = (slice(None), run.columns[:, :, None], run.columns[:, None])
    own = (slice(None), np.arange(len(run.rows))[:, None], run.columns)
    aw = pulls @ inverse
    spare = (run.within - (pulls * aw).sum(axis=2))[:, :, None]
    dad = ((steps @ inverse[corner]) * steps).sum(axis=3)
    one = 1 + (steps @ aw[own][..., None])[..., 0]
    ratio: Floats = one**2 + dad * spare
    if curved is None:
        return ratio - 1
    bw = pulls @ curved
    dbd = ((steps @ curved[corner]) * steps).sum(axis=3)
    dbw = (steps @ bw[own][..., None])[..., 0]
    wbw = (pulls * bw).sum(axis=2)[:, :, None]
    fall: Floats = spare * dbd + 2 * one * dbw - dad * wbw
    sound = np.maximum(ratio, 1 / JUMP)
    return np.where(ratio == sound, fall / sound / trace[:, None, None], -1.0)
