"""A window -> the setting farthest from every edge, and the ranges around it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.preferences import wanted_low
from shotwindow.models.boxes import largest_box
from shotwindow.models.goodness import Goodness
from shotwindow.models.held_chances import HeldSearch
from shotwindow.models.window import Window

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Whole = NDArray[np.intp]

BATCH = 256  # marks that are asked together at one corner of what the press holds
SAME = 0.005  # chances this close are taken as equal: models are not that true


@dataclass(frozen=True)
class Setpoint:
    """The mark whose worst chance of a good shot, over what the press holds, is highest.

    See :func:`find_setpoint` for marks that are as good.

    Parameters
    ----------
    mark : tuple of int, length k
        Number of the mark of each factor, from its low end.
    settings : tuple of float, length k
        Natural units.
    probability_good, probability_in_window : float
        At the mark itself.
    probability_held : float
        Lowest chance of a good shot over plus and minus ``holds`` of every factor together.
    narrow : bool
        No mark keeps the wanted share of good shots over what the press holds.
    """

    mark: tuple[int, ...]
    settings: tuple[float, ...]
    probability_good: float
    probability_in_window: float
    probability_held: float
    narrow: bool


def best_mark(window: Window) -> tuple[int, ...] | None:
    """The mark with the highest chance of a good shot; None where no mark has an answer."""
    good = np.nan_to_num(window.probability_good, nan=-1.0)
    flat = int(good.argmax())
    if good.flat[flat] < 0:
        return None
    return tuple(int(i) for i in np.unravel_index(flat, good.shape))


def find_setpoint(window: Window, goodness: Goodness, *, prefer: str = "") -> Setpoint | None:
    """Find the setpoint, or None where no mark reaches the wanted share of good shots.

    Of marks whose worst chances differ by less than ``SAME`` it is the one deepest inside: farthest
    from marks that are worse or were not tried; with a preference, the lowest in what it names.

    Parameters
    ----------
    window : Window
    goodness : Goodness
    prefer : str, optional
        One of :data:`shotwindow.doe.preferences.PREFERENCES`: of those marks the ones with the
        lowest pressure, time or melt temperature are preferred, and of these the deepest inside.

    Returns
    -------
    Setpoint or None
        Its settings in natural units, and its chances.
    """
    good = np.nan_to_num(window.probability_good, nan=-1.0)
    asked = HeldSearch(goodness, window.factors, -1.0)
    highest = _highest_held(window, asked, good.ravel())
    if highest is None:
        return None
    asked.least = highest - SAME
    inside = good >= max(highest - SAME, window.good_from)
    flat = np.flatnonzero(inside)
    order = flat[np.lexsort((-_depth(inside).ravel()[flat], _height(window, flat, prefer)))]
    for first in range(0, order.size, BATCH):
        flat = order[first : first + BATCH]
        for rows, held in asked.among(window.settings_of(flat)):
            held_well = np.flatnonzero(held >= asked.least)
            if held_well.size:
                return _setpoint(window, int(flat[rows[held_well[0]]]), float(held[held_well[0]]))
    raise AssertionError("the mark with the highest chance is among them")


def _height(window: Window, flat: Whole, prefer: str) -> Array:
    """How high marks lie in what is preferred low, in parts of the ranges; zero without."""
    places = np.unravel_index(flat, window.allowed.shape)
    height = np.zeros(flat.size)
    for j in wanted_low(window.factors, prefer):
        height += places[j] / max(1, window.factors[j].count - 1)
    return height


def _highest_held(window: Window, asked: HeldSearch, good: Array) -> float | None:
    """Highest of the worst chances around a mark, exactly.

    The worst chance around a mark is never above the chance at the mark, so that marks are looked
    at in falling order of the latter until none that is left can be better.
    """
    order = np.argsort(-good, kind="stable")
    order = order[good[order] >= window.good_from]
    for first in range(0, order.size, BATCH):
        flat = order[first : first + BATCH]
        if good[flat[0]] <= asked.least:
            break
        for _, held in asked.among(window.settings_of(flat)):
            asked.least = max(asked.least, float(held.max()))
    return asked.least if order.size else None


def _depth(inside: Flags) -> Array:
    """How deep each mark lies inside, from zero to one: the least over all factors.

    Along one factor, the marks to the nearer end, in parts of the most that any mark has there:
    of a window that is wide in one factor and thin in another the middle of both is deepest.
    """
    depth = np.where(inside, 1.0, 0.0)
    for axis in range(inside.ndim):
        lines = np.moveaxis(inside, axis, 0)
        marks = np.minimum(_run(lines), _run(lines[::-1])[::-1])
        depth = np.minimum(depth, np.moveaxis(marks / max(1.0, float(marks.max())), 0, axis))
    return depth


def _run(lines: Flags) -> Array:
    """Length of the stretch of true cells that ends at each cell, along axis 0."""
    run = np.zeros(lines.shape)
    run[0] = lines[0]
    for i in range(1, len(lines)):
        run[i] = (run[i - 1] + 1.0) * lines[i]
    return run


def _setpoint(window: Window, flat: int, held: float) -> Setpoint:
    mark = tuple(int(i) for i in np.unravel_index(flat, window.probability_good.shape))
    return Setpoint(
        mark=mark,
        settings=window.settings_of_mark(mark),
        probability_good=float(window.probability_good[mark]),
        probability_in_window=float(window.probability_in_window[mark]),
        probability_held=held,
        narrow=held < window.good_from,
    )


@dataclass(frozen=True)
class Ranges:
    """The largest box of marks around the setpoint that lies wholly in the window.

    Parameters
    ----------
    low, high : tuple of int, length k
        First and last mark of each factor, both counted.
    of : str
        "sure" or "likely": the window that holds the box.
    """

    low: tuple[int, ...]
    high: tuple[int, ...]
    of: str


def find_ranges(window: Window, setpoint: Setpoint) -> Ranges | None:
    """Ranges around a setpoint; None where the setpoint is not even likely in the window.

    Parameters
    ----------
    window : Window
    setpoint : Setpoint
        Of the same window.

    Returns
    -------
    Ranges or None
        Numbers of marks: ``window.factors[j].marks[low[j]]`` is the lowest setting of factor j.
    """
    for of, flags in (("sure", window.sure), ("likely", window.likely)):
        if flags[setpoint.mark]:
            low, high = largest_box(flags, setpoint.mark)
            return Ranges(low, high, of)
    return None
