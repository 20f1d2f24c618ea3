"""A window -> the setting farthest from every edge, and the ranges around it."""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.preferences import wanted_low
from shotwindow.models.boxes import largest_box
from shotwindow.models.goodness import Goodness
from shotwindow.models.window import Window, settings_at

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

BATCH = 256  # marks whose surroundings are looked at together
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


def _moved(factors: tuple[Factor, ...], settings: Array, signs: Array) -> Array:
    """Settings (..., k) moved by what the press holds, as far as its limits let them."""
    holds = np.array([f.holds for f in factors])
    low = np.array([f.limits[0] for f in factors])
    high = np.array([f.limits[1] for f in factors])
    return np.asarray(np.clip(settings + signs * holds, low, high))


def _around(factors: tuple[Factor, ...], settings: Array) -> Array:
    """Settings (n, k) -> their corners of what the press holds and themselves, (n, 1 + 2^k, k)."""
    signs = np.array([np.zeros(len(factors)), *product((-1.0, 1.0), repeat=len(factors))])
    return _moved(factors, settings[:, None, :], signs)


def held_probability(goodness: Goodness, factors: tuple[Factor, ...], settings: Array) -> Array:
    """Lowest chance of a good shot over what the press holds around each of settings (n, k)."""
    around = _around(factors, settings)
    chances = goodness.probability_good(around.reshape(-1, settings.shape[1]))
    return np.asarray(chances.reshape(around.shape[:2]).min(axis=1))


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
    """
    good = np.nan_to_num(window.probability_good, nan=-1.0)
    highest = _highest_held(window, goodness, good.ravel())
    if highest is None:
        return None
    inside = good >= max(highest - SAME, window.good_from)
    flat = np.flatnonzero(inside)
    order = flat[np.lexsort((-_depth(inside).ravel()[flat], _height(window, flat, prefer)))]
    for first in range(0, order.size, BATCH):
        some = order[first : first + BATCH]
        some = some[_ends_hold(window, goodness, some, highest - SAME)]
        held = held_probability(goodness, window.factors, settings_at(window.factors, some))
        held_well = np.flatnonzero(held >= highest - SAME)
        if held_well.size:
            return _setpoint(window, int(some[held_well[0]]), float(held[held_well[0]]))
    raise AssertionError("the mark with the highest chance is among them")


def _height(window: Window, flat: NDArray[np.intp], prefer: str) -> Array:
    """How high marks lie in what is preferred low, in parts of the ranges; zero without."""
    places = np.unravel_index(flat, window.allowed.shape)
    height = np.zeros(flat.size)
    for j in wanted_low(window.factors, prefer):
        height += places[j] / max(1, window.factors[j].count - 1)
    return height


def _ends_hold(window: Window, goodness: Goodness, flat: NDArray[np.intp], least: float) -> Flags:
    """Whether marks reach a chance with all settings down, and with all up, by what is held.

    All down most likely falls short, all up most likely flashes: few marks that fail elsewhere
    pass both, and only these have to be asked at every corner.
    """
    settings = settings_at(window.factors, flat)
    holds = np.ones(flat.size, dtype=bool)
    for sign in (-1.0, 1.0):
        ends = _moved(window.factors, settings[holds], np.full(len(window.factors), sign))
        holds[holds] = goodness.probability_good(ends) >= least
    return holds


def _highest_held(window: Window, goodness: Goodness, good: Array) -> float | None:
    """Highest of the worst chances around a mark, exactly.

    The worst chance around a mark is never above the chance at the mark, so that marks are looked
    at in falling order of the latter until none that is left can be better.
    """
    order = np.argsort(-good, kind="stable")
    order = order[good[order] >= window.good_from]
    highest = -1.0
    for first in range(0, order.size, BATCH):
        flat = order[first : first + BATCH]
        if good[flat[0]] <= highest:
            break
        flat = flat[_ends_hold(window, goodness, flat, highest)]
        if flat.size:
            held = held_probability(goodness, window.factors, settings_at(window.factors, flat))
            highest = max(highest, float(held.max()))
    return highest if order.size else None


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
        settings=tuple(float(f.marks[m]) for f, m in zip(window.factors, mark, strict=True)),
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
    """Ranges around a setpoint; None where the setpoint is not even likely in the window."""
    for of, flags in (("sure", window.sure), ("likely", window.likely)):
        if flags[setpoint.mark]:
            low, high = largest_box(flags, setpoint.mark)
            return Ranges(low, high, of)
    return None
