"""A setpoint with its ranges and a demand -> the shots that would confirm it, and their chance.

Fresh shots at the setpoint show a share of good shots by counting alone. A few more at the corners
of the ranges where most is asked of the mold challenge the ranges.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtrc

from shotwindow.doe.factors import Factor
from shotwindow.doe.groups import slow_positions
from shotwindow.doe.study import Study
from shotwindow.models.confirmation import shots_to_show
from shotwindow.models.goodness import Goodness
from shotwindow.models.new_shots import new_good
from shotwindow.models.setpoint import Ranges

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]

CORNERS = 4
BROKEN = 0.05  # so many failures at the corners are less likely than this if the ranges hold


@dataclass(frozen=True)
class Demand:
    """What is to be shown.

    Attributes
    ----------
    reliability : float
        Share of good shots at the setpoint.
    confidence : float
    failures : int
        How many of the shots at the setpoint may be bad.
    groups : int
        Temperature groups (or days) over which they are spread.
    """

    reliability: float
    confidence: float
    failures: int = 0
    groups: int = 1

    @property
    def shots(self) -> int:
        """Number of shots at the setpoint."""
        return shots_to_show(self.reliability, self.confidence, self.failures)


@dataclass(frozen=True)
class Challenge:
    """Confirmation shots in running order.

    Attributes
    ----------
    settings : ndarray, shape (n, k)
        On marks, natural units.
    group : ndarray of int, shape (n,)
        From one; every one of them is a fresh temperature group.
    corner : ndarray of bool, shape (n,)
        Whether the shot is at a corner of the ranges rather than at the setpoint.
    """

    settings: Array
    group: Whole
    corner: Flags


def worst_corners(
    goodness: Goodness, factors: tuple[Factor, ...], ranges: Ranges, *, most: int = CORNERS
) -> Array:
    """Return the corners of the ranges where a bad shot is likeliest, shape (at most `most`, k).

    The one most likely short and the one most likely flashed come first, whatever the others are.
    """
    ends = [
        sorted({float(f.marks[a]), float(f.marks[b])})
        for f, a, b in zip(factors, ranges.low, ranges.high, strict=True)
    ]
    corners = np.array(list(product(*ends)))
    by_response = [np.min([s.mean(axis=1) for s in c.shares(corners)], axis=0)
                   for c in goodness.curves]  # fmt: skip
    first = [int(share.argmin()) for share in by_response]
    rest = np.argsort(goodness.probability_good(corners), kind="stable").tolist()
    return np.asarray(corners[list(dict.fromkeys([*first, *rest]))[:most]])


def plan_challenge(study: Study, setpoint: Array, corners: Array, demand: Demand) -> Challenge:
    """Return the shots in running order: the setpoint in its groups, then the corners.

    Parameters
    ----------
    study : Study
    setpoint : ndarray, shape (k,)
    corners : ndarray, shape (c, k)
    demand : Demand
        Its shots are dealt to the groups as evenly as can be.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.models.challenge import Demand, plan_challenge
    >>> text = "[factors.pressure]{n}unit = 'bar'{n}low = 1{n}high = 5{n}step = 0.5"
    >>> study = parse_study(text.format(n=chr(10)))
    >>> made = plan_challenge(study, np.array([3.0]), np.array([[2.0], [4.0]]), Demand(0.5, 0.9))
    >>> made.settings.ravel().tolist(), made.corner.tolist()
    ([3.0, 3.0, 3.0, 3.0, 2.0, 4.0], [False, False, False, False, True, True])
    """
    slow = list(slow_positions(study))
    count = demand.shots
    dealt = np.arange(count) * min(demand.groups, count) // count + 1
    if not len(corners):
        return Challenge(np.tile(setpoint, (count, 1)), dealt, np.zeros(count, dtype=bool))
    # corners of one slow setting together, in each the lowest first
    order = np.lexsort(corners.T[[*reversed(range(corners.shape[1])), *reversed(slow)]])
    corners = corners[order]
    changes = np.any(np.diff(np.vstack([setpoint, corners])[:, slow], axis=0) != 0, axis=1)
    return Challenge(
        settings=np.vstack([np.tile(setpoint, (count, 1)), corners]),
        group=np.concatenate([dealt, dealt[-1] + np.cumsum(changes)]),
        corner=np.repeat([False, True], [count, len(corners)]),
    )


def corner_odds(failures: int, shots: int, good_from: float) -> float:
    """Return the chance of so many failures or more at the corners if each is in the window.

    Examples
    --------
    >>> from shotwindow.models.challenge import corner_odds
    >>> corner_odds(0, 4, 0.9), round(corner_odds(1, 4, 0.9), 4), round(corner_odds(3, 4, 0.9), 4)
    (1.0, 0.3439, 0.0037)
    """
    return 1.0 if failures == 0 else float(bdtrc(failures - 1, shots, 1.0 - good_from))


@dataclass(frozen=True)
class Chance:
    """How likely the shots are to confirm, given what is known of the mold today."""

    setpoint: float
    corners: float
    both: float


def chance_to_pass(
    goodness: Goodness,
    challenge: Challenge,
    demand: Demand,
    *,
    lot: str,
    rng: np.random.Generator,
) -> Chance:
    """Return the chance that the setpoint shots pass, that no corner fails, and both.

    Every draw makes all shots together, so that what is unknown of the mold, of a group or of a
    shot is unknown for all the shots that share it.
    """
    good = new_good(goodness.surfaces, challenge.settings, challenge.group, lot, rng)
    passes = (~good[:, ~challenge.corner]).sum(axis=1) <= demand.failures
    holds = good[:, challenge.corner].all(axis=1)
    return Chance(float(passes.mean()), float(holds.mean()), float((passes & holds).mean()))
