"""The setpoint against a plain search over every mark, where chances jump from mark to mark."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models import held_chances
from shotwindow.models import setpoint as searching
from shotwindow.models.goodness import Goodness
from shotwindow.models.setpoint import SAME, best_mark, find_ranges, find_setpoint
from shotwindow.models.window import Window

Array = NDArray[np.float64]
Mark = tuple[int, ...]

PRESSURE = Factor("pressure", "bar", 3.0, 3.6, 0.1, (3.0, 3.6), 0.1)
MELT = Factor("melt_temperature", "degC", 200.0, 220.0, 5.0, (190.0, 230.0), 5.0, soak_min=10.0)
TIME = Factor("injection_time", "s", 4.0, 7.0, 1.0, (3.0, 7.0), 1.0)

#: Some lie just at a limit: at what is wanted, and at what is taken as equal to the best.
CHANCES = np.array([0.85, 0.9, 0.95 - SAME, 0.95, 0.95 + SAME, 0.999])


@dataclass(frozen=True)
class _Table(Goodness):
    """Chances from a table with a cell for each mark, and for one step beyond either end."""

    factors: tuple[Factor, ...]
    cells: Array
    asked: list[int] = field(default_factory=list)

    def probability_good(self, settings: Array, *, size: int = 256) -> Array:
        self.asked.append(len(settings))
        steps = [(settings[:, j] - f.low) / f.step for j, f in enumerate(self.factors)]
        return np.asarray(self.cells[tuple(np.rint(s).astype(int) + 1 for s in steps)])


def _table(factors: tuple[Factor, ...], cells: Array) -> _Table:
    return _Table(None, (), factors, cells)  # type: ignore[arg-type] # no surface is asked


def _window(chances: _Table, untried: Sequence[Mark] = ()) -> Window:
    factors, shape = chances.factors, tuple(f.count for f in chances.factors)
    good = chances.cells[(slice(1, -1),) * len(factors)].copy()
    for mark in untried:
        good[mark] = np.nan
    yes = np.ones(shape, dtype=bool)
    return Window(factors, 0.9, good, np.where(good > 0.9, 0.95, 0.6), yes, yes, ())


def _drawn(factors: tuple[Factor, ...], seed: int) -> tuple[Window, _Table]:
    """Draw chances, a few good ones in most tables, and leave two marks untried."""
    rng = np.random.default_rng(seed)
    few = 0.02 + 0.1 * rng.uniform()
    often = np.array([few, few, few, 1.0, 1.0, 1.0])
    cells = rng.choice(CHANCES, [f.count + 2 for f in factors], p=often / often.sum())
    chances = _table(factors, cells)
    untried = [tuple(int(rng.integers(f.count)) for f in factors) for _ in range(2)]
    return _window(chances, untried), chances


def _plain_held(chances: _Table, mark: Mark) -> float:
    """Lowest chance over the mark and its corners, one by one; limits of the press hold a move."""
    found = []
    for signs in [(0.0,) * len(mark), *product((-1.0, 1.0), repeat=len(mark))]:
        moved = [
            min(max(f.marks[m] + s * f.holds, f.limits[0]), f.limits[1])
            for f, m, s in zip(chances.factors, mark, signs, strict=True)
        ]
        found.append(float(chances.probability_good(np.array([moved]))[0]))
    return min(found)


def _plain_depth(inside: NDArray[np.bool_], mark: Mark) -> float:
    """Marks to the nearer end along each factor, in parts of the most there; the least of them."""

    def steps(at: Mark, axis: int) -> int:
        ends = []
        for way in (-1, 1):
            count, place = 0, list(at)
            while 0 <= place[axis] < inside.shape[axis] and inside[tuple(place)]:
                count, place[axis] = count + 1, place[axis] + way
            ends.append(count)
        return min(ends)

    every = list(product(*map(range, inside.shape)))
    most = [max(steps(at, axis) for at in every) for axis in range(inside.ndim)]
    return min(steps(mark, axis) / most[axis] for axis in range(inside.ndim))


def _plain_setpoint(window: Window, chances: _Table, axes: Sequence[int]) -> Mark | None:
    good = np.nan_to_num(window.probability_good, nan=-1.0)
    marks = [m for m in product(*map(range, good.shape)) if good[m] >= 0.9]
    if not marks:
        return None
    held = {mark: _plain_held(chances, mark) for mark in marks}
    highest = max(held.values())
    inside = good >= max(highest - SAME, 0.9)
    as_good = [m for m in marks if inside[m] and held[m] >= highest - SAME]
    parts = [f.count - 1 for f in window.factors]
    return min(
        as_good,
        key=lambda m: (sum(m[j] / parts[j] for j in axes), -_plain_depth(inside, m), m),
    )


@pytest.mark.parametrize(("batch", "together"), [(1, 1), (5, 2), (256, 1), (256, 16)])
@pytest.mark.parametrize(
    ("prefer", "axes"), [("", ()), ("low-pressure", (0,)), ("cool-melt", (1,))]
)
def test_find_setpoint__jumping_chances__as_the_plain_search(
    monkeypatch: pytest.MonkeyPatch, batch: int, together: int, prefer: str, axes: tuple[int, ...]
) -> None:
    monkeypatch.setattr(searching, "BATCH", batch)
    monkeypatch.setattr(held_chances, "TOGETHER", together)
    for seed in range(20):
        window, chances = _drawn((PRESSURE, MELT) if seed % 2 else (MELT, PRESSURE, TIME), seed)
        places = axes if seed % 2 else tuple(1 - j for j in axes)  # named in the other order there
        mark = _plain_setpoint(window, chances, places)
        found = find_setpoint(window, chances, prefer=prefer)
        assert found is not None and found.mark == mark, seed
        assert found.settings == tuple(
            f.marks[m] for f, m in zip(window.factors, mark, strict=True)
        )
        assert found.probability_held == _plain_held(chances, mark)
        assert found.probability_good == window.probability_good[mark]
        assert found.probability_in_window == window.probability_in_window[mark]
        assert found.narrow == (found.probability_held < 0.9)


def test_find_setpoint__two_factors_preferred_low__in_parts_of_their_ranges() -> None:
    """One mark of a factor of two weighs as much as six of a factor of seven."""
    valve = Factor("valve", "turn", 0.0, 1.0, 1.0, (0.0, 1.0), 0.0, acts_as="pressure")
    for better, worse in (((4, 0), (0, 1)), ((5, 0), (0, 1)), ((0, 1), (6, 0)), ((0, 1), (1, 1))):
        cells = np.full((9, 4), 0.8)
        for mark in (better, worse):
            cells[mark[0] + 1, mark[1] + 1] = 0.95
        chances = _table((replace(PRESSURE, holds=0.0), valve), cells)
        found = find_setpoint(_window(chances), chances, prefer="low-pressure")
        assert found is not None and found.mark == better


def test_find_setpoint__better_mark_among_worse_ones_looked_at_later__is_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Three marks look better, each with a bad neighbor; the best comes with the next three."""
    monkeypatch.setattr(searching, "BATCH", 3)
    wide = replace(PRESSURE, limits=(0.0, 7.0))
    chances = _table((wide,), np.array([0.9, 0.99, 0.9, 0.9, 0.99, 0.98, 0.97, 0.99, 0.9]))
    found = find_setpoint(_window(chances), chances)
    assert found is not None and (found.mark, found.probability_held) == ((4,), 0.97)


