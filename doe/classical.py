"""Number of factors into the textbook's coded plans: factorials, fractions, composites, screening.

The only user of pyDOE2. Each plan is verified by our own routines before it leaves: balance,
orthogonality, resolution and rank, because generators in use get some of them wrong.
"""

import sys
import types
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.aliases import ZERO, rank, word_means
from shotwindow.doe.terms import first_order, full_quadratic

Floats = NDArray[np.float64]

# Words that make the added factors of minimum-aberration fractions, factors counted from 1
# (Montgomery, Design and Analysis of Experiments, table 8.14, from memory; an exhaustive search
# confirms each word-length pattern, see tests/reference/SOURCES.md).
GENERATORS: dict[tuple[int, int], tuple[tuple[int, ...], ...]] = {
    (3, 1): ((1, 2),),
    (4, 1): ((1, 2, 3),),
    (5, 1): ((1, 2, 3, 4),),
    (5, 2): ((1, 2), (1, 3)),
    (6, 1): ((1, 2, 3, 4, 5),),
    (6, 2): ((1, 2, 3), (2, 3, 4)),
    (6, 3): ((1, 2), (1, 3), (2, 3)),
    (7, 1): ((1, 2, 3, 4, 5, 6),),
    (7, 2): ((1, 2, 3, 4), (1, 2, 4, 5)),
    (7, 3): ((1, 2, 3), (2, 3, 4), (1, 3, 4)),
    (7, 4): ((1, 2), (1, 3), (2, 3), (1, 2, 3)),
    (8, 2): ((1, 2, 3, 4), (1, 2, 5, 6)),
    (8, 3): ((1, 2, 3), (1, 2, 4), (2, 3, 4, 5)),
    (8, 4): ((2, 3, 4), (1, 3, 4), (1, 2, 3), (1, 2, 4)),
}
RESOLUTIONS = {
    (3, 1): 3, (4, 1): 4, (5, 1): 5, (5, 2): 3, (6, 1): 6, (6, 2): 4, (6, 3): 3,
    (7, 1): 7, (7, 2): 4, (7, 3): 4, (7, 4): 3, (8, 2): 5, (8, 3): 4, (8, 4): 4,
}  # fmt: skip
# R. L. Plackett and J. P. Burman, Biometrika 33 (1946) 305; see tests/reference/SOURCES.md.
FIRST_ROWS = {
    8: "+++-+--",
    12: "++-+++---+-",
    16: "++++-+-++--+---",
    20: "++--++++-+-+----++-",
    24: "+++++-+-++--++--+-+----",
}


def _pydoe2() -> Any:
    # pyDOE2 imports the removed standard module `imp` and never uses it
    sys.modules.setdefault("imp", types.ModuleType("imp"))
    import pyDOE2

    return pyDOE2


def two_level(k: int) -> Floats:
    """Return the full two-level factorial, (2^k, k), first factor fastest.

    Examples
    --------
    >>> from shotwindow.doe.classical import two_level
    >>> two_level(2).tolist()
    [[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]]
    """
    rows = np.asarray(_pydoe2().ff2n(int(k)), dtype=float)
    return _balanced(rows, least=k + 1)


def generated(base: int, words: tuple[tuple[int, ...], ...]) -> Floats:
    """Return the fraction whose added factors are products of base factors.

    Parameters
    ----------
    base
        Number of base factors; the plan has 2^base shots.
    words
        For each added factor the base factors, counted from 1, whose product it is.
    """
    letters = "abcdefghijklmnopqrstuvwxyz"[:base]
    added = ["".join(letters[factor - 1] for factor in word) for word in words]
    return np.asarray(_pydoe2().fracfact(" ".join([*letters, *added])), dtype=float)


def fraction(k: int, halvings: int) -> Floats:
    """Return the two-level fraction of least aberration, (2^(k - halvings), k).

    Raises
    ------
    ValueError
        If there is none with resolution III or more.

    Examples
    --------
    >>> from shotwindow.doe.aliases import resolution
    >>> from shotwindow.doe.classical import fraction
    >>> resolution(fraction(4, 1))
    4
    """
    if halvings == 0:
        return two_level(k)
    if (k, halvings) not in GENERATORS:
        raise ValueError(f"no fraction 2^({k}-{halvings}) of resolution III or more is known")
    rows = generated(k - halvings, GENERATORS[k, halvings])
    return _balanced(rows, least=RESOLUTIONS[k, halvings])


def axial(k: int, alpha: float = 1.0) -> Floats:
    """Return the axial shots at -alpha and +alpha of each factor, (2k, k)."""
    star = np.zeros((2 * k, k))
    for j in range(k):
        star[2 * j : 2 * j + 2, j] = -alpha, alpha
    return star


def rotatable_alpha(cube: int) -> float:
    """Return the axial distance that makes prediction as good in every direction: cube^(1/4).

    NIST/SEMATECH e-Handbook section 5.3.3.6.1, for a cube part of so many shots.

    Examples
    --------
    >>> from shotwindow.doe.classical import rotatable_alpha
    >>> round(rotatable_alpha(8), 4)
    1.6818
    """
    return float(cube**0.25)


