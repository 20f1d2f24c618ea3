"""Cavities that answer to the settings in ways of their own -> sentences."""

from typing import NamedTuple

import numpy as np

from shotwindow.models.surface import Surface
from shotwindow.reports.changes import (
    Interval,
    interval,
    middle_of,
    seen,
    turned,
    unit_of_effect,
    usual_change,
)
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import chance

CLEAR = 0.9  # share of the draws that agree on more or on less
WORTH = 0.05  # chance of slopes of their own from which it is said


class OwnWay(NamedTuple):
    """How much more a cavity gains from a setting than the mean of all cavities does."""

    cavity: int
    factor: int
    more: Interval


def own_ways(found: Fitted, surface: Surface) -> tuple[OwnWay, ...]:
    """Return where a cavity clearly gains more or less than the others, cavity after cavity."""
    if not surface.slope.shape[2]:
        return ()
    middle, told = middle_of(found), []
    for j, factor in enumerate(found.study.factors):
        half = usual_change(factor) / 2
        ends = np.tile(middle, (2, 1))
        ends[:, j] += (-half, half)
        low, high = surface.offsets(ends)  # each (draws, cavities)
        gain = high - low
        gain -= gain.mean(axis=1, keepdims=True)
        for cavity, draws in enumerate(gain.T, start=1):
            if max((draws > 0).mean(), (draws < 0).mean()) >= CLEAR:
                told.append(OwnWay(cavity, j, interval(_read(found, surface, draws))))
    return tuple(sorted(told))


def _read(found: Fitted, surface: Surface, gain: np.ndarray) -> np.ndarray:
    """Gains in the unit of effects; of grades, which have none, in the scatter of a shot."""
    if unit_of_effect(found, surface) == "share":
        return np.asarray(gain / np.hypot(surface.shot_sd, surface.rest_sd))
    return seen(found, surface, gain)


def own_slope_words(found: Fitted, surface: Surface) -> list[str]:
    """Return how likely cavities have slopes of their own, and who gains more or less."""
    if surface.own_slopes < WORTH:
        return []
    told = [
        "The cavities answer to the settings each in its own way with a chance of "
        f"{chance(surface.own_slopes)}; edges and margins are those of the worst at each setting."
    ]
    unit = unit_of_effect(found, surface)
    unit = "times the scatter of a shot" if unit == "share" else unit
    for way in own_ways(found, surface):
        low, high = sorted((abs(way.more.low), abs(way.more.high)))
        low = 0.0 if way.more.low < 0 < way.more.high else low
        told.append(
            f"{turned(found.study.factors[way.factor])} gives "
            f"cavity {way.cavity} {low:.2g} to {high:.2g} {unit} "
            f"{'more' if way.more.middle > 0 else 'less'} {surface.response} than it gives the "
            "mean of the cavities."
        )
    return told