@pytest.mark.parametrize(("corner", "narrow"), [(0.9, False), (0.89, True)])
def test_find_setpoint__chances_just_at_the_wanted_share__are_enough(
    corner: float, narrow: bool
) -> None:
    chances = _table((PRESSURE, MELT), np.full((9, 7), 0.89))
    chances.cells[3:6, 2:5] = 0.9
    chances.cells[3, 2] = corner
    found = find_setpoint(_window(chances), chances)
    assert found is not None and found.mark == (3, 2)
    assert (found.probability_held, found.narrow) == (corner, narrow)


def test_find_setpoint__sure_of_the_best__the_rest_is_not_asked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Nine marks are better than all others: both ways through ask only these at their corners."""
    monkeypatch.setattr(searching, "BATCH", 9)
    chances = _table((PRESSURE, MELT), np.full((9, 7), 0.92))
    chances.cells[3:6, 2:5] = 0.999
    assert find_setpoint(_window(chances), chances) is not None
    # all down and all up of nine marks, then five settings around what passes both: first all (no
    # chance is known), in the second way only the middle
    assert sum(chances.asked) == 9 + 9 + 9 * 5 + 9 + 4 + 5


def test_best_mark__highest_of_those_with_an_answer__even_where_none_is_good() -> None:
    chances = _table((PRESSURE, MELT), np.zeros((9, 7)))
    assert best_mark(_window(chances, [(0, 0)])) == (0, 1)
    chances.cells[5, 2] = 0.3
    assert best_mark(_window(chances)) == (4, 1)
    assert best_mark(_window(chances, list(product(range(7), range(5))))) is None


def test_find_ranges__setpoint_sure_or_likely_or_neither__of_that_window() -> None:
    chances = _table((PRESSURE, MELT), np.full((9, 7), 0.95))
    window = _window(chances)
    found = find_setpoint(window, chances)
    assert found is not None and found.mark == (3, 2)
    chance = np.full((7, 5), 0.4)
    chance[1:6, 1:4] = 0.5
    likely = find_ranges(replace(window, probability_in_window=chance), found)
    assert likely is not None and (likely.low, likely.high, likely.of) == ((1, 1), (5, 3), "likely")
    chance[2:5, 2] = 0.9
    sure = find_ranges(replace(window, probability_in_window=chance), found)
    assert sure is not None and (sure.low, sure.high, sure.of) == ((2, 2), (4, 2), "sure")
    assert find_ranges(replace(window, probability_in_window=0 * chance), found) is None


def test_held_search__one_corner_spoils_all__the_others_are_asked_there_first() -> None:
    """All marks fail at pressure down and melt up, which is not among the corners asked first."""
    long = replace(PRESSURE, low=0.0, high=9.9, limits=(-1.0, 11.0))
    cells = np.full((long.count + 2, MELT.count + 2), 0.99)
    cells[np.arange(long.count + 2) % 4 < 2, -1] = 0.5  # just above the range of melt
    chances = _table((long, MELT), cells)
    marks = np.flatnonzero(np.arange(long.count) % 4 < 2)  # a cell below is bad, one above good
    search = held_chances.HeldSearch(chances, chances.factors, 0.9)
    at = np.column_stack([long.marks[marks], np.full(marks.size, MELT.high)])
    found = list(search.among(at))
    (rows, held), first = found[0], held_chances.TOGETHER
    assert len(found) == 1 and rows.tolist() == list(range(first)) and (held == 0.5).all()
    assert all(_plain_held(chances, (int(m), MELT.count - 1)) == 0.5 for m in marks)
    # all down, all up, then the first few at all corners; the rest at the one where these failed
    assert chances.asked[:4] == [50, 50, 5 * first, 50 - first]
    assert list(search.among(at[:first])) == [] and chances.asked[-3:] == [first, 0, 0]
