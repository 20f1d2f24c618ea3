"""Coordinate exchange: a task into the plans that answer it best.

Each step changes one coordinate of one shot (or of all shots that share a slow setting) to the
level that helps most, until nothing helps. All starts advance together: every array has the
start as its first axis.
Exchanging coordinates is the idea of R. K. Meyer and C. J. Nachtsheim, Technometrics 37 (1995) 60
(from memory).

How the plans under way are kept is in `shotwindow.doe.updates`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.moves import moves_of
from shotwindow.doe.progress import tell
from shotwindow.doe.tasks import Task, random_plans
from shotwindow.doe.updates import State

Floats = NDArray[np.float64]

PASSES = 60
# Coordinates looked at in one go: of few starts many, or the time goes into calls; of many starts
# few, or it goes into looking again after a change.
TOGETHER = 4
LOOKED_AT = 200
# Of what is left to do a pass does about this share: so it was over eight factors and 50 shots.
OF_A_PASS = 0.1


@dataclass(frozen=True)
class Found:
    """Plans found, best first: coded settings (starts, n, k) and the loss of each (starts,)."""

    coded: Floats
    loss: Floats


def exchange(task: Task, starts: int, rng: np.random.Generator, *, passes: int = PASSES) -> Found:
    """Improve random plans until no single change helps; return them best first.

    Parameters
    ----------
    task
        What is to be chosen.
    starts
        Number of random plans to start from, all improved at the same time.
    rng
        Where the random plans come from: the same generator gives the same plans.
    passes
        Rounds over all coordinates at most; few do not reach the end, but much of the way.

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
    return improve(task, random_plans(task, starts, rng), passes=passes)


def improve(task: Task, coded: Floats, *, passes: int = PASSES) -> Found:
    """Improve the given plans (starts, n, k) until no single change helps; best first."""
    coded = coded.copy()
    moves = moves_of(task, max(TOGETHER, LOOKED_AT // len(coded)))
    live = np.arange(len(coded))
    for count in range(passes):
        tell(_done(live.size / len(coded), count))
        state = State(task, coded[live])
        for move in moves:
            state.take(move)
        coded[live] = state.coded
        live = live[state.has_changed]
        if not live.size:
            break
    tell(1.0)
    loss = task.loss(coded)
    order = np.argsort(loss, kind="stable")
    return Found(coded[order], loss[order])


def _done(live: float, passes: int) -> float:
    """Return about how much of the work is done: all for starts at their end, some for the rest."""
    return 1 - live * (1 - OF_A_PASS) ** passes
