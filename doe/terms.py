"""Model terms: lists of exponents into named columns of a model matrix.

A term is a product of powers of coded factors: ``(0, 0)`` is the constant, ``(1, 1)`` the
interaction of two factors, ``(0, 2)`` the square of the second. Plans are chosen and judged, and
surfaces fitted, on the columns that these terms make.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.errors import guess

MODELS = ("first-order", "interactions", "quadratic")


@dataclass(frozen=True)
class Terms:
    """The terms of a polynomial in coded factors.

    Parameters
    ----------
    exponents
        One tuple a term, one power a factor.
    factors
        Names of the k factors, in the order of the exponents.

    Examples
    --------
    >>> from shotwindow.doe.terms import full_quadratic
    >>> terms = full_quadratic(("pressure", "time"))
    >>> terms.names
    ('1', 'pressure', 'time', 'pressure x time', 'pressure^2', 'time^2')
    >>> terms.matrix([[0.5, -1.0]]).tolist()
    [[1.0, 0.5, -1.0, -0.5, 0.25, 1.0]]
    """

    exponents: tuple[tuple[int, ...], ...]
    factors: tuple[str, ...]

    def __len__(self) -> int:
        """Return p, the number of terms."""
        return len(self.exponents)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Name of each term in factor names, ``"1"`` for the constant."""
        return tuple(term_name(powers, self.factors) for powers in self.exponents)

    @cached_property
    def powers(self) -> NDArray[np.int_]:
        """The exponents as an array (p, k)."""
        return np.array(self.exponents, dtype=int).reshape(len(self), len(self.factors))

    def matrix(self, coded: NDArray[np.float64] | Sequence[Sequence[float]]) -> NDArray[np.float64]:
        """Return the model matrix.

        Parameters
        ----------
        coded
            Coded settings, shape (..., k).

        Returns
        -------
        ndarray
            Shape (..., p), one column a term.
        """
        settings = np.asarray(coded, dtype=float)
        padded = np.concatenate([np.ones((*settings.shape[:-1], 1)), settings], axis=-1)
        return product_of(padded, self.gather)

    @cached_property
    def gather(self) -> NDArray[np.int_]:
        """Columns of ``[1, x1, ..., xk]`` whose product is each term: (p, highest degree)."""
        return gather_of(self.powers)

    def subset(self, keep: NDArray[np.bool_]) -> "Terms":
        """Return the terms where ``keep`` (p,) is true."""
        chosen = tuple(term for term, kept in zip(self.exponents, keep, strict=True) if kept)
        return Terms(chosen, self.factors)


def gather_of(powers: NDArray[np.int_]) -> NDArray[np.int_]:
    """Turn exponents (p, k) into indices (p, degree) of ``[1, x1, ..., xk]``; 0 fills up."""
    degree = max(1, int(powers.sum(axis=1).max(initial=1)))
    indices = np.zeros((len(powers), degree), dtype=int)
    for row, term in enumerate(powers):
        factors = np.repeat(np.arange(1, len(term) + 1), term)
        indices[row, : len(factors)] = factors
    return indices


def product_of(padded: NDArray[np.float64], gather: NDArray[np.int_]) -> NDArray[np.float64]:
    """Multiply the gathered columns of ``padded`` (..., 1 + k) into terms (..., p)."""
    # one multiplication a degree is several times faster than powers of floats
    product = padded[..., gather[:, 0]]
    for column in gather.T[1:]:
        product = product * padded[..., column]
    return product


def term_name(powers: Sequence[int], factors: Sequence[str]) -> str:
    """Return ``"a x b^2"`` for the powers (1, 2) of the factors a and b."""
    parts = [
        name if power == 1 else f"{name}^{power}"
        for name, power in zip(factors, powers, strict=True)
        if power
    ]
    return " x ".join(parts) if parts else "1"


def first_order(factors: Sequence[str]) -> Terms:
    """Return the constant and one linear term a factor: 1 + k terms."""
    return _terms(factors, interactions=False, squares=False)


def with_interactions(factors: Sequence[str]) -> Terms:
    """Return first order and all products of two factors: 1 + k + k(k-1)/2 terms."""
    return _terms(factors, interactions=True, squares=False)


def full_quadratic(factors: Sequence[str]) -> Terms:
    """Return constant, linear terms, products of two and squares: (k+1)(k+2)/2 terms."""
    return _terms(factors, interactions=True, squares=True)


def model_terms(model: str, factors: Sequence[str]) -> Terms:
    """Return the terms of a model by its name, in the order of the full quadratic.

    Parameters
    ----------
    model
        One of `MODELS`, and after it, each behind a +, single terms of second order that it lacks.
    factors
        Names of the factors.

    Raises
    ------
    ValueError
        If a name is not known; the message says which.

    Examples
    --------
    >>> from shotwindow.doe.terms import MODELS, model_terms
    >>> [len(model_terms(model, "abcd")) for model in MODELS]
    [5, 11, 15]
    >>> model_terms("first-order + a x c + b^2", "abc").names
    ('1', 'a', 'b', 'c', 'a x c', 'b^2')
    """
    base, *more = (" ".join(part.split()) for part in model.split("+"))
    if base not in MODELS:
        raise ValueError(f"no model is called {base or 'nothing'}{_meant(base, MODELS)}")
    terms = _terms(factors, interactions=base != MODELS[0], squares=base == MODELS[-1])
    whole = full_quadratic(factors)
    added = {_powers(name, factors) for name in more}
    keep = [powers in added or powers in terms.exponents for powers in whole.exponents]
    return whole.subset(np.array(keep))


def _powers(name: str, factors: Sequence[str]) -> tuple[int, ...]:
    """Return the exponents of a term such as "a x b" or "a^2"."""
    powers = [0] * len(factors)
    for piece in re.split(r" x |\*", name):
        factor, _, power = (text.strip() for text in piece.partition("^"))
        known = factor.replace(" ", "_")
        if known not in factors:
            raise ValueError(f"no factor is called {factor or 'nothing'}{_meant(known, factors)}")
        powers[list(factors).index(known)] += {"": 1, "2": 2}.get(power, 3)
    if sum(powers) != 2:
        raise ValueError(f"{name} is not a product of two factors or a square")
    return tuple(powers)


def _meant(word: str, known: Sequence[str]) -> str:
    meant = guess(word, known)
    return f"; did you mean {meant}?" if meant else ""


def _terms(factors: Sequence[str], *, interactions: bool, squares: bool) -> Terms:
    k = len(factors)
    unit = np.eye(k, dtype=int)
    rows = [np.zeros(k, dtype=int), *unit]
    if interactions:
        rows += [unit[i] + unit[j] for i, j in combinations(range(k), 2)]
    if squares:
        rows += list(2 * unit)
    return Terms(tuple(tuple(int(power) for power in row) for row in rows), tuple(factors))
