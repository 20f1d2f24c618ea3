"""A setpoint -> where the window ends along each factor, and how sure that is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.goodness import Curve, Goodness
from shotwindow.models.limiting import Weakest, weakest_cavity, worst_response
from shotwindow.models.setpoint import Setpoint
from shotwindow.models.window import Region

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ends = tuple[float | None, float | None]


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
    weakest : Weakest or None
        Which cavity fails first there; None where cavities were not told apart.
    scatters : float or None
        How far the setpoint is from the median edge, in standard deviations of a new shot.
    """

    factor: str
    side: str
    response: str | None
    median: float | None
    band50: tuple[float | None, float | None]
    band90: tuple[float | None, float | None]
    weakest: Weakest | None = None
    scatters: float | None = None


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
    """Both edges along each factor through the setpoint, with 50 and 90 % bands.

    Parameters
    ----------
    goodness : Goodness
    setpoint : Setpoint
        All other factors stay there.
    region : Region
        Where settings were tried; see `shotwindow.models.window.tried_region`.
    good_from : float
        Share of good shots, 0 to 1, at which a setting ceases to be in the window.

    Returns
    -------
    tuple of Edge
        The low one and the high one of each factor, in natural units.
    """
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
    median, band50, band90 = bands_of(places)
    if not found.any():
        return Edge(factor.name, side, None, median, band50, band90)
    place = line[[int(np.median(first[found]))]]
    curve = goodness.curves[int(worst_response(goodness, place)[0])]
    edge = line[[0]].copy()
    edge[0, axis] = edge[0, axis] if median is None else median
    return Edge(
        factor=factor.name,
        side=side,
        response=curve.surface.response,
        median=median,
        band50=band50,
        band90=band90,
        weakest=weakest_cavity(curve.surface, edge),
        scatters=None if median is None else _scatters(curve, line[[0]], edge),
    )


def bands_of(places: Array) -> tuple[float | None, Ends, Ends]:
    """Return the median and the 50 and 90 % bands of places; None for what is not finite."""
    if not places.size:
        return None, (None, None), (None, None)
    # order statistics: a band must not mix a place with infinity
    quantile = np.quantile(places, [0.5, 0.25, 0.75, 0.05, 0.95], method="nearest")
    values = [None if np.isinf(v) else float(v) for v in quantile]
    return values[0], (values[1], values[2]), (values[3], values[4])


def _scatters(curve: Curve, here: Array, edge: Array) -> float:
    """How many standard deviations of a new shot lie between two settings (1, k)."""
    moved = curve.over(here)[0] - curve.over(edge)[0]
    return float(np.median(np.abs(moved) / curve.width))
