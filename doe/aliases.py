"""Settings of a plan turned into what it cannot tell apart: words, resolution, rank, aliases.

All signs are kept: a word that is -1 in every shot aliases as surely as one that is +1. Nothing is
taken from how a plan was made, everything from its rows, so a wrong generator is found out.
"""

from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.terms import Terms

Floats = NDArray[np.float64]

# Below this, a mean of products of +-1 is rounding.
ZERO = 1e-9


def word_means(coded: Floats, longest: int | None = None) -> dict[tuple[int, ...], float]:
    """Return the mean product of the columns of every set of two-level factors.

    Parameters
    ----------
    coded
        Two-level settings -1 and +1, (n, k).
    longest
        Sets of so many factors at most; by default of all.

    Returns
    -------
    dict
        From the positions of one or more factors to a mean from -1 to +1: 0 where the set is
        balanced, +-1 where it is a word of the defining relation.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.aliases import word_means
    >>> word_means(np.array([[-1.0, 1.0], [1.0, -1.0]]))[0, 1]
    -1.0
    """
    k = coded.shape[1]
    sizes = range(1, (k if longest is None else longest) + 1)
    sets = (s for size in sizes for s in combinations(range(k), size))
    return {chosen: float(coded[:, list(chosen)].prod(axis=1).mean()) for chosen in sets}


def word_lengths(coded: Floats) -> tuple[float, ...]:
    """Return how many words of length 1, 2, ... k a two-level plan has, (k,).

    A partial word counts as its squared mean: the generalized word-length pattern, which for a
    regular fraction is the textbook's.
    """
    counts = np.zeros(coded.shape[1])
    for chosen, mean in word_means(coded).items():
        counts[len(chosen) - 1] += mean**2
    return tuple(float(count) for count in counts.round(9))


def resolution(coded: Floats) -> int | None:
    """Return the length of the shortest word, partial ones counted; None where there is none.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.aliases import resolution
    >>> resolution(np.array([[-1, -1, 1], [1, -1, -1], [-1, 1, -1], [1, 1, 1.0]]))
    3
    """
    lengths = [len(chosen) for chosen, mean in word_means(coded).items() if abs(mean) > ZERO]
    return min(lengths, default=None)


def defining_relation(names: tuple[str, ...], coded: Floats) -> tuple[str, ...]:
    """Return the signed full words of a two-level plan, shortest first, such as "- a x b x c"."""
    return tuple(
        f"{'+' if mean > 0 else '-'} {' x '.join(names[j] for j in chosen)}"
        for chosen, mean in word_means(coded).items()
        if abs(mean) > 1 - ZERO
    )


def told_apart(terms: Terms, coded: Floats, beside: Floats | None = None) -> NDArray[np.bool_]:
    """Return which terms to keep, (p,): in order, each that the ones before do not explain.

    Columns beside the terms, such as blocks (n, b), explain first.
    """
    keep = np.zeros(len(terms), dtype=bool)
    first = np.zeros((len(coded), 0)) if beside is None else beside
    basis = np.zeros((len(coded), 0))
    for j, column in enumerate(np.hstack([first, terms.matrix(coded)]).T, start=-first.shape[1]):
        left = column - basis @ (basis.T @ column)
        left -= basis @ (basis.T @ left)  # once more, or rounding lets a dependent one through
        length = np.linalg.norm(left)
        if length > 1e-7 * max(1.0, float(np.linalg.norm(column))):
            basis = np.column_stack([basis, left / length])
            if j >= 0:
                keep[j] = True
    return keep


def rank(terms: Terms, coded: Floats, beside: Floats | None = None) -> int:
    """Return how many of the terms the settings (n, k) can tell apart."""
    return int(told_apart(terms, coded, beside).sum())


def alias_matrix(model: Terms, others: Terms, coded: Floats) -> Floats:
    """Return how much of each left-out term ends up in each fitted one: (X1'X1)^-1 X1'X2.

    Parameters
    ----------
    model
        p fitted terms, which the settings can tell apart.
    others
        q terms that exist and are not fitted.
    coded
        Settings, (n, k).

    Returns
    -------
    ndarray
        Shape (p, q).
    """
    fitted, left_out = model.matrix(coded), others.matrix(coded)
    aliased: Floats = np.asarray(np.linalg.lstsq(fitted, left_out, rcond=None)[0], dtype=float)
    return aliased


def aliases(
    model: Terms, coded: Floats, *, degree: int = 3, least: float = 0.05
) -> tuple[str, ...]:
    """Return one string for each fitted term that carries others: "a = + b x c x d".

    Terms of the model that the plan cannot tell from those before them are counted as left out.

    Parameters
    ----------
    model
        Terms meant to be fitted.
    coded
        Settings, (n, k).
    degree
        Products of up to so many factors, and squares, are looked at.
    least
        Share from which an alias is named.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.aliases import aliases
    >>> from shotwindow.doe.terms import first_order
    >>> half = np.array([[-1, -1, 1], [1, -1, -1], [-1, 1, -1], [1, 1, 1.0]])
    >>> aliases(first_order("abc"), half)[0]
    'a = + b x c'
    """
    keep = told_apart(model, coded)
    fitted = model.subset(keep)
    others = _left_out(fitted, coded, degree)
    if not len(others):
        return ()
    shares = alias_matrix(fitted, others, coded)
    lines = []
    for name, row in zip(fitted.names, shares, strict=True):
        carried = [
            _signed(share, other)
            for share, other in zip(row, others.names, strict=True)
            if abs(share) >= least
        ]
        if name != "1" and carried:
            lines.append(f"{name} = {' '.join(carried)}")
    return tuple(lines)


def _left_out(fitted: Terms, coded: Floats, degree: int) -> Terms:
    """Return products up to the degree, and squares, that are not fitted."""
    k = len(fitted.factors)
    candidates = [
        powers
        for powers in product(range(3), repeat=k)
        if 0 < sum(powers) <= degree and (max(powers) == 1 or sum(powers) == 2)
    ]
    # a square that is 1 in every shot is the constant, which says nothing about other effects
    curved = np.abs(np.abs(coded) - 1).max(axis=0) > ZERO
    known = set(fitted.exponents)
    kept = [p for p in candidates if p not in known and (max(p) == 1 or curved[p.index(2)])]
    kept.sort(key=lambda p: (sum(p), [-power for power in p]))
    return Terms(tuple(kept), fitted.factors)


def _signed(share: float, name: str) -> str:
    size = "" if abs(abs(share) - 1) < 1e-6 else f"{abs(share):.2f} "
    return f"{'+' if share > 0 else '-'} {size}{name}"
