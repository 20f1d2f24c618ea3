"""Shots taken in together, and what stands for their readings until then.

The effect of a shot touches the readings of that shot alone. It is integrated out, so that what is
carried along is only what several shots share.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.matching import Factors
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]
Whole = NDArray[np.intp]

TOGETHER = 8  # readings between two changes of the covariance, which is the dearest step


def taking_order(density: Density) -> list[Whole]:
    """Readings in the order in which they are taken in, those of a few shots together.

    The shots that say most come first, and in each the exact and narrow readings.
    """
    data = density.data
    closed = np.isfinite(data.low) & np.isfinite(data.high)
    shots = [np.flatnonzero(data.shot == s) for s in range(data.shots)]
    shots = [rows[np.argsort(~closed[rows], kind="stable")] for rows in shots if rows.size]
    shots.sort(key=lambda rows: -int(closed[rows].sum()))
    at_once = max(1, TOGETHER // data.cavities)
    return [np.concatenate(shots[i : i + at_once]) for i in range(0, len(shots), at_once)]


class FewShots(NamedTuple):
    """The stand-ins of a few shots once the effects of these are integrated out, for each column.

    With ``zeta`` the means of the readings but for the effects, they weigh
    ``exp(-zeta precision zeta / 2 + shift zeta)``; the effect of a shot is then normal with
    variance ``share`` and mean ``share (sum h - sum p zeta)`` over its readings, p and h being
    those of the stand-ins.
    """

    readings: Whole
    same: Array  # (readings, readings): one where both are of the same shot, zero elsewhere
    precision: Array  # (columns, readings, readings)
    shift: Array  # (columns, readings)
    share: Array  # (columns, readings), the same for all readings of a shot
    log_mass: Array  # (columns,)


def few_shots(density: Density, readings: Whole, stand_in: Factors, effect: Array) -> FewShots:
    """Stand-ins of the readings of a few shots, the effects of the shots integrated out.

    Parameters
    ----------
    density : Density
    readings : ndarray of int
        All readings of these shots.
    stand_in : Factors
        For each column, normal factors of all readings.
    effect : ndarray, shape (columns,)
        Variance of the effects; zero where a shot has but one reading.
    """
    shot = density.data.shot[readings]
    same = np.equal(shot[:, None], shot).astype(np.float64)
    p, h = stand_in.precision[:, readings], stand_in.shift[:, readings]
    one = 1.0 + effect[:, None] * (p @ same)
    share, pull = effect[:, None] / one, h @ same
    precision = (np.eye(readings.size) - same * (share * p)[:, None, :]) * p[:, :, None]
    each = 0.5 * (share * pull**2 - np.log(one)) / same.sum(axis=0)
    return FewShots(readings, same, precision, h - share * pull * p, share, each.sum(axis=1))
