"""Findings -> chances over marks of one factor or two, also at those that the window left out."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.thinning import thinned
from shotwindow.reports.findings import Findings

Array = NDArray[np.float64]
Factors = tuple[Factor, ...]

MOST = 5000  # marks; of a map of more of them some, evenly spread, tell as much
TOGETHER = 256  # settings, as many as the processor's cache holds with all draws


def marks_over(
    found: Findings, axes: tuple[int, ...], at: tuple[float, ...] | None = None
) -> tuple[Factors, Array]:
    """Return some factors with their marks, and the chance to be in the window at each.

    One axis a factor, in the order of ``axes``. The others are at the settings ``at`` (k,), else at
    the best mark. A chance is not a number where there is no answer.
    """
    assert found.window is not None and found.best is not None  # else there is no map
    own = tuple(found.study.factors[j] for j in axes)
    kept = tuple(found.window.factors[j].count for j in axes)
    if at is None and kept == tuple(factor.count for factor in own):
        place = tuple(slice(None) if j in axes else mark for j, mark in enumerate(found.best))
        plane = found.window.probability_in_window[place]
        return own, plane.transpose(np.argsort(np.argsort(axes)))
    own = thinned(replace(found.study, factors=own), MOST).factors
    grids = np.meshgrid(*(f.marks for f in own), indexing="ij")
    settings = np.tile(found.best_settings if at is None else at, (grids[0].size, 1))
    for j, grid in zip(axes, grids, strict=True):
        settings[:, j] = grid.ravel()
    return own, _chances(found, settings).reshape(grids[0].shape)


def _chances(found: Findings, settings: Array) -> Array:
    """Chance of settings (n, k) to be in the window."""
    chances = np.full(len(settings), np.nan)
    answered = np.flatnonzero(found.region.holds(settings) & found.study.allowed(settings))
    for rows in np.split(answered, range(TOGETHER, answered.size, TOGETHER)):
        reached = found.goodness.shares(settings[rows]) >= np.float32(found.study.good_from)
        chances[rows] = reached.mean(axis=1, dtype=np.float32)  # rounded as in the window
    return chances


def marks_along(found: Findings, j: int) -> tuple[Factor, Array]:
    """Return factor ``j`` with its marks and the chance at each, (marks,); see `marks_over`."""
    (factor,), chances = marks_over(found, (j,))
    return factor, chances


def own_place(found: Findings) -> tuple[int, ...]:
    """Return the best mark by its number among all marks of each factor."""
    return tuple(
        int(np.abs(factor.marks - here).argmin())
        for factor, here in zip(found.study.factors, found.best_settings, strict=True)
    )
