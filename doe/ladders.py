"""A pressure ladder, a short-shot series at one or two temperatures, and what it says of ranges.

Pressure rises step by step from low while everything else stands at its center, first with cold
melt, then with hot. Where shots turn from short to full, and from clean to flashed, is where the
next plan's low and high should lie.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.drafts import Draft
from shotwindow.doe.errors import StudyError
from shotwindow.doe.region import check_allowed
from shotwindow.doe.study import Study

Floats = NDArray[np.float64]

# Rungs of a ladder whose number of shots was not given.
RUNGS = 8
# With fewer shots than this, two temperatures would leave too coarse a ladder.
LEAST_FOR_TWO = 8


def ladder_draft(study: Study, shots: int | None) -> Draft:
    """Return the rungs in the order they must be made: cold before hot, pressure always rising.

    Parameters
    ----------
    study
        Has a factor that acts as pressure.
    shots
        Number of shots; by default eight a temperature.

    Raises
    ------
    StudyError
        If there is no pressure, too few shots, or a rung is not allowed.

    Examples
    --------
    >>> from shotwindow.doe.ladders import ladder_draft
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.5
    ... ''')
    >>> ladder_draft(study, None).settings[:, 0].tolist()
    [3.0, 3.5, 4.0, 4.5, 5.0]
    """
    rising = _position(study, "pressure")
    if rising is None:
        raise StudyError.one(
            "plan ladder", "no factor that acts as pressure", "one", "take the kind optimal"
        )
    if shots is not None and shots < 2:
        raise StudyError.one("shots for ladder", f"{shots}", "2 or more")
    warming = _position(study, "temperature")
    two = warming is not None and (shots is None or shots >= LEAST_FOR_TWO)
    center = [float(f.snap((f.low + f.high) / 2)) for f in study.factors]
    parts = []
    for half in range(2 if two else 1):
        count = _rungs(study, rising, shots, two, half)
        rungs = np.tile(center, (count, 1))
        factor = study.factors[rising]
        rungs[:, rising] = factor.snap(np.linspace(factor.low, factor.high, count))
        if two and warming is not None:
            hot = study.factors[warming]
            rungs[:, warming] = hot.high if half else hot.low
        parts.append(rungs)
    settings = np.vstack(parts)
    check_allowed(study, "ladder", settings)
    group = np.repeat(np.arange(len(parts)), [len(rungs) for rungs in parts])
    slow = warming is not None and study.factors[warming].is_slow
    return Draft(
        settings,
        ("ladder",) * len(settings),
        "first-order",
        group if slow else np.zeros(len(settings), dtype=int),
        in_order=True,
    )


def _position(study: Study, role: str) -> int | None:
    roles = [factor.role for factor in study.factors]
    return roles.index(role) if role in roles else None


def _rungs(study: Study, rising: int, shots: int | None, two: bool, half: int) -> int:
    """Return how many rungs this temperature gets; an odd shot goes to the cold one."""
    if shots is None:
        return min(RUNGS, study.factors[rising].count)
    if not two:
        return shots
    return shots // 2 if half else shots - shots // 2


@dataclass(frozen=True)
class Bracket:
    """Pressures between which the next plan should range.

    Attributes
    ----------
    low, high : float
        In the unit of the pressures.
    short_seen, flash_seen : bool
        Whether a short shot, and flash, turned up at every temperature: where not, that end is only
        the end of the ladder and should be moved further out.
    """

    low: float
    high: float
    short_seen: bool
    flash_seen: bool


def bracket(
    pressure: Floats, temperature: Floats, full: NDArray[np.bool_], flashed: NDArray[np.bool_]
) -> Bracket:
    """Return the range of pressure that holds both edges at every temperature of a ladder.

    Low is the highest short rung of the temperature that fills most easily, high the lowest
    flashed rung of the one that flashes last.

    Parameters
    ----------
    pressure, temperature, full, flashed
        One value a shot, (n,).

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.ladders import bracket
    >>> rungs = np.array([3.0, 3.5, 4.0, 4.5, 5.0])
    >>> bracket(rungs, np.full(5, 220.0), rungs >= 4.0, rungs >= 5.0)
    Bracket(low=3.5, high=5.0, short_seen=True, flash_seen=True)
    """
    lows, highs = [], []
    for degrees in np.unique(temperature):
        at = temperature == degrees
        lows.append(pressure[at & ~full].max(initial=-np.inf))
        highs.append(pressure[at & flashed].min(initial=np.inf))
    low, high = min(lows), max(highs)
    return Bracket(
        low=float(low if np.isfinite(low) else pressure.min()),
        high=float(high if np.isfinite(high) else pressure.max()),
        short_seen=bool(np.isfinite(low)),
        flash_seen=bool(np.isfinite(high)),
    )
