"""A density -> where sets of scales are proposed, and what stands for readings still to come."""

from collections.abc import Callable
from dataclasses import dataclass
from math import lgamma

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv, ndtri

from shotwindow.models.even_points import together_even
from shotwindow.models.matching import Factors, factors
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]
Foreseen = Callable[[Array], Factors]  # sets of scales to stand-ins of the readings

FREEDOM = 10.0  # degrees of freedom of the proposals: tails heavier than those of the scales


@dataclass(frozen=True)
class Shape:
    """Multivariate t distribution of scales: ``center + root t``."""

    center: Array
    root: Array

    def draw(self, count: int, rng: np.random.Generator) -> Array:
        """Return sets of scales, (scales, count)."""
        even = together_even(self.center.size + 1, count, rng)
        chi_square = 2.0 * gammaincinv(0.5 * FREEDOM, even[-1])
        away = self.root @ ndtri(even[:-1]) / np.sqrt(chi_square / FREEDOM)
        return np.asarray(self.center[:, None] + away)

    def standard(self, scales: Array) -> Array:
        """Return scales (scales, count) as steps from the center in units of the root."""
        return np.asarray(np.linalg.solve(self.root, scales - self.center[:, None]), dtype=float)

    def log_density(self, scales: Array) -> Array:
        """Return the log density of scales (scales, count), (count,)."""
        size = self.center.size
        squares = (self.standard(scales) ** 2).sum(axis=0)
        constant = lgamma(0.5 * (FREEDOM + size)) - lgamma(0.5 * FREEDOM)
        constant -= 0.5 * size * np.log(FREEDOM * np.pi) + np.linalg.slogdet(self.root)[1]
        return np.asarray(constant - 0.5 * (FREEDOM + size) * np.log1p(squares / FREEDOM))


@dataclass(frozen=True)
class StandIns:
    """Normal factors for any scales, from a few sets of scales by straight lines."""

    density: Density
    shape: Shape
    log_precision: Array
    middle: Array

    def at(self, scales: Array) -> Factors:
        """Return the factors for scales (scales, columns)."""
        straight = np.vstack([np.ones(scales.shape[1]), self.shape.standard(scales)]).T
        # far out a straight line says nothing any more, but no reading can say more than its
        # scatter lets it; the factors only guide the particles, so that either is no mistake
        log = self.density.logs(scales)
        most = -2.0 * (log["scatter"] + log["cavity_ratio"])[:, None]
        precision = np.exp(np.minimum(np.maximum(straight @ self.log_precision, -30.0), most))
        return Factors(precision, precision * (straight @ self.middle))


def straight_stand_ins(density: Density, shape: Shape, rng: np.random.Generator) -> StandIns:
    """Match factors at a few sets of scales around a shape and lay straight lines through them."""
    nodes = 1.3 * ndtri(together_even(shape.center.size, 24, rng))
    nodes[:, 0] = 0.0
    # straight lines are off by more than the last rounds would change
    found = factors(density, shape.center[:, None] + shape.root @ nodes, rounds=8)
    straight = np.vstack([np.ones(nodes.shape[1]), nodes]).T
    precision = np.maximum(found.precision, 1e-8)
    both = np.hstack([np.log(precision), found.shift / precision])
    lines = np.asarray(np.linalg.lstsq(straight, both, rcond=None)[0], dtype=float)
    readings = precision.shape[1]
    return StandIns(density, shape, lines[:, :readings], lines[:, readings:])
