"""A setpoint -> where the window ends along each factor, and how sure that is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.goodness import Goodness
from shotwindow.models.setpoint import Setpoint
from shotwindow.models.window import Region

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Edge:
    """Where the window ends along one factor, all others at the setpoint.

    Parameters
    ----------
    factor : str
    side : str
        "low" or "high".
    response : str or None
        What fails first beyond it: "fill", "flash" or "other"; None where no draw has an edge.
    median, band50, band90 : float and pairs of float, or None
        Place in natural units; an end of a band is None where it lies beyond what was tried, and
        the median is None where the edge most likely does.
    """

    factor: str
    side: str
    response: str | None
    median: float | None
    band50: tuple[float | None, float | None]
    band90: tuple[float | None, float | None]


def _line(
    factors: tuple[Factor, ...], setpoint: Setpoint, axis: int, ends: tuple[float, float]
) -> Array:
    """Settings along one factor through the setpoint, a tenth of a mark apart at the most."""
    factor = factors[axis]
    count = int(np.clip(10 * (factor.count - 1), 100, 400)) + 1
    line = np.tile(np.array(setpoint.settings), (count, 1))
    line[:, axis] = np.linspace(ends[0], ends[1], count)
    return line


def find_edges(
    goodness: Goodness, setpoint: Setpoint, region: Region, good_from: float
) -> tuple[Edge, ...]:
    """Both edges along each factor through the setpoint, with 50 and 90 % bands."""
    factors = goodness.surfaces.factors
    edges = []
    for axis, factor in enumerate(factors):
        ends = (
            float(max(factor.low, region.low[axis])),
            float(min(factor.high, region.high[axis])),
        )
        if not ends[0] < ends[1]:
            continue  # this factor was held
        line = _line(factors, setpoint, axis, ends)
        inside = goodness.shares(line) >= good_from  # (places, draws)
        start = int(np.abs(line[:, axis] - setpoint.settings[axis]).argmin())
        for side in ("low", "high"):
            way = slice(start, None, -1) if side == "low" else slice(start, None)
            edges.append(_edge(goodness, factor, side, line[way], inside[way], axis))
    return tuple(edges)


def _edge(
    goodness: Goodness, factor: Factor, side: str, line: Array, inside: Flags, axis: int
) -> Edge:
    """Edge met first on the way from the setpoint."""
    outside = ~inside
    found = np.asarray(outside.any(axis=0))
    first = outside.argmax(axis=0)
    beyond = -np.inf if side == "low" else np.inf
    # halfway between the last place inside and the first one outside
    places = 0.5 * (line[first, axis] + line[np.maximum(first - 1, 0), axis])
    places = np.where(found, places, beyond)
    # order statistics: a band must not mix a place with infinity
    quantile = np.quantile(places, [0.5, 0.25, 0.75, 0.05, 0.95], method="nearest")
    values = [None if np.isinf(v) else float(v) for v in quantile]
    return Edge(
        factor=factor.name,
        side=side,
        response=_fails_first(goodness, line, first, found) if found.any() else None,
        median=values[0],
        band50=(values[1], values[2]),
        band90=(values[3], values[4]),
    )


def _fails_first(goodness: Goodness, line: Array, first: NDArray[np.intp], found: Flags) -> str:
    """Response with the lowest share of good shots where the typical draw leaves the window."""
    place = line[[int(np.median(first[found]))]]
    lowest = {
        table.surface.response: min(float(s.mean()) for s in table.shares(place))
        for table in goodness.curves
    }
    return min(lowest, key=lambda name: lowest[name])
