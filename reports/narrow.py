"""A window that no mark can be held in -> where it lies, and what would make it wide enough."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.goodness import Goodness
from shotwindow.models.held_chances import held_probability
from shotwindow.models.setpoint import Setpoint
from shotwindow.models.window import Window

Array = NDArray[np.float64]
Factors = tuple[Factor, ...]

TOP_MARKS = 40  # around so many of the best marks, settings between marks are looked at
TENTHS = np.arange(-9, 10) / 10.0  # of a step
FINER = (1, 2, 4)  # what step and hold are divided by, the least first


@dataclass(frozen=True)
class Remedy:
    """One factor, set or held more finely, that brings a setting into the window.

    Attributes
    ----------
    factor : Factor
    step : float
        Distance of the marks that is then needed; that of the factor where holding it better is
        enough.
    holds : float
        How well it must then be held, plus or minus.
    probability_held : float
        Lowest chance of a good shot over what is then held.
    """

    factor: Factor
    step: float
    holds: float
    probability_held: float


@dataclass(frozen=True)
class Narrow:
    """A window narrower than the gauge can hold.

    Attributes
    ----------
    settings : tuple of float, length k
        The setting that comes nearest, on marks or between them.
    between : bool
        Whether it lies between marks, since no mark is good enough.
    probability_good : float
        Of a good shot at that setting, exactly held.
    probability_held : float
        Lowest over what the press holds around it.
    tight : Factor
        The factor whose own hold costs the most.
    tight_setting : float
        Its setting.
    remedies : tuple of Remedy
        What would help, one factor at a time; empty where none alone does.
    wider : tuple of (Factor, str)
        Factors that sit at the end of what was tried, "low" or "high", where the good stretch of
        the tight factor still grows toward that end.
    """

    settings: tuple[float, ...]
    between: bool
    probability_good: float
    probability_held: float
    tight: Factor
    tight_setting: float
    remedies: tuple[Remedy, ...]
    wider: tuple[tuple[Factor, str], ...]


def find_narrow(
    factors: Factors, window: Window, goodness: Goodness, setpoint: Setpoint | None
) -> Narrow | None:
    """Find out why no mark can be held in the window.

    Parameters
    ----------
    factors : tuple of Factor, length k
        With all their marks, of which the window may hold only some.
    window : Window
    goodness : Goodness
    setpoint : Setpoint or None
        As found in that window.

    Returns
    -------
    Narrow or None
        None where the setpoint can be held, or no setting on or between the marks is good enough.
    """
    if setpoint is not None and not setpoint.narrow:
        return None
    settings = (
        _between(factors, window, goodness) if setpoint is None else np.array(setpoint.settings)
    )
    if settings is None:
        return None
    here, least = settings[None, :], window.good_from
    tight = int(np.argmin(_own_cost(goodness, factors, settings)))
    return Narrow(
        settings=tuple(float(v) for v in settings),
        between=setpoint is None,
        probability_good=float(goodness.probability_good(here)[0]),
        probability_held=float(held_probability(goodness, factors, here)[0]),
        tight=factors[tight],
        tight_setting=float(settings[tight]),
        remedies=tuple(
            r for j in range(len(factors)) if (r := _remedy(factors, goodness, settings, j, least))
        ),
        wider=_wider(factors, goodness, settings, tight, least),
    )


def _between(factors: Factors, window: Window, goodness: Goodness) -> Array | None:
    """Return the best setting a part of a step beside a good mark, if it is good enough."""
    chances = np.nan_to_num(window.probability_good.ravel(), nan=-1.0)
    top = np.argsort(-chances, kind="stable")[:TOP_MARKS]
    marks = window.settings_of(top[chances[top] >= 0])
    moved = []
    for j, factor in enumerate(factors):
        line = np.repeat(marks, TENTHS.size, axis=0)
        line[:, j] += np.tile(TENTHS, len(marks)) * factor.step
        moved.append(line[(line[:, j] >= factor.low) & (line[:, j] <= factor.high)])
    settings = np.concatenate(moved)
    good = goodness.probability_good(settings)
    if not good.size or good.max() < window.good_from:
        return None
    return np.asarray(settings[int(good.argmax())])


def _own_cost(goodness: Goodness, factors: Factors, settings: Array) -> list[float]:
    """Chance that is left when one factor alone wanders as far as the press lets it."""
    return [
        float(held_probability(goodness, _only(factors, j), settings[None, :])[0])
        for j in range(len(factors))
    ]


def _only(factors: Factors, j: int) -> Factors:
    return tuple(f if i == j else replace(f, holds=0.0) for i, f in enumerate(factors))


def _remedy(
    factors: Factors, goodness: Goodness, settings: Array, j: int, least: float
) -> Remedy | None:
    """Return the least that has to be finer about one factor, if that is enough."""
    factor = factors[j]
    for finer in FINER:
        holds = factor.holds / max(2, finer)
        line = _line(factor, settings, j, factor.step / finer)
        changed = replace(factor, holds=holds)
        held_so = tuple(changed if i == j else f for i, f in enumerate(factors))
        held = float(held_probability(goodness, held_so, line).max())
        if held >= least:
            return Remedy(factor, factor.step / finer, holds, held)
    return None


def _line(factor: Factor, settings: Array, j: int, step: float) -> Array:
    """Settings (n, k) with one factor on marks of a step, the others as they are."""
    places = np.arange(round((factor.high - factor.low) / step) + 1) * step + factor.low
    line = np.tile(settings, (places.size, 1))
    line[:, j] = places
    return line


def _wider(
    factors: Factors, goodness: Goodness, settings: Array, tight: int, least: float
) -> tuple[tuple[Factor, str], ...]:
    """Return the factors at an end of their range toward which the good stretch still grows."""
    found = []
    for j, factor in enumerate(factors):
        end = "low" if settings[j] == factor.low else "high"
        at_end = settings[j] in (factor.low, factor.high)
        room = factor.limits[0] < factor.low if end == "low" else factor.limits[1] > factor.high
        if j == tight or not at_end or not room:
            continue
        back = settings.copy()
        back[j] += (0.25 if end == "low" else -0.25) * (factor.high - factor.low)
        along = [_along(factors[tight], goodness, at, tight, least) for at in (settings, back)]
        if along[0] > along[1]:
            found.append((factor, end))
    return tuple(found)


def _along(factor: Factor, goodness: Goodness, settings: Array, j: int, least: float) -> int:
    """Length of the good stretch along one factor, in tenths of its step."""
    line = _line(factor, settings, j, factor.step / 10)
    return int((goodness.probability_good(line) >= least).sum())
