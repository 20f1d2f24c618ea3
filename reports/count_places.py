"""Signs of a panel -> where the number beside each of them stands, clear of the others."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

#: Ways from a sign to its number, the most usual first.
WAYS = ((1, 1), (-1, 1), (1, -1), (-1, -1), (0, 1), (0, -1), (1, 0), (-1, 0))
GAP = 4.0  # points between a sign and the middle of its number
ROOM = 6.5  # points around the middle of a number that are enough for it


def count_places(
    places: Sequence[tuple[float, float]], reaches: Sequence[float], counted: Sequence[bool]
) -> dict[int, tuple[float, float]]:
    """Return how far from its sign each number stands, in points, by the index of the sign.

    Numbers stand to the upper right, where nothing is in the way: another sign, or a number that
    was placed before. Else they go where there is the most room.

    Parameters
    ----------
    places : sequence of (float, float)
        Middle of every sign of the panel, in points.
    reaches : sequence of float
        From the middle of a sign to its outline, in points.
    counted : sequence of bool
        Which of them have a number.

    Examples
    --------
    >>> from shotwindow.reports.count_places import count_places
    >>> alone, beside = count_places([(0.0, 0.0)], [3.0], [True]), [(0.0, 0.0), (9.0, 4.0)]
    >>> [alone[0][0] > 0, count_places(beside, [3.0, 3.0], [True, False])[0][0] > 0]
    [True, False]
    """
    at = np.array(places, float).reshape(-1, 2)
    reach = np.array(reaches, float)
    placed: dict[int, tuple[float, float]] = {}
    for i in np.flatnonzero(counted):
        others = np.arange(len(at)) != i
        ways = [_away(way, reach[i]) for way in WAYS]
        rooms = [
            min(
                _nearest(at[i] + way, at[others], reach[others]),
                _nearest(at[i] + way, _numbers(at, placed), ROOM / 2),
            )
            for way in ways
        ]
        best = next((k for k, room in enumerate(rooms) if room >= ROOM), int(np.argmax(rooms)))
        placed[int(i)] = (float(ways[best][0]), float(ways[best][1]))
    return placed


def _away(way: tuple[int, int], reach: float) -> NDArray[np.float64]:
    return np.asarray((reach + GAP) * np.array(way) / max(1.0, 0.85 * np.hypot(*way)))


def _numbers(
    at: NDArray[np.float64], placed: Mapping[int, tuple[float, float]]
) -> NDArray[np.float64]:
    return np.array([at[i] + way for i, way in placed.items()]).reshape(-1, 2)


def _nearest(
    place: NDArray[np.float64], others: NDArray[np.float64], reach: NDArray[np.float64] | float
) -> float:
    """Return the free way from a place to the nearest outline."""
    return float(np.min(np.hypot(*(others - place).T) - reach, initial=np.inf))
