"""Least-squares fit -> the shots that pull it or do not fit, and a scale of even scatter."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.textbook import FULL_LEVERAGE, Fit, fit

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Influence:
    """What each of n shots does to a fit; all arrays have shape (n,).

    Parameters
    ----------
    leverage : ndarray
        Weight of a shot's own reading in its fitted value, 0 to 1.
    standardized : ndarray
        Residual over its standard error; nan where the leverage is 1.
    studentized : ndarray
        The same with the scatter estimated without that shot; nan where the leverage is 1 or no
        degree of freedom would be left.
    cooks_distance : ndarray
        How far all fitted values move without the shot, in standard errors; nan as above.
    p_outlier : ndarray
        Two-sided probability of the studentized residual, times n and never above 1 (Bonferroni):
        below 0.05 the shot does not belong to the fit.
    """

    leverage: Array
    standardized: Array
    studentized: Array
    cooks_distance: Array
    p_outlier: Array


def influence(fitted: Fit) -> Influence | None:
    """Return leverage, residuals in standard errors, Cook's distance and outliers.

    Returns
    -------
    Influence or None
        None when no degree of freedom is left or every reading is met exactly.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.diagnostics import influence
    >>> from shotwindow.models.textbook import fit
    >>> x = np.arange(8.0)
    >>> y = 2.0 * x + np.array([0.1, -0.1, 0.1, -0.1, 3.0, 0.1, -0.1, 0.1])
    >>> found = influence(fit(np.column_stack([np.ones(8), x]), y))
    >>> np.flatnonzero(found.p_outlier < 0.05).tolist()
    [4]
    """
    from scipy.special import stdtr

    if not fitted.variance:
        return None
    n, p = fitted.matrix.shape
    leverage = fitted.leverage
    own = np.where(leverage > 1.0 - FULL_LEVERAGE, np.nan, 1.0 - leverage)
    standardized = fitted.residuals / np.sqrt(fitted.variance * own)
    # what the squares of the others leave over: (df - 1) / df times the variance without the shot
    others = np.maximum(fitted.df - np.square(standardized), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        studentized = standardized * np.sqrt((fitted.df - 1) / others)
    if fitted.df < 2:
        studentized = np.full(n, np.nan)
    cooks = np.square(standardized) * leverage / (p * own)
    p_outlier = np.minimum(1.0, 2.0 * n * stdtr(max(fitted.df - 1, 1), -np.abs(studentized)))
    return Influence(leverage, standardized, studentized, cooks, p_outlier)


@dataclass(frozen=True)
class BoxCox:
    """Power of the response under which residuals scatter most evenly.

    Parameters
    ----------
    power : float
        0 stands for the logarithm.
    low, high : float
        Confidence limits of the power, cut off at the ends of `powers`.
    powers, log_likelihood : ndarray, shape (m,)
        The profile they were read from.
    """

    power: float
    low: float
    high: float
    powers: Array
    log_likelihood: Array


def box_cox(
    matrix: Array, response: Array, *, span: float = 3.0, level: float = 0.95
) -> BoxCox | None:
    """Find the Box-Cox power of a response under a model.

    The profile is ``-n/2 log(RSS of the transformed readings / n)``, with readings transformed to
    ``(y^power - 1) / (power * g^(power - 1))``, g their geometric mean.

    Parameters
    ----------
    matrix : ndarray, shape (n, p)
    response : ndarray, shape (n,)
        All above zero.
    span : float
        Powers from ``-span`` to ``span`` are tried, 0.01 apart.
    level : float
        Confidence of the limits, by the likelihood ratio.

    Returns
    -------
    BoxCox or None
        None when a reading is zero or less, or no degree of freedom is left.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.diagnostics import box_cox
    >>> x = np.linspace(-1, 1, 12)
    >>> jitter = np.tile([0.1, -0.1, -0.1, 0.1], 3)
    >>> abs(box_cox(np.column_stack([np.ones(12), x]), np.exp(3 + x + jitter)).power) < 0.2
    True
    """
    from scipy.special import chdtri

    n, p = matrix.shape
    if np.any(response <= 0) or n <= p:
        return None
    # in multiples of the geometric mean its powers drop out
    ratio = response / np.exp(np.log(response).mean())
    powers = np.round(np.arange(-span, span + 0.005, 0.01), 2)
    steep = np.where(powers == 0, 1.0, powers)[:, None]
    changed = np.where(powers[:, None] == 0, np.log(ratio), (ratio**steep - 1.0) / steep)
    basis = fit(matrix, response).basis
    left = changed - (changed @ basis) @ basis.T  # (m, n)
    likelihood = -0.5 * n * np.log(np.square(left).sum(axis=1) / n)
    inside = powers[likelihood >= likelihood.max() - 0.5 * chdtri(1, 1.0 - level)]
    best = float(powers[np.argmax(likelihood)])
    return BoxCox(best, float(inside[0]), float(inside[-1]), powers, likelihood)
