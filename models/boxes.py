"""Flags over marks and one mark -> the largest box of true marks around it, exactly."""

from itertools import combinations
from math import prod

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.bool_]
Whole = NDArray[np.intp]
Box = tuple[tuple[int, ...], tuple[int, ...]]


def largest_box(flags: Flags, mark: tuple[int, ...]) -> Box:
    """Find the box of true cells around ``mark`` with the most cells.

    Of boxes with as many cells it is the one with the mark nearest its middle.

    Parameters
    ----------
    flags : ndarray of bool, one axis a factor
    mark : tuple of int
        A true cell.

    Returns
    -------
    low, high : tuple of int
        First and last cell of each axis.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.boxes import largest_box
    >>> flags = np.array([[1, 1, 1, 0], [0, 1, 1, 1]], dtype=bool)
    >>> largest_box(flags, (0, 1))
    ((0, 1), (1, 2))
    """
    # no box reaches farther along an axis than the line through the mark; the axes with the
    # longest lines come last, where a box is bounded at once rather than searched
    lines = [_stretch(_line(flags, axis, mark), m) for axis, m in enumerate(mark)]
    order = sorted(range(flags.ndim), key=lambda axis: lines[axis][1] - lines[axis][0])
    part = flags[tuple(slice(a, b + 1) for a, b in lines)].transpose(order)
    search = _Search(tuple(mark[axis] - lines[axis][0] for axis in order))
    search.grow(np.ascontiguousarray(part), (), (), 1)
    place = {axis: i for i, axis in enumerate(order)}
    low, high = search.box
    return (
        tuple(low[place[axis]] + lines[axis][0] for axis in range(flags.ndim)),
        tuple(high[place[axis]] + lines[axis][0] for axis in range(flags.ndim)),
    )


class _Search:
    """The best box so far, and a search that leaves out what cannot be better."""

    def __init__(self, mark: tuple[int, ...]) -> None:
        self.mark = mark
        self.box: Box = (mark, mark)
        self.size: tuple[int, float] = (0, 0.0)

    def grow(self, left: Flags, low: tuple[int, ...], high: tuple[int, ...], cells: int) -> None:
        """Try every stretch of the first axis of what is left."""
        here = self.mark[len(low) :]
        if left.ndim == 1:
            first, last = _stretch(left, here[0])
            box = (*low, first), (*high, last)
            self.size, self.box = max(
                ((cells * (last - first + 1), _room(*box, self.mark)), box),
                (self.size, self.box),
                key=lambda found: found[0],
            )
            return
        if not _fits(left, here, -(-self.size[0] // cells)):
            return
        first, last = _stretch(_line(left, 0, here), here[0])
        # longest stretches first: a large box found early spares most of the others
        for a, b in sorted(
            ((a, b) for a in range(first, here[0] + 1) for b in range(here[0], last + 1)),
            key=lambda run: run[0] - run[1],
        ):
            kept = np.asarray(left[a : b + 1].all(axis=0))
            self.grow(kept, (*low, a), (*high, b), cells * (b - a + 1))


def _room(low: tuple[int, ...], high: tuple[int, ...], mark: tuple[int, ...]) -> float:
    """How well a mark is placed in a box: the parts of each side to its nearer end, added up."""
    sides = zip(low, high, mark, strict=True)
    return float(sum(min(m - a, b - m) / (b - a + 1) for a, b, m in sides))


def _line(flags: Flags, axis: int, mark: tuple[int, ...]) -> Flags:
    """Cells along one axis through ``mark``."""
    return flags[tuple(slice(None) if a == axis else m for a, m in enumerate(mark))]


def _stretch(line: Flags, place: int) -> tuple[int, int]:
    """First and last of the true cells through ``place`` without a gap."""
    cells, first, last = line.tolist(), place, place
    while first > 0 and cells[first - 1]:
        first -= 1
    while last + 1 < len(cells) and cells[last + 1]:
        last += 1
    return first, last


def _fits(flags: Flags, mark: tuple[int, ...], cells: int) -> bool:
    """Whether a box around ``mark`` may have so many cells; a no is always true.

    Each pair of its sides spans a rectangle of true cells through the mark. With d sides the
    product of all those rectangles counts each side d - 1 times. One after the other they take
    the place of the rectangles that the lines through the mark would span.
    """
    ends = [_stretch(_line(flags, axis, mark), m) for axis, m in enumerate(mark)]
    sides = [last - first + 1 for first, last in ends]
    most, least = prod(sides) ** (flags.ndim - 1), cells ** (flags.ndim - 1)
    for one, other in combinations(range(flags.ndim), 2):
        if most < least:
            return False
        plane = tuple(slice(None) if a in (one, other) else m for a, m in enumerate(mark))
        most = (
            most // (sides[one] * sides[other]) * _rectangle(flags[plane], mark[one], mark[other])
        )
    return bool(most >= least)


def _rectangle(flags: Flags, row: int, column: int) -> int:
    """Cells of the largest rectangle of true cells through one cell."""
    up, down = _reach(flags[row::-1], column), _reach(flags[row:], column)
    width = np.minimum(up[:, :, None], down[:, None, :]).sum(axis=0) + 1
    height = np.arange(up.shape[1])[:, None] + np.arange(down.shape[1]) + 1
    return int((width * height).max())


def _reach(rows: Flags, column: int) -> Whole:
    """Cells that the first row, the first two, ... share to either side, shape (2, rows).

    Minus one where they do not even share the column.
    """
    sides = (rows[:, column::-1], rows[:, column:])
    runs = [np.logical_and.accumulate(side, axis=1).sum(axis=1) for side in sides]
    return np.minimum.accumulate(np.array(runs), axis=1) - 1
