"""A density -> the most probable scales, and how far they may lie from there.

The rest of the parameters is integrated out by normal factors that stand for the readings. The
density of the few scales alone that is left has a maximum that, unlike that of all parameters
together, does not run off to vanishing scatter, and it is nearly right with readings that are open
on one side, where a normal shape around the most probable rest is far off.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.matching import Factors, factors, log_evidence
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]

STEP = 0.2  # of differences, in spreads of the prior
FIRST, AGAIN = 5, 3  # rounds of matching, from nothing and from factors nearby
FARTHEST = 1.5  # spreads that are gone at once
MOVES = 20
SMALL_GAIN, SMALL_MOVE = 0.02, 0.05  # in logs, and in spreads: near enough


@dataclass(frozen=True)
class Peak:
    """Most probable scales, and a square root of their covariance."""

    scales: Array
    root: Array


class _Around:
    """The density of the scales around the place that was reached."""

    def __init__(self, density: Density) -> None:
        self.density, self.spread = density, np.minimum(density.log_spread, 1.0)
        self.center = density.log_median.copy()
        self.found: Factors | None = None  # of the center

    def values(self, stencil: Array) -> Array:
        """Log density at places around the center, (places,), the first being the center."""
        density, found = self.density, self.found
        scales = self.center[:, None] + self.spread[:, None] * stencil
        if found is not None:
            found = Factors(*(np.repeat(f, stencil.shape[1], axis=0) for f in found))
        found = factors(density, scales, rounds=FIRST if found is None else AGAIN, start=found)
        self.found = Factors(found.precision[:1], found.shift[:1])
        away = (scales - density.log_median[:, None]) / density.log_spread[:, None]
        return np.asarray(log_evidence(density, scales, found) - 0.5 * (away**2).sum(axis=0))


def _stencil(size: int) -> tuple[Array, list[tuple[int, int]]]:
    """Places around zero from which slopes and second derivatives follow, shape (size, places)."""
    unit = STEP * np.eye(size)
    pairs = [(i, j) for i in range(size) for j in range(i)]
    crossed = [unit[i] + unit[j] for i, j in pairs] + [-unit[i] - unit[j] for i, j in pairs]
    return np.array([np.zeros(size), *unit, *(-unit), *crossed]).T, pairs


def _along(values: Array, size: int) -> tuple[Array, Array]:
    """Slope and second derivative along each axis."""
    center, up, down = values[0], values[1 : 1 + size], values[1 + size : 1 + 2 * size]
    return (up - down) / (2.0 * STEP), (up + down - 2.0 * center) / STEP**2


def _second(values: Array, size: int, pairs: list[tuple[int, int]]) -> Array:
    """All second derivatives, (size, size)."""
    center, up, down = values[0], values[1 : 1 + size], values[1 + size : 1 + 2 * size]
    second = np.diag(_along(values, size)[1])
    crossed = values[1 + 2 * size :].reshape(2, -1)
    for k, (i, j) in enumerate(pairs):
        both = crossed[0, k] + crossed[1, k] - up[i] - down[i] - up[j] - down[j] + 2.0 * center
        second[i, j] = second[j, i] = both / (2.0 * STEP**2)
    return second


def peak(density: Density) -> Peak:
    """Newton steps on the density of the scales, by differences along each, at last across them."""
    at = _Around(density)
    size, reached = at.spread.size, -np.inf
    stencil, pairs = _stencil(size)
    near = stencil[:, : 1 + 2 * size]
    for _ in range(MOVES):
        values = at.values(near)
        slope, second = _along(values, size)
        gain, reached = values[0] - reached, values[0]
        move = slope / np.clip(np.abs(second), 0.3, None)
        move *= min(1.0, FARTHEST / max(float(np.linalg.norm(move)), 1e-12))
        if gain < 0:  # the last step went too far: on to the best place nearby
            move = near[:, int(np.argmax(values))]
        if abs(gain) < SMALL_GAIN or np.linalg.norm(move) < SMALL_MOVE:
            break
        at.center = at.center + at.spread * move
    roots, basis = np.linalg.eigh(-_second(at.values(stencil), size, pairs))
    # flatter than the prior is not possible but for rounding
    return Peak(at.center, at.spread[:, None] * basis / np.sqrt(np.clip(roots, 0.7, None)))
