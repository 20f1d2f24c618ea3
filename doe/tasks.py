"""What an optimal plan is asked for: terms, levels and scatter into a loss of each plan.

With the information M = X' V^-1 X + prior, (q, q), a plan's loss is the mean variance of prediction
over a region, trace(L M^-1) with L the mean of f f' there (I-optimal), or |M|^(-1/q) (D-optimal).
Both are variances: a plan with half the loss is worth twice the shots.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.terms import Terms

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Task:
    """What is to be chosen and by which measure; all settings coded.

    Parameters
    ----------
    terms
        The p terms of the model.
    levels
        Levels that each of the k factors may take.
    weights
        V^-1, shape (n, n): inverse covariance of the n shots, shot scatter 1.
    moments
        Mean of f f' over the region, (p, p): the plan is then chosen for the smallest mean
        variance of prediction. Absent: for the largest determinant.
    prior
        Information there is already, shape (q, q): of shots made before, or of a prior.
    beside
        Columns that stand beside the terms and are not chosen, such as blocks: (n, q - p).
    slow
        True for each factor that is set once a unit, (k,).
    unit
        Number of the unit of each shot, (n,): shots of one unit share all slow settings.
    allowed
        Tells for coded settings (m, k) which may be planned.
    given
        Settings that are not to be chosen, (n, k); NaN where they are.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.tasks import Task
    >>> from shotwindow.doe.terms import first_order
    >>> task = Task(first_order(("pressure",)), (np.array([-1.0, 1.0]),), np.eye(2))
    >>> float(task.loss(np.array([[-1.0], [1.0]])))
    0.5
    """

    terms: Terms
    levels: tuple[Floats, ...]
    weights: Floats
    moments: Floats | None = None
    prior: Floats | None = None
    beside: Floats | None = None
    slow: tuple[bool, ...] | None = None
    unit: tuple[int, ...] | None = None
    allowed: Callable[[Floats], NDArray[np.bool_]] | None = None
    given: Floats | None = None

    @property
    def shots(self) -> int:
        """Number n of shots to choose."""
        return len(self.weights)

    @cached_property
    def slow_factors(self) -> tuple[int, ...]:
        """Positions of the factors that are set once a unit."""
        return tuple(j for j, is_slow in enumerate(self.slow or ()) if is_slow)

    @cached_property
    def units(self) -> NDArray[np.int_]:
        """Number 0, 1, ... of the unit of each shot, (n,); every shot its own by default."""
        given = range(self.shots) if self.unit is None else self.unit
        return np.unique(np.array(given), return_inverse=True)[1]

    @cached_property
    def is_free(self) -> NDArray[np.bool_]:
        """Return which settings are to be chosen, (n, k)."""
        if self.given is None:
            return np.ones((self.shots, len(self.levels)), dtype=bool)
        return np.isnan(self.given)

    @cached_property
    def spread(self) -> Floats | None:
        """Moments padded with zeros to (q, q): blocks do not count in a prediction."""
        if self.moments is None or self.beside is None:
            return self.moments
        return np.pad(self.moments, (0, self.beside.shape[1]))

    def columns(self, coded: Floats) -> Floats:
        """Return the model matrix with the columns beside it, (..., n, q)."""
        matrix = self.terms.matrix(coded)
        if self.beside is None:
            return matrix
        shape = (*matrix.shape[:-1], self.beside.shape[1])
        return np.concatenate([matrix, np.broadcast_to(self.beside, shape)], axis=-1)

    def information(self, coded: Floats) -> Floats:
        """Return M = X' V^-1 X + prior, (..., q, q)."""
        matrix = self.columns(coded)
        found: Floats = np.swapaxes(matrix, -1, -2) @ (self.weights @ matrix)
        return found if self.prior is None else found + self.prior

    def loss(self, coded: Floats) -> Floats:
        """Return what is made small for plans (..., n, k); infinite where terms are confounded."""
        information = self.information(coded)
        values = np.linalg.eigvalsh(information)
        regular = values[..., 0] > 1e-9 * values[..., -1]
        loss = np.full(regular.shape, np.inf)
        if self.spread is None:
            loss[regular] = np.exp(-np.log(values[regular]).mean(axis=-1))
        else:
            inverse = np.linalg.inv(information[regular])
            loss[regular] = (inverse * self.spread).sum(axis=(-2, -1))
        return loss

    def is_allowed(self, coded: Floats) -> NDArray[np.bool_]:
        """Return which of the settings (..., k) may be planned, (...)."""
        if self.allowed is None:
            return np.ones(coded.shape[:-1], dtype=bool)
        flat = coded.reshape(-1, coded.shape[-1])
        return self.allowed(flat).reshape(coded.shape[:-1])


def random_plans(task: Task, starts: int, rng: np.random.Generator) -> Floats:
    """Draw plans (starts, n, k) from the levels: allowed, each unit with one slow setting.

    Raises
    ------
    ValueError
        If no allowed setting turned up in many tries.
    """
    coded = _draw(task, (starts, task.shots), rng)
    for _ in range(500):
        missing = ~task.is_allowed(coded)
        if not missing.any():
            break
        coded[missing] = _draw(task, (int(missing.sum()),), rng)
    else:
        raise ValueError("no allowed setting was found among the levels")
    opening = np.unique(task.units, return_index=True)[1][task.units]
    whole = coded[:, opening]  # the setting of the first shot of the same unit
    is_slow = np.isin(np.arange(len(task.levels)), task.slow_factors)
    shared = np.where(is_slow, whole, coded)
    # where the unit's slow setting forbids the shot's fast one, repeat the unit's first shot
    drawn = np.where(task.is_allowed(shared)[..., None], shared, whole)
    return drawn if task.given is None else np.where(task.is_free, drawn, task.given)


def block_columns(blocks: Sequence[str]) -> Floats:
    """Return one centered column for each block but the first, (n, b - 1)."""
    names = list(dict.fromkeys(blocks))
    columns = np.array([[float(block == name) for name in names[1:]] for block in blocks])
    columns = columns.reshape(len(blocks), len(names) - 1)
    return np.asarray(columns - columns.mean(axis=0), dtype=float)


def _draw(task: Task, shape: tuple[int, ...], rng: np.random.Generator) -> Floats:
    return np.stack([rng.choice(levels, shape) for levels in task.levels], axis=-1)


def grouped_weights(group: NDArray[np.int_], eta: float) -> Floats:
    """Return V^-1 for shots in groups whose offsets scatter: V = I + eta Z Z'.

    Parameters
    ----------
    group
        Number of the group of each shot, (n,).
    eta
        Variance between groups over variance between shots of one group.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.tasks import grouped_weights
    >>> grouped_weights(np.array([1, 1, 2]), 1.0).round(3).tolist()
    [[0.667, -0.333, 0.0], [-0.333, 0.667, 0.0], [0.0, 0.0, 0.5]]
    """
    together = (group[:, None] == group).astype(float)
    weights: Floats = np.eye(len(group)) - together * eta / (1.0 + eta * together.sum(axis=1))
    return weights
