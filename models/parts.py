"""Flags over marks -> the connected parts they fall into, the largest first."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.bool_]
Whole = NDArray[np.intp]


@dataclass(frozen=True)
class Part:
    """Marks that can be walked between without leaving the window, one mark at a time.

    Attributes
    ----------
    marks : int
    low, high : tuple of int, length k
        First and last mark of each factor that occur in it.
    inside : tuple of int, length k
        One of its marks: the one with the highest value.
    """

    marks: int
    low: tuple[int, ...]
    high: tuple[int, ...]
    inside: tuple[int, ...]


def connected_parts(flags: Flags, values: NDArray[np.float64]) -> tuple[Part, ...]:
    """Find the parts of true cells that are joined along the axes.

    Parameters
    ----------
    flags : ndarray of bool, one axis a factor
    values : ndarray, of the same shape
        What `inside` is chosen by.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.parts import connected_parts
    >>> flags = np.array([[1, 1, 0], [0, 0, 1], [0, 0, 1]], dtype=bool)
    >>> [(part.marks, part.low, part.high) for part in connected_parts(flags, flags * 1.0)]
    [(2, (0, 0), (0, 1)), (2, (1, 2), (2, 2))]
    """
    flat = np.flatnonzero(flags)
    if not flat.size:
        return ()
    _, which, sizes = np.unique(_joined(flags, flat), return_inverse=True, return_counts=True)
    order = np.lexsort((values.ravel()[flat], which))  # part by part, the highest value last
    places = np.array(np.unravel_index(flat[order], flags.shape))
    last = np.cumsum(sizes) - 1
    first = last - sizes + 1
    low, high = (end.reduceat(places, first, axis=1).T for end in (np.minimum, np.maximum))
    parts = [
        Part(int(size), tuple(a.tolist()), tuple(b.tolist()), tuple(best.tolist()))
        for size, a, b, best in zip(sizes, low, high, places[:, last].T, strict=True)
    ]
    return tuple(sorted(parts, key=lambda part: -part.marks))


def _joined(flags: Flags, flat: Whole) -> Whole:
    """Give every true cell a number that it shares with all cells of its part.

    Stretches along the last axis are joined to those beside them along every other axis: the
    lower number is handed on until nothing changes.
    """
    stretch = _stretches(flags)
    count = int(stretch.max()) + 1
    pairs = np.unique(
        np.concatenate([_touching(stretch, axis, count) for axis in range(flags.ndim - 1)])
        if flags.ndim > 1
        else np.zeros(0, dtype=int)
    )
    one, other = np.divmod(pairs, count)
    root = np.arange(count)
    while True:
        lower = np.minimum(root[one], root[other])
        before = root.copy()
        np.minimum.at(root, root[one], lower)
        np.minimum.at(root, root[other], lower)
        root = root[root]
        if (root == before).all():
            return np.asarray(root[stretch.ravel()[flat]])


def _stretches(flags: Flags) -> Whole:
    """Number the stretches of true cells along the last axis; -1 where a cell is not true."""
    before = np.zeros_like(flags)
    before[..., 1:] = flags[..., :-1]
    number = np.cumsum((flags & ~before).ravel()).reshape(flags.shape) - 1
    return np.where(flags, number, -1)


def _touching(stretch: Whole, axis: int, count: int) -> Whole:
    """Pairs of stretches side by side along an axis, each once, as one number."""
    lines = np.moveaxis(stretch, axis, 0)
    here, there = lines[:-1], lines[1:]
    both = (here >= 0) & (there >= 0)
    numbers = here[both] * count + there[both]
    first = np.append(True, numbers[1:] != numbers[:-1])[: numbers.size]  # long runs of one pair
    return np.unique(numbers[first])
