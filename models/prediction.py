"""Least-squares fits -> what new readings will be, and the probability that they meet limits."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.errors import Unanswerable
from shotwindow.models.textbook import Fit

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Prediction:
    """Fitted values at m settings and limits around them; all arrays have shape (m,).

    Parameters
    ----------
    values : ndarray
    leverage : ndarray
        Variance of the fitted value in multiples of the residual variance.
    std_errors : ndarray
        Standard error of what the limits enclose.
    low, high : ndarray
    """

    values: Array
    leverage: Array
    std_errors: Array
    low: Array
    high: Array


def _leverage(fitted: Fit, rows: Array) -> Array:
    found: Array = np.square(rows @ fitted.inverse).sum(axis=1)
    return found


def _sd(fitted: Fit) -> float:
    if not fitted.variance:
        raise Unanswerable("these shots do not show how far readings scatter")
    return float(np.sqrt(fitted.variance))


def predict(
    fitted: Fit, rows: Array, *, readings: int | None = 1, level: float = 0.95, together: int = 1
) -> Prediction:
    """Return fitted values with confidence or prediction limits.

    Parameters
    ----------
    fitted : Fit
    rows : ndarray, shape (m, p)
        Model matrix at the settings.
    readings : int or None
        The limits are for the mean of this many new readings; None for the mean of endlessly many
        (confidence limits of the surface).
    level : float
        Confidence.
    together : int
        Number of limits that shall hold at once with that confidence (Bonferroni).

    Raises
    ------
    Unanswerable
        If no degree of freedom is left, or the readings show no scatter.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.prediction import predict
    >>> from shotwindow.models.textbook import fit
    >>> mean = fit(np.ones((4, 1)), np.array([9.0, 11.0, 9.0, 11.0]))
    >>> found = predict(mean, np.ones((1, 1)))
    >>> found.low.round(4).tolist(), found.high.round(4).tolist()
    ([5.8915], [14.1085])
    """
    from scipy.special import stdtrit

    values, leverage = rows @ fitted.coefficients, _leverage(fitted, rows)
    new = 0.0 if readings is None else 1.0 / readings
    errors = _sd(fitted) * np.sqrt(leverage + new)
    margin = stdtrit(fitted.df, 1.0 - (1.0 - level) / (2.0 * together)) * errors
    return Prediction(values, leverage, errors, values - margin, values + margin)


def probability_within(
    fitted: Fit, rows: Array, low: float = -np.inf, high: float = np.inf
) -> Array:
    """Return the probability that one new reading lies between two limits, at m settings.

    The reading has Student's t distribution about the fitted value (flat prior).

    Parameters
    ----------
    fitted : Fit
    rows : ndarray, shape (m, p)
        Model matrix at the settings.
    low, high : float
        In the unit of the response; infinite where there is no limit.

    Raises
    ------
    Unanswerable
        If no degree of freedom is left, or the readings show no scatter.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.prediction import probability_within
    >>> from shotwindow.models.textbook import fit
    >>> mean = fit(np.ones((4, 1)), np.array([9.0, 11.0, 9.0, 11.0]))
    >>> probability_within(mean, np.ones((1, 1)), low=10.0).round(6).tolist()
    [0.5]
    """
    from scipy.special import stdtr

    values = rows @ fitted.coefficients
    errors = _sd(fitted) * np.sqrt(1.0 + _leverage(fitted, rows))
    found: Array = stdtr(fitted.df, (high - values) / errors) - stdtr(
        fitted.df, (low - values) / errors
    )
    return found


def probability_jointly(
    fits: Sequence[Fit], rows: Array, low: Array, high: Array, generator: np.random.Generator
) -> Array:
    """Return the probability that one new shot meets the limits of all q responses.

    The readings have a multivariate t distribution with ``n - p - q + 1`` degrees of freedom about
    the fitted values, so responses that scatter together are not counted as independent
    (Peterson, Journal of Quality Technology 36 (2004) 139-153; form from memory).

    Parameters
    ----------
    fits : sequence of Fit, length q
        Of one model matrix to q responses.
    rows : ndarray, shape (m, p)
        Model matrix at the settings.
    low, high : ndarray, shape (q,)
        Limits, infinite where there is none.
    generator : numpy.random.Generator
        Shifts the points of the integration, whose error is about 1e-4.

    Raises
    ------
    ValueError
        If the fits do not share one model matrix.
    Unanswerable
        If fewer degrees of freedom are left than there are responses.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.seeds import generator
    >>> from shotwindow.models.prediction import probability_jointly
    >>> from shotwindow.models.textbook import fit
    >>> one, other = np.array([9.0, 11, 9, 11, 10]), np.array([1.0, 2, 3, 4, 5])
    >>> fits, edge = [fit(np.ones((5, 1)), y) for y in (one, other)], np.array([10.0, -np.inf])
    >>> stream = generator(1, "example")
    >>> top = np.array([np.inf, np.inf])
    >>> probability_jointly(fits, np.ones((1, 1)), edge, top, stream).round(3).tolist()
    [0.5]
    """
    from scipy.stats import multivariate_t

    if any(not np.array_equal(other.matrix, fits[0].matrix) for other in fits):
        raise ValueError("fits of several responses must share one model matrix")
    residuals = np.column_stack([one.residuals for one in fits])
    df = fits[0].df - len(fits) + 1
    if df < 1:
        raise Unanswerable("too few shots are left to tell how the responses scatter together")
    shape = residuals.T @ residuals / df
    centers = rows @ np.column_stack([one.coefficients for one in fits])  # (m, q)
    inflation = 1.0 + _leverage(fits[0], rows)
    return np.array(
        [
            multivariate_t.cdf(
                high, center, shape * wide, df, lower_limit=low, random_state=generator
            )
            for center, wide in zip(centers, inflation, strict=True)
        ]
    )
