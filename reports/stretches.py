"""Surfaces -> over which stretch of a setting's range the shots tell what turning it up does.

A claim is made only where both priors give it the same direction: where one alone does, the
direction comes from the prior, and the shots cannot tell.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from shotwindow.reports.changes import (
    Interval,
    interval,
    middle_of,
    seen,
    step_of,
    usual_change,
)
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.pull import by_prior

Array = NDArray[np.float64]

MOST = 40  # places that are looked at along a range


@dataclass(frozen=True)
class Stretch:
    """Part of a setting's range, all others in the middle.

    Attributes
    ----------
    low, high : float
        From where to where the setting is turned.
    effect : Interval
        Of turning it up by the usual change anywhere in the stretch: the ends hold every such step
        with a chance of 0.9. Where the direction is not known, by either prior.
    way : int
        1 where turning up adds, -1 where it takes, 0 where the shots cannot tell.
    """

    low: float
    high: float
    effect: Interval
    way: int


def stretches(found: Fitted, response: str, j: int) -> tuple[Stretch, ...]:
    """Return the stretches of what was tried of factor ``j``, from its low end up."""
    factor, delta = found.study.factors[j], usual_change(found.study.factors[j])
    low = max(factor.low, float(found.region.low[j]))
    high = min(factor.high, float(found.region.high[j]))
    marks = factor.marks[(factor.marks >= low - 1e-9) & (factor.marks <= high - delta + 1e-9)]
    if marks.size == 0:  # less than one usual change was tried
        return ()
    starts = marks[np.unique(np.linspace(0, marks.size - 1, MOST).astype(int))]
    steps = list(_steps(found, response, j, starts))
    told: list[Stretch] = []
    end = low
    for way, run in groupby(range(len(starts)), key=lambda i: steps[i].way):
        places = list(run)
        last = high if places[-1] == len(starts) - 1 else float(starts[places[-1]]) + delta
        effect = _envelope([steps[i].effect for i in places])
        # steps of two kinds overlap: the stretch of a claim goes first
        begin = max(end, float(starts[places[0]])) if way == 0 else float(starts[places[0]])
        if way != 0 and told and told[-1].way == 0:
            told[-1] = Stretch(told[-1].low, begin, told[-1].effect, 0)
        told.append(Stretch(begin, last, effect, way))
        end = last
    return tuple(one for one in told if one.high > one.low + 1e-9)


@dataclass(frozen=True)
class _Step:
    effect: Interval
    way: int


def _steps(found: Fitted, response: str, j: int, starts: Array) -> Iterator[_Step]:
    """Give the effect of one usual change from each start, and which way it surely goes."""
    own = next(s for s in found.surfaces.each if s.response == response)
    each = [own, *by_prior(found, response).values()]  # its own stands for it, converged or not
    half = usual_change(found.study.factors[j]) / 2
    for start in starts:
        place = middle_of(found)
        place[j] = start + half
        steps = [step_of(surface, place, j) for surface in each]
        ways = {_way(step) for step in steps}
        effects = [interval(seen(found, s, step)) for s, step in zip(each, steps, strict=True)]
        way = ways.pop() if len(ways) == 1 else 0
        yield _Step(effects[0] if way else _envelope(effects), way)


def _way(step: Array) -> int:
    """Return the direction of a step in latent units, 0 where its interval holds nothing."""
    told = interval(step)
    return int(told.low > 0) - int(told.high < 0)


def _envelope(effects: list[Interval]) -> Interval:
    middles = sorted(effect.middle for effect in effects)
    return Interval(
        middles[len(middles) // 2],
        min(effect.low for effect in effects),
        max(effect.high for effect in effects),
    )
