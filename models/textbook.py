"""Model matrix and readings -> a least-squares fit and how well it follows the readings.

This is the analysis of the textbooks, on plain arrays. It takes every reading as an exact number,
so it stands beside the censored surfaces for comparison and is not what the window is made from.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.errors import Unanswerable

Array = NDArray[np.float64]

# A column counts as a combination of those before it when less than this share of its length is
# new. Columns of coded plans keep 0.01 or more; the tenth power in the hardest certified data set
# (Filip, NIST) keeps 5e-8 and must not be dropped.
NEW_SHARE = 1e-10
# 1 - leverage below this is rounding: the shot alone decides a coefficient.
FULL_LEVERAGE = 1e-10
# A share of the sum of squares of the readings; coded plans leave 1e-30 where they fit exactly.
ROUNDING = 1e-22


@dataclass(frozen=True)
class Fit:
    """A least-squares fit of p coefficients to n readings.

    Parameters
    ----------
    matrix : ndarray, shape (n, p)
        Model matrix.
    response : ndarray, shape (n,)
        Readings.
    coefficients : ndarray, shape (p,)
    basis : ndarray, shape (n, p)
        Orthonormal columns that span, one after the other, the columns of the matrix.
    inverse : ndarray, shape (p, p)
        Upper triangular; ``basis = matrix @ inverse``, so ``(X'X)^-1 = inverse @ inverse.T``.
    """

    matrix: Array
    response: Array
    coefficients: Array
    basis: Array
    inverse: Array

    @property
    def df(self) -> int:
        """Residual degrees of freedom, n - p."""
        return len(self.response) - len(self.coefficients)

    @cached_property
    def fitted(self) -> Array:
        """Fitted values, shape (n,)."""
        return self.matrix @ self.coefficients

    @cached_property
    def residuals(self) -> Array:
        """Readings minus fitted values, shape (n,)."""
        return self.response - self.fitted

    @cached_property
    def rss(self) -> float:
        """Residual sum of squares; exactly zero where only rounding is left."""
        rss = float(self.residuals @ self.residuals)
        return rss if rss > ROUNDING * float(self.response @ self.response) else 0.0

    @property
    def variance(self) -> float | None:
        """Residual mean square; None when no degree of freedom is left."""
        return self.rss / self.df if self.df > 0 else None

    @cached_property
    def leverage(self) -> Array:
        """Diagonal of the hat matrix, shape (n,)."""
        leverage: Array = np.square(self.basis).sum(axis=1)
        return leverage

    @property
    def covariance(self) -> Array | None:
        """Covariance of the coefficients, shape (p, p); None when no degree of freedom is left."""
        return None if self.variance is None else self.variance * self.inverse @ self.inverse.T

    @cached_property
    def has_constant(self) -> bool:
        """Whether the columns of the matrix can add up to a constant."""
        ones = np.ones(len(self.response))
        return bool(np.allclose(self.basis @ (self.basis.T @ ones), ones, atol=1e-8))


@dataclass(frozen=True)
class Quality:
    """How well a fit follows its readings and would follow new ones.

    Parameters
    ----------
    sd : float or None
        Residual standard deviation.
    r_squared, adjusted, predicted : float or None
        R2; R2 adjusted for the number of terms; R2 of readings left out one at a time. About the
        mean when the model has a constant, else about zero.
    press : float or None
        Sum of squares of the prediction errors of readings left out one at a time; None when one
        reading alone decides a coefficient.
    f, p : float or None
        Test of all terms but the constant together.
    df_model, df : int
        Degrees of freedom of that test.
    """

    sd: float | None
    r_squared: float | None
    adjusted: float | None
    predicted: float | None
    press: float | None
    f: float | None
    p: float | None
    df_model: int
    df: int


def estimable(matrix: Array) -> NDArray[np.bool_]:
    """Tell which columns are no combination of the columns before them.

    Parameters
    ----------
    matrix : ndarray, shape (n, p)

    Returns
    -------
    ndarray of bool, shape (p,)
        At most n are true. The others are aliased in these rows and cannot be fitted beside them.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.textbook import estimable
    >>> a, b = np.array([-1.0, 1, -1, 1]), np.array([-1.0, -1, 1, 1])
    >>> estimable(np.column_stack([np.ones(4), a, b, a * b, a**2])).tolist()
    [True, True, True, True, False]
    """
    keep = np.zeros(matrix.shape[1], dtype=bool)
    basis = np.empty((len(matrix), 0))
    for j, column in enumerate(matrix.T):
        rest = column - basis @ (basis.T @ column)
        # twice, since one pass leaves columns that are nearly alike askew
        rest -= basis @ (basis.T @ rest)
        length = np.linalg.norm(rest)
        if length > NEW_SHARE * np.linalg.norm(column):
            keep[j] = True
            basis = np.column_stack([basis, rest / length])
    return keep


def fit(matrix: Array, response: Array) -> Fit:
    """Fit by least squares, through an orthogonal decomposition of scaled columns.

    Parameters
    ----------
    matrix : ndarray, shape (n, p)
        Model matrix, for instance ``Terms.matrix(coded)`` with columns for blocks put in.
    response : ndarray, shape (n,)

    Raises
    ------
    Unanswerable
        If the columns are aliased in these rows, see `estimable`.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.textbook import fit
    >>> x = np.array([-1.0, 0.0, 1.0])
    >>> line = fit(np.column_stack([np.ones(3), x]), np.array([1.0, 2.0, 6.0]))
    >>> line.coefficients.round(9).tolist()
    [3.0, 2.5]
    """
    matrix, response = np.asarray(matrix, dtype=float), np.asarray(response, dtype=float)
    kept = int(estimable(matrix).sum())
    if kept < matrix.shape[1]:
        raise Unanswerable(
            f"{len(matrix)} shots at these settings tell {kept} of the {matrix.shape[1]} terms "
            "of the model apart; fit fewer terms or add shots at new settings"
        )
    length = np.linalg.norm(matrix, axis=0)
    basis, triangle = np.linalg.qr(matrix / length)
    inverse = np.linalg.inv(triangle) / length[:, None]
    # solving keeps digits that multiplying by the inverse would lose
    coefficients = np.linalg.solve(triangle, basis.T @ response) / length
    return Fit(matrix, response, coefficients, basis, inverse)


def quality(fitted: Fit) -> Quality:
    """Return R2 in its three forms, PRESS and the overall test of a fit."""
    constant = int(fitted.has_constant)
    total = float(np.square(fitted.response - constant * fitted.response.mean()).sum())
    df_model, df, press = fitted.matrix.shape[1] - constant, fitted.df, _press(fitted)
    f, p = f_test(total - fitted.rss, df_model, fitted.variance, df)
    varies = total > ROUNDING * float(fitted.response @ fitted.response)
    return Quality(
        sd=None if fitted.variance is None else float(np.sqrt(fitted.variance)),
        r_squared=1 - fitted.rss / total if varies else None,
        adjusted=1 - fitted.rss / df / (total / (df + df_model)) if varies and df > 0 else None,
        predicted=None if press is None or not varies else 1 - press / total,
        press=press,
        f=f,
        p=p,
        df_model=df_model,
        df=df,
    )


def _press(fitted: Fit) -> float | None:
    own = 1.0 - fitted.leverage
    if own.min() < FULL_LEVERAGE:
        return None
    return float(np.square(fitted.residuals / own).sum())


def f_test(
    ss: float, df: int, error: float | None, error_df: int
) -> tuple[float | None, float | None]:
    """Test a sum of squares against an error variance.

    Parameters
    ----------
    ss, df : float, int
        Sum of squares and its degrees of freedom.
    error, error_df : float or None, int
        Variance that the mean square has when nothing is there, and its degrees of freedom. F and
        its probability are None without it, and where there is nothing to test.

    Examples
    --------
    >>> from shotwindow.models.textbook import f_test
    >>> f, p = f_test(8.0, 2, 1.0, 6)
    >>> round(f, 6), round(p, 6)
    (4.0, 0.078717)
    """
    from scipy.special import fdtrc

    if not error or df < 1:
        return None, None
    ratio = ss / df / error
    return ratio, float(fdtrc(df, error_df, ratio))
