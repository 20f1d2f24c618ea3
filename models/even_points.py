"""Random points that lie more evenly than chance would have it: averages over them settle sooner.

Each point by itself is as random as any other, so that nothing is biased; they only keep out of
each other's way.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

Array = NDArray[np.float64]

#: Square roots of primes share no common measure, so that steps of them never fall into a pattern.
_STEPS = np.sqrt([2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0, 23.0, 29.0])
_EDGE = 1e-15  # a point on the very edge would be infinitely far out


def together_even(dimensions: int, count: int, rng: np.random.Generator) -> Array:
    """Points of a unit cube that are spread evenly over all its few dimensions at once.

    Multiples of the roots of primes, less their whole parts, all moved by the same random step
    (Richtmyer's sequence, moved as by Cranley and Patterson, SIAM J. Numer. Anal. 13, 1976,
    904-914; both from memory). Any number of them may be taken.

    Parameters
    ----------
    dimensions : int
        At most 10.
    count : int
    rng : Generator

    Returns
    -------
    ndarray, shape (dimensions, count)
        Each point is uniform by itself.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.even_points import together_even
    >>> points = together_even(2, 100, np.random.default_rng(1))
    >>> (points[0] * points[1] < 0.25).sum().tolist()  # 59.7 of 100; by chance alone it is +- 5
    59
    """
    steps = _STEPS[:dimensions, None] * np.arange(count)
    points = (rng.uniform(size=(dimensions, 1)) + steps) % 1.0
    return np.asarray(np.clip(points, _EDGE, 1.0 - _EDGE))


def each_even_normals(count: int, dimensions: int, rng: np.random.Generator) -> Array:
    """Standard normal points, each of whose many coordinates is spread evenly by itself.

    In each coordinate one point lies in each of ``count`` stretches of equal chance (Latin
    hypercube: McKay, Beckman and Conover, Technometrics 21, 1979, 239-245, from memory).

    Returns
    -------
    ndarray, shape (count, dimensions)

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.even_points import each_even_normals
    >>> points = each_even_normals(1000, 2, np.random.default_rng(1))
    >>> (points < 0).sum(axis=0).tolist()
    [500, 500]
    """
    stretch = rng.permuted(np.tile(np.arange(count), (dimensions, 1)), axis=1)
    uniform = (stretch + rng.uniform(size=stretch.shape)) / count
    return np.asarray(ndtri(np.clip(uniform, _EDGE, 1.0 - _EDGE))).T


def apart(columns: int, count: int, rng: np.random.Generator) -> Array:
    """Return uniform numbers for each column that divide the unit interval among them.

    Shape (columns, count); the ``count`` of a column are equal steps apart.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.even_points import apart
    >>> drawn = np.sort(apart(3, 4, np.random.default_rng(1)), axis=1)
    >>> np.diff(drawn, axis=1).round(9).tolist()
    [[0.25, 0.25, 0.25], [0.25, 0.25, 0.25], [0.25, 0.25, 0.25]]
    """
    # the order is the same for all columns: it only has to differ from one call to the next
    return np.asarray((rng.uniform(size=(columns, 1)) + rng.permutation(count) / count) % 1.0)
