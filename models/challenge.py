"""A setpoint with its ranges and a demand -> the shots that would confirm it, and their chance.

Fresh shots at the setpoint show a share of good shots by counting alone. A few more at the corners
of the ranges where most is asked of the mold challenge the ranges.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtr, bdtrc

from shotwindow.doe.factors import Factor
from shotwindow.doe.groups import slow_positions
from shotwindow.doe.study import Study
from shotwindow.models.confirmation import shots_to_show
from shotwindow.models.goodness import Goodness
from shotwindow.models.group_odds import between_groups, pass_odds
from shotwindow.models.new_shots import new_good
from shotwindow.models.setpoint import Ranges

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]

CORNERS = 4
QUALIFIED_FROM = 3  # temperature groups or days that a qualification asks for (common practice)
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
    groups : int or None
        Temperature groups (or days) over which they are spread; None where nobody said.
    """

    reliability: float
    confidence: float
    failures: int = 0
    groups: int | None = None

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

    @property
    def shots_by_group(self) -> tuple[int, ...]:
        """How many shots at the setpoint each of their groups has, in running order."""
        return tuple(int(n) for n in np.unique(self.group[~self.corner], return_counts=True)[1])

    @property
    def reheated(self) -> tuple[int, ...]:
        """Groups at the setpoint right after another one: no planned change parts the two."""
        groups = np.unique(self.group[~self.corner])
        return tuple(int(n) for n in np.flatnonzero(np.diff(groups) == 1) + 2)


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
    """Return the shots in running order: groups at the setpoint, and the corners between them.

    A corner with other slow settings comes between two groups at the setpoint where it can, so
    that the press really leaves the setpoint's temperatures before it is brought back to them.

    Parameters
    ----------
    study : Study
    setpoint : ndarray, shape (k,)
    corners : ndarray, shape (c, k)
    demand : Demand
        Its shots are dealt to the groups as evenly as can be; to one where none are named.

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
    groups = min(demand.groups or 1, demand.shots)
    sizes = np.bincount(np.arange(demand.shots) * groups // demand.shots)
    here, away = _by_slow_settings(study, setpoint, corners)
    parts: list[tuple[Array, int, bool]] = []  # settings, their group, whether they are corners
    number = 0
    for turn, size in enumerate(sizes):
        last = turn == groups - 1
        number += 1
        parts.append((np.tile(setpoint, (int(size), 1)), number, False))
        if last:
            parts.append((here, number, True))
        for block in away[turn:] if last else away[turn : turn + 1]:
            number += 1
            parts.append((block, number, True))
    lengths = [len(block) for block, _, _ in parts]
    return Challenge(
        settings=np.vstack([block for block, _, _ in parts]),
        group=np.repeat([group for _, group, _ in parts], lengths),
        corner=np.repeat([corner for _, _, corner in parts], lengths),
    )


def _by_slow_settings(study: Study, setpoint: Array, corners: Array) -> tuple[Array, list[Array]]:
    """Return the corners at the setpoint's slow settings, and the others by theirs.

    Within each the lowest comes first.
    """
    corners = corners.reshape(-1, setpoint.size)
    corners = corners[np.lexsort(corners.T[::-1])]
    slow = list(slow_positions(study))
    away = (corners[:, slow] != setpoint[slow]).any(axis=1)
    kinds, which = np.unique(corners[away][:, slow], axis=0, return_inverse=True)
    return corners[~away], [corners[away][which.ravel() == k] for k in range(len(kinds))]


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


@dataclass(frozen=True)
class Risk:
    """How likely a setting passes that should not.

    Attributes
    ----------
    share : float
        Its true share of good shots.
    alone : float
        Chance to pass if every shot had a temperature group of its own (binomial).
    as_planned, one_group : float
        In the groups that are planned, and if all shots were made in one.
    """

    share: float
    alone: float
    as_planned: float
    one_group: float


def risks(goodness: Goodness, challenge: Challenge, demand: Demand) -> tuple[Risk, ...]:
    """Return the risk of a setting with twice as many bad shots as may be, and of one just there.

    Group scatter is taken as the fit has it, measured or assumed.
    """
    between, groups = between_groups(goodness.surfaces), challenge.shots_by_group
    shares = (1.0 - 2.0 * (1.0 - demand.reliability), demand.reliability)
    return tuple(
        Risk(
            share=share,
            alone=float(bdtr(demand.failures, demand.shots, 1.0 - share)),
            as_planned=pass_odds(share, groups, demand.failures, between),
            one_group=pass_odds(share, [demand.shots], demand.failures, between),
        )
        for share in shares
        if share > 0.0
    )
