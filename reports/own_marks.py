"""Findings -> one factor with every mark that can be set, also those that the window left out."""

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.reports.findings import Findings

Array = NDArray[np.float64]


def marks_along(found: Findings, j: int) -> tuple[Factor, Array]:
    """Return factor ``j`` with all its marks and the chance to be in the window at each, (marks,).

    The other factors are at the best mark. A chance is not a number where there is no answer.
    """
    assert found.window is not None and found.best is not None  # else there is no line
    own = found.study.factors[j]
    if own.count == found.window.factors[j].count:
        place = tuple(slice(None) if i == j else mark for i, mark in enumerate(found.best))
        return own, found.window.probability_in_window[place]
    settings = np.tile(found.best_settings, (own.count, 1))
    settings[:, j] = own.marks
    answered = found.region.holds(settings) & found.study.allowed(settings)
    chances = np.full(own.count, np.nan)
    shares = found.goodness.shares(settings[answered])
    reached = shares >= np.float32(found.study.good_from)
    chances[answered] = reached.mean(axis=1, dtype=np.float32)  # rounded as in the window
    return own, chances


def own_place(found: Findings) -> tuple[int, ...]:
    """Return the best mark by its number among all marks of each factor."""
    return tuple(
        int(np.abs(factor.marks - here).argmin())
        for factor, here in zip(found.study.factors, found.best_settings, strict=True)
    )