def blocking_alpha(k: int, cube: int, cube_centers: int, axial_centers: int) -> float:
    """Return the axial distance that keeps a cube block and an axial block orthogonal.

    The sum of squares of each factor is then the same share of both blocks' shots:
    alpha^2 = k (1 + axial_centers / 2k) / (1 + cube_centers / cube).

    Examples
    --------
    >>> from shotwindow.doe.classical import blocking_alpha
    >>> round(blocking_alpha(3, 8, 4, 2), 6)
    1.632993
    """
    return float(np.sqrt(k * (1 + axial_centers / (2 * k)) / (1 + cube_centers / cube)))


def box_behnken(k: int) -> Floats:
    """Return the edge midpoints of a Box-Behnken plan without its centers, three to five factors.

    Raises
    ------
    ValueError
        For any other number of factors.
    """
    if not 3 <= k <= 5:
        raise ValueError(f"Box-Behnken plans are for 3 to 5 factors, not {k}")
    rows = np.asarray(_pydoe2().bbdesign(int(k), center=1), dtype=float)
    edges: Floats = rows[np.abs(rows).sum(axis=1) > 0]
    terms = full_quadratic(_letters(k))
    _verify(
        len(edges) == 2 * k * (k - 1)
        and bool((np.abs(edges).sum(axis=1) == 2).all())
        and rank(terms, np.vstack([edges, np.zeros(k)])) == len(terms),
        f"the Box-Behnken plan for {k} factors",
    )
    return edges


def plackett_burman(k: int, runs: int) -> Floats:
    """Return the first k columns of the Plackett-Burman plan in 8, 12, 16, 20 or 24 runs.

    Its first row is shifted cyclically, and a row of lows ends it. (pyDOE2 has the same up to 20
    runs; its 24 are another plan, in which some main effects are one with an interaction.)

    Raises
    ------
    ValueError
        If the plan has too few columns or none has so many runs.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.classical import plackett_burman
    >>> rows = plackett_burman(11, 12)
    >>> bool((rows.T @ rows == 12 * np.eye(11)).all())
    True
    """
    if runs not in FIRST_ROWS or k >= runs:
        raise ValueError(f"no Plackett-Burman plan has {runs} runs and {k} factors")
    first = np.array([1.0 if sign == "+" else -1.0 for sign in FIRST_ROWS[runs]])
    shifted = [np.roll(first, shift) for shift in range(runs - 1)]
    return _balanced(np.vstack([*shifted, -np.ones(runs - 1)])[:, :k], least=3)


def definitive(k: int) -> Floats:
    """Return the definitive screening plan for 5 to 8 factors with its one center: 13 or 17 shots.

    A conference matrix C (C'C = q I, from the squares modulo a prime q), folded over, and a center.
    Main effects are free of each other, of interactions and of squares (B. Jones and
    C. J. Nachtsheim, Journal of Quality Technology 43 (2011) 1, from memory; verified here).

    Raises
    ------
    ValueError
        For any other number of factors.
    """
    if not 5 <= k <= 8:
        raise ValueError(f"definitive screening is offered for 5 to 8 factors, not {k}")
    prime = 5 if k <= 6 else 7
    squares = {i * i % prime for i in range(1, prime)}
    matrix = np.ones((prime + 1, prime + 1))
    matrix[0, 0] = 0
    matrix[1:, 0] = 1 if prime % 4 == 1 else -1
    for i, j in np.ndindex(prime, prime):
        matrix[i + 1, j + 1] = 0 if i == j else (1 if (i - j) % prime in squares else -1)
    half = matrix[:, :k]
    rows = np.vstack([half, -half, np.zeros((1, k))])
    linear = first_order(_letters(k)).matrix(rows)
    second = full_quadratic(_letters(k)).matrix(rows)[:, k + 1 :]
    cross = linear.T @ linear
    _verify(
        bool(np.allclose(cross, np.diag(np.diag(cross))))
        and bool(np.allclose(linear[:, 1:].T @ second, 0)),
        f"the definitive screening plan for {k} factors",
    )
    return rows


def _letters(k: int) -> tuple[str, ...]:
    return tuple("abcdefgh"[:k])


def _balanced(rows: Floats, least: int) -> Floats:
    """Return two-level rows after checking that no word is shorter than the least.

    Words of one and two factors are the balance of each column and of each pair.
    """
    k = rows.shape[1]
    shorter = word_means(rows, longest=least - 1).values()
    _verify(
        bool((np.abs(rows) == 1).all()) and max(map(abs, shorter)) < ZERO,
        f"a two-level plan for {k} factors in {len(rows)} shots",
    )
    return rows


def _verify(holds: bool, what: str) -> None:
    if not holds:
        raise RuntimeError(f"{what} came out wrong: it is not balanced or loses terms")
