"""Confirmation shots and what was predicted for them -> confirmed, not confirmed, cannot tell."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.readings import Readings
from shotwindow.models.challenge import BROKEN, Demand, corner_odds
from shotwindow.models.confirmation import exact_limits
from shotwindow.models.group_odds import between_groups, share_shown
from shotwindow.models.new_shots import lot_number, new_latent
from shotwindow.models.responses import responses
from shotwindow.models.scales import flash_width
from shotwindow.models.surface import Surface, Surfaces

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

CONFIRMED, NOT_CONFIRMED, CANNOT_TELL = "confirmed", "not confirmed", "cannot tell"
LEVEL = 0.95  # of the interval that holds all readings of a response at once
GRADE = 0.5  # grades are whole: half of one is no difference


@dataclass(frozen=True)
class Surprise:
    """A reading outside of what was predicted for all of them together.

    Attributes
    ----------
    shot, cavity : int
        Cavities from one.
    response : str
    side : str
        "low" or "high": less or more fill or flash than predicted.
    """

    shot: int
    cavity: int
    response: str
    side: str


@dataclass(frozen=True)
class Judgement:
    """What the confirmation shots made so far say.

    Attributes
    ----------
    answer : str
        `CONFIRMED`, `NOT_CONFIRMED` or `CANNOT_TELL`.
    shots, failed : int
        At the setpoint, made and bad.
    missing : int
        Shots, also at corners, that are still to be made.
    shown : float
        Share of good shots at the setpoint that is shown with the confidence asked for, by
        counting alone: as if every shot had a temperature group of its own.
    shown_over_groups : float
        The same with group scatter as the fit has it: what is shown of other groups.
    corners, corners_failed : int
    corner_odds : float
        Chance of so many failures or more if every corner is in the window.
    surprises : tuple of Surprise
    groups : int
        Temperature groups with shots at the setpoint.
    failed_by_group : tuple of int
        Bad shots at the setpoint in each of them, in running order.
    """

    answer: str
    shots: int
    failed: int
    missing: int
    shown: float
    shown_over_groups: float
    corners: int
    corners_failed: int
    corner_odds: float
    surprises: tuple[Surprise, ...]
    groups: int
    failed_by_group: tuple[int, ...]


@dataclass(frozen=True)
class Made:
    """Confirmation shots as far as they are made.

    Attributes
    ----------
    readings : Readings or None
        None before the first.
    corner : ndarray of bool, shape (n,)
        Which of them are at a corner of the ranges.
    missing : int
        How many are still to be made.
    """

    readings: Readings | None
    corner: Flags
    missing: int


def good_shots(readings: Readings) -> Flags:
    """Return which shots (n,) are good beyond doubt: full, without flash and not rejected.

    A reading just at the limit of flash counts as good, one above it does not; a part counts as
    full only if its reading leaves no doubt.
    """
    good = (readings.fill_low >= readings.fill_good).all(axis=1)
    if readings.flash_grade is not None:
        seen = readings.flash_grade
        good &= ((seen >= 0) & (seen <= readings.flash_good)).all(axis=1)
    else:
        assert readings.flash_low is not None and readings.flash_high is not None  # widths
        ends = np.where(np.isinf(readings.flash_low), readings.flash_high, readings.flash_low)
        middle = 0.5 * (ends + readings.flash_high)
        good &= (middle <= readings.flash_good * (1 + 1e-9)).all(axis=1)
    return np.asarray(good if readings.other is None else good & ~readings.other)


def judge(
    surfaces: Surfaces,
    shot: Made,
    demand: Demand,
    *,
    good_from: float,
    rng: np.random.Generator,
) -> Judgement:
    """Judge confirmation shots against a demand and against what was predicted.

    Parameters
    ----------
    surfaces : Surfaces
        Fitted without these shots.
    shot : Made
    demand : Demand
    good_from : float
        Share of good shots that the ranges promise.
    rng : numpy.random.Generator
    """
    made, corner, missing = shot.readings, shot.corner, shot.missing
    good = np.zeros(0, dtype=bool) if made is None else good_shots(made)
    group = np.zeros(0, dtype=int) if made is None else made.group
    at_setpoint = good[~corner]
    failed, corners_failed = int((~at_setpoint).sum()), int((~good[corner]).sum())
    odds = corner_odds(corners_failed, int(corner.sum()), good_from)
    surprises = () if made is None else find_surprises(surfaces, made, rng)
    groups, which = np.unique(group[~corner], return_inverse=True)
    failures = np.bincount(which, weights=~at_setpoint, minlength=groups.size)
    shown = over_groups = 0.0
    if at_setpoint.size:
        passed, level = int(at_setpoint.sum()), demand.confidence
        shown = exact_limits(passed, at_setpoint.size, confidence=level, sides="lower")[0]
        sizes = np.bincount(which).tolist()
        over_groups = share_shown(failed, sizes, level, between_groups(surfaces))
    if failed > demand.failures or odds < BROKEN:
        answer = NOT_CONFIRMED
    elif missing or at_setpoint.size < demand.shots or corners_failed or surprises:
        answer = CANNOT_TELL
    else:
        answer = CONFIRMED
    return Judgement(
        answer=answer,
        shots=int(at_setpoint.size),
        failed=failed,
        missing=missing,
        shown=shown,
        shown_over_groups=over_groups,
        corners=int(corner.sum()),
        corners_failed=corners_failed,
        corner_odds=odds,
        surprises=surprises,
        groups=int(groups.size),
        failed_by_group=tuple(int(f) for f in failures),
    )


def find_surprises(
    surfaces: Surfaces, made: Readings, rng: np.random.Generator, *, level: float = LEVEL
) -> tuple[Surprise, ...]:
    """Find the readings outside the interval that holds all of a response at once.

    The interval has the shape of each reading's own distribution, and is as wide as it takes for
    the draws of all readings together, with what they share, to lie wholly inside with probability
    ``level``. A reading lies outside only if its whole rounding interval does.
    """
    found: list[Surprise] = []
    for surface, response in zip(surfaces.each[:2], responses(made)[:2], strict=True):
        low, high = response.latent.low, response.latent.high
        if response.latent.grade is not None:
            grade = response.latent.grade.astype(float)
            low = np.where(grade < 0, -np.inf, grade)
            high = np.where(grade < 0, np.inf, grade)
        if response.latent.is_width:
            low, high = np.exp(0.5 * low), np.exp(0.5 * high)
        ends = _band(surface, surfaces, made, rng, level)
        for side, outside in (("low", high < ends[0]), ("high", low > ends[1])):
            found += [
                Surprise(int(made.shot[i]), int(c) + 1, surface.response, side)
                for i, c in np.argwhere(outside)
            ]
    return tuple(sorted(found, key=lambda s: (s.shot, s.response, s.cavity)))


def _band(
    surface: Surface, surfaces: Surfaces, made: Readings, rng: np.random.Generator, level: float
) -> tuple[Array, Array]:
    """Ends (n, cavities) between which all readings of a response lie with probability `level`."""
    lots = {str(name): lot_number(surfaces, str(name)) for name in np.unique(made.lot)}
    lot = lots.popitem()[1] if len(lots) == 1 else None
    drawn = new_latent(surface, made.settings, made.group, lot, rng)
    least = 1e-9
    if surface.grade_limits is not None and surface.response == "flash":
        limits = surface.grade_limits[:, None, None, :]
        drawn = (drawn[..., None] > limits).sum(axis=-1).astype(float)
        least = GRADE
    elif surface.response == "flash":  # each draw has a power of its own; roots serve all
        drawn = np.sqrt(flash_width(drawn, 1.0, surface.power[:, None, None]))
    drawn = drawn.reshape(-1, *drawn.shape[2:])
    low, middle, high = np.quantile(drawn, [0.025, 0.5, 0.975], axis=0)
    down, up = np.maximum(middle - low, least), np.maximum(high - middle, least)
    off = np.maximum((drawn - middle) / up, (middle - drawn) / down)
    reach = float(np.quantile(off.max(axis=(1, 2)), level))
    return middle - reach * down, middle + reach * up
