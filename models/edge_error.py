"""A window -> the share of settings that it gets wrong, and what is left of it after more shots.

Around an edge a setting is taken wrongly in or out when the height of its surface over the limit is
off by more than it lies away. Over all marks that share is the standard deviation of the height,
times how densely the edge lies there, times a constant. A further shot lessens the deviations as in
linear regression, by what its reading tells and by which group it is in; so edges count, and the
middle of the window does not. This is prediction variance averaged over the settings (the
I-criterion of optimal plans), each setting weighted by how likely an edge runs through it. Edges
are looked for a little wider than the draws say, since shots sent to where a curve that is not
quite right puts an edge tell less. Marks outside of what was tried are given no answer, which is
wrong where they are likely good; a shot farther out brings them in.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.models.goodness import Curve, Goodness
from shotwindow.models.telling import reading_variance
from shotwindow.models.window import Region, Window

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

MARKS = 1200  # that are looked at, drawn from all allowed ones
BEYOND = 2.0  # scatters by which an edge may lie off besides: surfaces are not quite polynomials
WRONG = float(np.sqrt(2.0 / np.pi))  # area of the smaller tail, over all places of a normal height
LEAST = 1e-9


@dataclass(frozen=True)
class Edge:
    """What is known of one response at the marks.

    Attributes
    ----------
    curve : Curve
    rows : ndarray, shape (marks, terms)
    weight : ndarray, shape (marks,)
        How densely the edge lies there, for a unit of height, where all else is good.
    covariance : ndarray, shape (terms + groups, terms + groups)
        Of the surface's coefficients, and of the effects of temperature groups to be shot.
    """

    curve: Curve
    rows: Array
    weight: Array
    covariance: Array

    @property
    def variance(self) -> Array:
        """Variance of the height at the marks (marks,)."""
        known = self.covariance[: self.rows.shape[1], : self.rows.shape[1]]
        return np.asarray(((self.rows @ known) * self.rows).sum(axis=1))

    def reading(self, study: Study, settings: Array, group: Whole) -> tuple[Array, Array]:
        """Return what readings at settings (n, k) in groups (n,) share with all else.

        Returns
        -------
        ndarray, shape (n, terms + groups)
            Covariance of each reading with coefficients and groups.
        ndarray, shape (n,)
            Its variance.
        """
        surface, terms = self.curve.surface, self.rows.shape[1]
        row = np.zeros((len(settings), len(self.covariance)))
        row[:, :terms] = surface.design(settings)
        row[np.arange(len(settings)), terms + group] = 1.0
        shared = row @ self.covariance
        own = reading_variance(self.curve, study, settings)
        return shared, (shared * row).sum(axis=1) + own


@dataclass(frozen=True)
class EdgeError:
    """The share of all allowed marks that is taken wrongly, as far as is known.

    Attributes
    ----------
    study : Study
    marks : ndarray, shape (marks, k)
    edges : tuple of Edge
    region : Region
        Where shots were made.
    lost : ndarray, shape (marks,)
        By how much a mark would rather be answered, outside of the region.
    """

    study: Study
    marks: Array
    edges: tuple[Edge, ...]
    region: Region
    lost: Array

    @cached_property
    def now(self) -> float:
        """Share that is wrong with the shots so far."""
        wrong = sum(float(edge.weight @ np.sqrt(edge.variance)) for edge in self.edges)
        return (WRONG * wrong + self._unanswered(self.region)) / len(self.marks)

    def after(self, settings: Array, group: Whole) -> Array:
        """Return the share expected to be wrong after one more shot.

        Parameters
        ----------
        settings : ndarray, shape (n, k)
            Natural units.
        group : ndarray of int, shape (n,)
            Number of its temperature group among those to be shot, from zero.

        Returns
        -------
        ndarray, shape (n,)
        """
        wrong = np.zeros(len(settings))
        for edge in self.edges:
            shared, variance = edge.reading(self.study, settings, group)
            told = (shared[:, : edge.rows.shape[1]] @ edge.rows.T) ** 2 / variance[:, None]
            wrong += np.sqrt(np.maximum(edge.variance - told, 0.0)) @ edge.weight
        unanswered = np.full(len(settings), self._unanswered(self.region))
        if unanswered.any():
            for i in np.flatnonzero(~self.region.holds(settings)):
                unanswered[i] = self._unanswered(_reaching(self.region, settings[i]))
        return np.asarray((WRONG * wrong + unanswered) / len(self.marks))

    def with_shot(self, settings: Array, group: int) -> "EdgeError":
        """Return what is known after a shot at settings (k,) in a group."""
        edges = []
        for edge in self.edges:
            shared, variance = edge.reading(self.study, settings[None], np.array([group]))
            less = np.outer(shared[0], shared[0]) / variance[0]
            edges.append(replace(edge, covariance=edge.covariance - less))
        return replace(self, edges=tuple(edges), region=_reaching(self.region, settings))

    def _unanswered(self, region: Region) -> float:
        out = self.lost > 0.0
        return float(self.lost[out] @ ~region.holds(self.marks[out])) if out.any() else 0.0


def _reaching(region: Region, settings: Array) -> Region:
    """Return the region with a shot more, about the same center."""
    length = float(np.sqrt((((settings - region.center) @ region.root) ** 2).sum()))
    low, high = np.minimum(region.low, settings), np.maximum(region.high, settings)
    return replace(region, low=low, high=high, reach=max(region.reach, length))


def find_error(
    study: Study, window: Window, goodness: Goodness, region: Region, *, groups: int, seed: int = 1
) -> EdgeError:
    """Look at where the edges may run, over all marks or many of them.

    Parameters
    ----------
    study : Study
    window : Window
    goodness : Goodness
        Of the fitted surfaces.
    region : Region
        Where shots were made.
    groups : int
        Temperature groups that further shots may be in, the present one counted.
    seed : int
        Chooses the marks where there are too many.
    """
    allowed = np.flatnonzero(window.allowed)
    if allowed.size > MARKS:
        allowed = np.sort(generator(seed, "edge error").choice(allowed, MARKS, replace=False))
    marks = window.settings_of(allowed)
    margins = [_margin(curve, marks, study.good_from) for curve in goodness.curves]
    inside = [ndtr(mean / spread) for mean, spread in margins]
    every = np.prod(inside, axis=0)
    edges = []
    for (mean, spread), curve, good in zip(margins, goodness.curves, inside, strict=True):
        density = np.exp(-0.5 * (mean / spread) ** 2) / np.sqrt(2.0 * np.pi) / spread
        known = np.atleast_2d(np.cov(curve.surface.coefficients.T))
        between = float((curve.surface.group_sd**2).mean())
        covariance = np.zeros((len(known) + groups,) * 2)
        covariance[: len(known), : len(known)] = known
        covariance[len(known) :, len(known) :] = between * np.eye(groups)
        rows = curve.surface.design(marks)
        others = every / np.maximum(good, LEAST)
        edges.append(Edge(curve, rows, density * others, covariance))
    # answered, such a mark is wrong with the smaller chance; not answered it is with that of good
    lost = np.maximum(2.0 * every - 1.0, 0.0)
    return EdgeError(study, marks, tuple(edges), region, lost)


def _margin(curve: Curve, settings: Array, good_from: float) -> tuple[Array, Array]:
    """Mean and spread of how far settings lie within the window's edge, (n,)."""
    surface = curve.surface
    over = curve.over(settings) - float(ndtri(good_from)) * curve.width
    scatter = (surface.shot_sd**2 + surface.rest_sd**2).mean()
    return over.mean(axis=1), np.sqrt(over.var(axis=1) + BEYOND**2 * scatter)
