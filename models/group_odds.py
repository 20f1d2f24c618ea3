"""Shots that share temperature groups, and how groups scatter -> what their count really shows.

A count of good shots is judged by the binomial as if each shot were on its own. Shots of one
temperature group share how that group turned out: one heating that happens to suit the mold lets a
setting pass that would fail on most others. Which shots are good is taken to hang on a normal
effect of the group and a normal rest (the probit-normal mixture of clustered counts; Agresti,
Categorical Data Analysis, on random effects, from memory).
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.special import binom, ndtr, ndtri

from shotwindow.models.surface import Surfaces

Array = NDArray[np.float64]

NODES = np.linspace(-6.0, 6.0, 241)  # of a group's effect, in its own deviations
WEIGHTS = np.exp(-0.5 * NODES**2) / np.exp(-0.5 * NODES**2).sum()
MOST_BETWEEN = 0.999  # more cannot be told from all of it on so many nodes
HALVINGS = 30


def between_groups(surfaces: Surfaces) -> Array:
    """Return which part of the variance lies between groups, in each draw, shape (draws,).

    That of the response on which groups differ more; zero where no setting is slow.
    """
    parts = []
    for surface in (surfaces.fill, surfaces.flash):
        group, shot = surface.group_sd**2, surface.shot_sd**2 + surface.rest_sd**2
        parts.append(group / (group + shot))
    return np.asarray(max(parts, key=lambda part: float(part.mean())))


def pass_odds(share: float, groups: Sequence[int], failures: int, between: Array) -> float:
    """Return the chance that a setting shows no more than so many bad shots.

    Parameters
    ----------
    share : float
        Its true share of good shots, over all groups.
    groups : sequence of int
        Shots made in each temperature group.
    failures : int
        Bad shots that are allowed in all groups together.
    between : ndarray, shape (draws,)
        Part of the variance that lies between groups; the chance is the mean over it.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.group_odds import pass_odds
    >>> alone, half = np.array([0.0]), np.array([0.5])
    >>> [round(pass_odds(0.9, sizes, 0, half), 2) for sizes in ([22], [8, 7, 7], [1] * 22)]
    [0.47, 0.27, 0.1]
    >>> round(pass_odds(0.9, [22], 0, alone), 2)
    0.1
    """
    if not 0.0 < share < 1.0:
        return 1.0 if share > 0.0 else float(failures >= sum(groups))
    part = np.clip(between, 0.0, MOST_BETWEEN)[:, None]
    good = ndtr((ndtri(share) + np.sqrt(part) * NODES) / np.sqrt(1.0 - part))  # (draws, nodes)
    total = np.zeros((len(part), failures + 1))
    total[:, 0] = 1.0
    one = {size: _failing(good, size, failures) for size in set(groups)}
    for size in groups:
        total = np.stack(
            [(total[:, : k + 1] * one[size][:, k::-1]).sum(axis=1) for k in range(failures + 1)],
            axis=1,
        )
    return float(total.sum(axis=1).mean())


def _failing(good: Array, size: int, failures: int) -> Array:
    """Chance of 0, 1, ... bad shots in a group of a size, shape (draws, failures + 1)."""
    chances = [
        binom(size, k) * (good ** max(size - k, 0) * (1.0 - good) ** k) @ WEIGHTS
        for k in range(failures + 1)
    ]
    return np.stack(chances, axis=1)


def share_shown(failed: int, groups: Sequence[int], confidence: float, between: Array) -> float:
    """Return the share of good shots that is shown with a confidence, group scatter counted.

    The share that would give so few bad shots with a chance of ``1 - confidence`` only. With
    nothing between groups it is Clopper and Pearson's lower limit.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.group_odds import share_shown
    >>> alone, half = np.array([0.0]), np.array([0.5])
    >>> [round(share_shown(0, sizes, 0.9, half), 2) for sizes in ([22], [8, 7, 7])]
    [0.63, 0.81]
    >>> round(share_shown(0, [22], 0.9, alone), 2)
    0.9
    """
    if failed >= sum(groups):
        return 0.0
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        if pass_odds(middle, groups, failed, between) <= 1.0 - confidence:
            low = middle
        else:
            high = middle
    return low
