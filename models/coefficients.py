"""Least-squares fit -> table of coefficients, coded and in the units of the factors."""

from dataclasses import dataclass
from itertools import product
from math import comb

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.terms import Terms
from shotwindow.models.textbook import Fit

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Coefficients:
    """Coefficients with what is known of each; all arrays have shape (p,).

    Parameters
    ----------
    values : ndarray
    std_errors, t, p, low, high : ndarray or None
        Standard error, ratio to it, two-sided probability, confidence limits; None when no degree
        of freedom is left to tell scatter from effects, or the readings show no scatter at all.
    level : float
        Confidence of the limits.
    """

    values: Array
    std_errors: Array | None
    t: Array | None
    p: Array | None
    low: Array | None
    high: Array | None
    level: float


def coefficient_table(
    fitted: Fit, transform: Array | None = None, *, level: float = 0.95
) -> Coefficients:
    """Return estimates, standard errors, t tests and confidence limits.

    Parameters
    ----------
    fitted : Fit
    transform : ndarray, shape (q, p), optional
        Combinations of coefficients to report instead, for instance ``in_units(...)[1]``.
    level : float

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.coefficients import coefficient_table
    >>> from shotwindow.models.textbook import fit
    >>> x = np.array([-1.0, -1.0, 1.0, 1.0])
    >>> line = fit(np.column_stack([np.ones(4), x]), np.array([1.0, 2.0, 5.0, 6.0]))
    >>> table = coefficient_table(line)
    >>> table.values.round(6).tolist(), table.std_errors.round(6).tolist()
    ([3.5, 2.0], [0.353553, 0.353553])
    """
    from statsmodels.regression.linear_model import OLS

    rows = np.eye(len(fitted.coefficients)) if transform is None else transform
    values = rows @ fitted.coefficients
    if not fitted.variance:
        return Coefficients(values, None, None, None, None, None, level)
    # on the orthonormal basis no digit is lost to columns that are nearly alike
    test = OLS(fitted.response, fitted.basis).fit().t_test(rows @ fitted.inverse)
    low, high = test.conf_int(1.0 - level).T
    return Coefficients(
        values,
        np.asarray(test.sd).ravel(),
        np.asarray(test.tvalue).ravel(),
        np.asarray(test.pvalue).ravel(),
        low,
        high,
        level,
    )


def in_units(terms: Terms, centers: Array, halves: Array) -> tuple[Terms, Array]:
    """Rewrite a polynomial in coded factors as one in the units of the factors.

    With ``coded = (setting - center) / half`` each product of powers is multiplied out.

    Parameters
    ----------
    terms : Terms
        The p coded terms.
    centers, halves : ndarray, shape (k,)
        Setting that is coded 0, and distance from there to the one that is coded +1.

    Returns
    -------
    terms : Terms
        The q terms in units: the p given ones, then lower powers that they bring with them.
    transform : ndarray, shape (q, p)
        ``transform @ coded_coefficients`` are the coefficients in units.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.terms import first_order
    >>> from shotwindow.models.coefficients import in_units
    >>> terms, transform = in_units(first_order(("bar",)), np.array([4.0]), np.array([0.5]))
    >>> (transform @ [10.0, 3.0]).tolist()
    [-14.0, 6.0]
    """
    expanded = [_multiplied_out(powers, centers, halves) for powers in terms.exponents]
    order = dict.fromkeys(terms.exponents)
    for pieces in expanded:
        order.update(dict.fromkeys(pieces))
    place = {powers: row for row, powers in enumerate(order)}
    transform = np.zeros((len(place), len(terms)))
    for column, pieces in enumerate(expanded):
        for powers, factor in pieces.items():
            transform[place[powers], column] = factor
    return Terms(tuple(place), terms.factors), transform


def _multiplied_out(
    powers: tuple[int, ...], centers: Array, halves: Array
) -> dict[tuple[int, ...], float]:
    """Binomial expansion of ``prod(((u - c) / h) ** power)``: factor of each product of powers."""
    pieces = {}
    for kept in product(*(range(power + 1) for power in powers)):
        factor = 1.0
        for power, low, center, half in zip(powers, kept, centers, halves, strict=True):
            factor *= comb(power, low) * float(-center) ** (power - low) / float(half) ** power
        pieces[kept] = factor
    return pieces


def variance_inflation(fitted: Fit) -> Array:
    """Return how much wider other terms make the variance of each coefficient, (p,).

    ``1 / (1 - R2)`` of a column on all others, about its mean (variance inflation factor); nan for
    the constant and where there is none.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.coefficients import variance_inflation
    >>> from shotwindow.models.textbook import fit
    >>> a, b = np.array([-1.0, 1, -1, 1, 0]), np.array([-1.0, 1, -1, 0, 0])
    >>> line = fit(np.column_stack([np.ones(5), a, b]), np.arange(5.0))
    >>> variance_inflation(line).round(3).tolist()
    [nan, 5.091, 5.091]
    """
    if not fitted.has_constant:
        return np.full(fitted.matrix.shape[1], np.nan)
    about = np.square(fitted.matrix - fitted.matrix.mean(axis=0)).sum(axis=0)
    own = np.square(fitted.inverse).sum(axis=1)
    return np.where(about > 1e-12 * len(fitted.matrix), own * about, np.nan)
