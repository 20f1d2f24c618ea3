"""A setpoint -> the edges of one setting as curves over each of the others, with their bands."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.goodness import Goodness
from shotwindow.models.limiting import worst_response
from shotwindow.models.margins import bands_of
from shotwindow.models.setpoint import Setpoint
from shotwindow.models.window import Region

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

POINTS = 9  # of a curve at the most
FINE = 0.1  # of a mark: how closely an edge is looked for
SIDES = ("low", "high")


@dataclass(frozen=True)
class CurvePoint:
    """One edge at one setting of the other factor.

    Attributes
    ----------
    at : float
        Setting of the other factor, a mark.
    response : str or None
        What fails beyond the edge; None where no draw has an edge there.
    chance : float
        Share of the draws that have a window on that line at all; the rest is of these draws.
    median, band50, band90
        As in :class:`shotwindow.models.margins.Edge`.
    """

    at: float
    response: str | None
    chance: float
    median: float | None
    band50: tuple[float | None, float | None]
    band90: tuple[float | None, float | None]


@dataclass(frozen=True)
class EdgeCurve:
    """An edge of one factor over another, all the others at the setpoint.

    Attributes
    ----------
    factor, side : str
        "low" or "high" edge.
    along : str
        The other factor.
    points : tuple of CurvePoint
        Where shots were made, in rising order.
    """

    factor: str
    side: str
    along: str
    points: tuple[CurvePoint, ...]


def find_curves(
    goodness: Goodness,
    setpoint: Setpoint,
    region: Region,
    good_from: float,
    main_factor: str | None = None,
) -> tuple[EdgeCurve, ...]:
    """Return both edges of the main factor over every other factor.

    Parameters
    ----------
    goodness : Goodness
    setpoint : Setpoint
        Where the factors stand that are neither of the two.
    region : Region
    good_from : float
    main_factor : str, optional
        Name of the factor whose edges they are; else the one that acts as pressure, or the first.

    Returns
    -------
    tuple of EdgeCurve
        Empty where there is nothing to draw a curve over: of a single factor, or where only one
        was varied.
    """
    factors = goodness.surfaces.factors
    if main_factor is None:
        main = next((j for j, f in enumerate(factors) if f.role == "pressure"), 0)
    else:
        main = [f.name for f in factors].index(main_factor)
    curves = []
    for other, along in enumerate(factors):
        low = max(along.low, float(region.low[other]))
        high = min(along.high, float(region.high[other]))
        if other == main or not low < high or not region.low[main] < region.high[main]:
            continue
        marks = along.marks[(along.marks >= low - 1e-9) & (along.marks <= high + 1e-9)]
        chosen = marks[np.unique(np.linspace(0, marks.size - 1, POINTS).round().astype(int))]
        found = [
            (float(at), _ends(goodness, _line(setpoint, (factors[main], main), (other, at), region),
                              main, good_from))
            for at in chosen
        ]  # fmt: skip
        curves += [
            EdgeCurve(
                factors[main].name, side, along.name,
                tuple(_point(at, ends[number]) for at, ends in found if ends is not None),
            )
            for number, side in enumerate(SIDES)
        ]  # fmt: skip
    return tuple(curve for curve in curves if curve.points)


def _line(
    setpoint: Setpoint, main: tuple[Factor, int], other: tuple[int, float], region: Region
) -> Array:
    """Settings along the main factor with the other one moved, as far as shots were made."""
    factor, axis = main
    count = int(np.clip((factor.count - 1) / FINE, 100, 400)) + 1
    line = np.tile(np.array(setpoint.settings), (count, 1))
    line[:, other[0]] = other[1]
    line[:, axis] = np.linspace(
        max(factor.low, region.low[axis]), min(factor.high, region.high[axis]), count
    )
    return line[region.holds(line)]


@dataclass(frozen=True)
class _End:
    """Places where the draws leave the window on one side; infinite where they do not."""

    places: Array
    chance: float
    response: str | None


def _ends(goodness: Goodness, line: Array, axis: int, good_from: float) -> tuple[_End, _End] | None:
    """Both ends of the stretch of good settings on a line; None where no shots were made."""
    if len(line) < 2:
        return None
    shares = goodness.shares(line)
    inside = np.asarray(shares >= good_from)
    start = int(shares.mean(axis=1).argmax())
    has = inside[start]
    inside, chance = inside[:, has], float(has.mean())
    ends = []
    for way, beyond in ((slice(start, None, -1), -np.inf), (slice(start, None), np.inf)):
        walked, outside = line[way], ~inside[way]
        found, first = outside.any(axis=0), outside.argmax(axis=0)
        halfway = 0.5 * (walked[first, axis] + walked[np.maximum(first - 1, 0), axis])
        places = np.where(found, halfway, beyond)
        response = None
        if found.any():
            place = walked[[int(np.median(first[found]))]]
            number = int(worst_response(goodness, place)[0])
            response = goodness.curves[number].surface.response
        ends.append(_End(places, chance, response))
    return ends[0], ends[1]


def _point(at: float, end: _End) -> CurvePoint:
    median, band50, band90 = bands_of(end.places)
    return CurvePoint(at, end.response, end.chance, median, band50, band90)
