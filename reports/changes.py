"""Surfaces -> what a change of one setting does, in units that are read off a part.

The middle of the study is where changes are looked at: half of the change below it, half above.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from shotwindow.doe.factors import Factor
from shotwindow.models.scales import flash_width
from shotwindow.models.surface import Surface
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import spoken

Array = NDArray[np.float64]

LEVEL = 0.9  # of all intervals here
CLEAR = 0.95  # chance of one sign from which an effect of second order is told


@dataclass(frozen=True)
class Interval:
    """A middle value and the ends that hold 90 %."""

    middle: float
    low: float
    high: float


@dataclass(frozen=True)
class Change:
    """What turning up one setting does to one response.

    Attributes
    ----------
    response : str
    factor : Factor
    delta : float
        How much it is turned up, in its unit: whole marks, about a quarter of its range.
    unit : str
        Of `effect`: "percent" of fill, the study's unit of flash width, or "share" of shots.
    effect : Interval
        What is added; for "share", the share of shots over the limit where it was half before.
    downward : float
        Chance that it goes down rather than up.
    expected_up : bool
        Whether it was taken to go up before any shot.
    """

    response: str
    factor: Factor
    delta: float
    unit: str
    effect: Interval
    downward: float
    expected_up: bool


@dataclass(frozen=True)
class Joint:
    """Two settings (or one, twice) whose effects are not simply added.

    Attributes
    ----------
    response : str
    factor, other : Factor
        What is turned up, and what is kept at its low and then at its high end.
    delta : float
        As in `Change`.
    at_low, at_high : Interval
        What turning up adds at either end of the other, in the unit of `Change`.
    unit : str
    trend : str
        "more" or "less" where it clearly matters more or less at the high end of the other; empty
        where it may change its direction on the way.
    """

    response: str
    factor: Factor
    other: Factor
    delta: float
    at_low: Interval
    at_high: Interval
    unit: str
    trend: str


def usual_change(factor: Factor) -> float:
    """Return about a quarter of a factor's range in whole marks, one at least.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.reports.changes import usual_change
    >>> usual_change(Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05))
    0.5
    """
    return round(max(1, round((factor.count - 1) / 4)) * factor.step, 10)


def turned(factor: Factor) -> str:
    """Return which setting is turned up, and how far."""
    return f"{spoken(factor.name)} +{factor.text(usual_change(factor))} {factor.unit}"


def middle_of(found: Fitted) -> Array:
    """Return the middle of the study, (k,)."""
    return np.array([(f.low + f.high) / 2 for f in found.study.factors])


def changes(found: Fitted, surface: Surface) -> tuple[Change, ...]:
    """Return what each setting does to one response, alone, in the middle of the study."""
    middle = middle_of(found)
    upward = surface.prior.mean[: len(found.study.factors)] > 0
    return tuple(
        Change(
            response=surface.response,
            factor=factor,
            delta=usual_change(factor),
            unit=unit_of_effect(found, surface),
            effect=interval(seen(found, surface, step)),
            downward=float((step < 0).mean()),
            expected_up=bool(upward[j]),
        )
        for j, factor in enumerate(found.study.factors)
        for step in [step_of(surface, middle, j)]
    )


def joints(found: Fitted, surface: Surface) -> tuple[Joint, ...]:
    """Return the pairs of settings that clearly do not simply add, the clearest first."""
    factors, order = found.study.factors, surface.terms.powers.sum(axis=1)
    told: list[tuple[float, Joint]] = []
    for term in np.flatnonzero(order == 2):
        draws = surface.coefficients[:, term]
        one_sign = max(float((draws > 0).mean()), float((draws < 0).mean()))
        if one_sign >= CLEAR:
            pair = np.repeat(np.arange(len(factors)), surface.terms.powers[term])
            told.append((one_sign, _joint(found, surface, int(pair[0]), int(pair[1]))))
    return tuple(joint for _, joint in sorted(told, key=lambda pair: -pair[0]))


def _joint(found: Fitted, surface: Surface, j: int, other: int) -> Joint:
    factor, beside = found.study.factors[j], found.study.factors[other]
    ends = []
    for end in (beside.low, beside.high):
        place = middle_of(found)
        place[other] = end
        if j == other:  # a square: the same step at either end of its own range
            inward = usual_change(factor) / 2
            place[j] = end + (inward if end == beside.low else -inward)
        ends.append(step_of(surface, place, j))
    at_low, at_high = (interval(seen(found, surface, step)) for step in ends)
    unit = unit_of_effect(found, surface)
    return Joint(
        surface.response, factor, beside, usual_change(factor), at_low, at_high, unit, trend(*ends)
    )


def trend(at_low: Array, at_high: Array) -> str:
    """Return whether steps in latent units are clearly larger at the high end of another setting.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.reports.changes import trend
    >>> draws = np.linspace(0.9, 1.1, 50)
    >>> trend(draws, 2 * draws), trend(-draws, -2 * draws), trend(2 * draws, draws)
    ('more', 'more', 'less')
    >>> trend(draws, -2 * draws)
    ''
    """
    same_way = at_low * at_high > 0
    larger = np.abs(at_high) > np.abs(at_low)
    for word, told in (("more", same_way & larger), ("less", same_way & ~larger)):
        if told.mean() >= CLEAR:
            return word
    return ""


def step_of(surface: Surface, place: Array, j: int) -> Array:
    """Change of the latent value when one setting is turned up around a place, (draws,)."""
    ends = np.tile(place, (2, 1))
    ends[:, j] += np.array([-0.5, 0.5]) * usual_change(surface.factors[j])
    below, above = surface.latent(ends)
    return np.asarray(above - below)


def unit_of_effect(found: Fitted, surface: Surface) -> str:
    """Return the unit in which effects on a response are told; see `Change`."""
    if surface.response == "fill":
        return "percent"
    is_width = surface.response == "flash" and surface.grade_limits is None
    return found.study.flash.unit if is_width else "share"


def seen(found: Fitted, surface: Surface, step: Array) -> Array:
    """Return what a latent change comes to where good and bad part.

    Fill changes by a share of itself; a width is that of a shot at the limit; a graded one is how
    many shots pass a limit that half of them passed before.
    """
    if surface.response == "fill":
        return np.asarray(100.0 * np.expm1(step))
    if unit_of_effect(found, surface) == "share":
        scatter = np.sqrt(surface.shot_sd**2 + surface.group_sd**2 + surface.rest_sd**2)
        return np.asarray(ndtr(step / scatter))
    limit = found.study.flash.good
    return flash_width(step, limit, surface.power) - limit


def interval(values: Array) -> Interval:
    """Return the middle of some draws, and the ends that hold 90 % of them."""
    ends = np.quantile(values, [0.5, (1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return Interval(*(float(end) for end in ends))
