"""Two-level plan -> effects, which of them stand out, where scatter changes, and curvature."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.anova import pure_error
from shotwindow.models.textbook import f_test

Array = NDArray[np.float64]


def effects(columns: Array, response: Array) -> Array:
    """Mean reading at +1 minus mean reading at -1, for each column.

    Parameters
    ----------
    columns : ndarray, shape (n, m)
        Balanced columns of -1 and +1: factors and products of factors.
    response : ndarray, shape (n,)

    Returns
    -------
    ndarray, shape (m,)
        Twice the coefficients of least squares.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.effects import effects
    >>> effects(np.array([[-1.0], [1.0], [-1.0], [1.0]]), np.array([3.0, 5.0, 3.0, 9.0])).tolist()
    [4.0]
    """
    found: Array = 2.0 * (columns.T @ response) / len(response)
    return found


def contrasts(matrix: Array, response: Array) -> Array:
    """Return effects of equal variance, each freed of the columns before it, (p,).

    On balanced columns of -1 and +1 they are the effects from low to high.

    Parameters
    ----------
    matrix : ndarray, shape (n, p)
        Of full rank; the constant first.
    response : ndarray, shape (n,)

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.effects import contrasts
    >>> found = contrasts(np.array([[1.0, -1], [1, 1], [1, -1], [1, 1]]), np.array([3.0, 5, 3, 9]))
    >>> found.round(9).tolist()
    [10.0, 4.0]
    """
    basis, triangle = np.linalg.qr(matrix)
    size = 2.0 / np.sqrt(len(response))
    found: Array = size * np.sign(np.diag(triangle)) * (basis.T @ response)
    return found


@dataclass(frozen=True)
class Lenth:
    """Margins that effects pass when they are more than scatter.

    Parameters
    ----------
    start : float
        First guess of the standard error, 1.5 times the median size.
    standard_error : float
        Pseudo standard error (PSE).
    margin : float
        Margin of error (ME): one effect of nothing exceeds it with probability 1 - level.
    simultaneous : float
        Simultaneous margin (SME): any of all m effects of nothing does.
    """

    start: float
    standard_error: float
    margin: float
    simultaneous: float


def lenth(found: Array, *, level: float = 0.95) -> Lenth:
    """Judge effects of an unreplicated plan by their own spread.

    ``s0 = 1.5 median|e|``, ``PSE = 1.5 median of |e| < 2.5 s0``, t with m/3 degrees of freedom
    (Lenth, Technometrics 31 (1989) 469-473, as given in Montgomery, Design and Analysis of
    Experiments; from memory).

    Parameters
    ----------
    found : ndarray, shape (m,)
        All effects but the mean, m at least 3.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.effects import lenth
    >>> lenth(np.array([0.1, -0.2, 0.2, 9.0, 0.3])).standard_error.__round__(6)
    0.3
    """
    from scipy.special import stdtrit

    size = np.abs(found)
    start = 1.5 * float(np.median(size))
    small = size[size < 2.5 * start]
    # no small ones left when more than half of the effects are exactly zero
    error = 1.5 * float(np.median(small)) if len(small) else 0.0
    df = len(size) / 3
    each = 0.5 * (1.0 + level ** (1.0 / len(size)))
    return Lenth(
        start,
        error,
        error * float(stdtrit(df, 0.5 + level / 2)),
        error * float(stdtrit(df, each)),
    )


def half_normal(found: Array) -> tuple[NDArray[np.int_], Array]:
    """Return the order of the effects by size, and the half-normal score of each in that order.

    The score of the i-th smallest of m is the normal quantile of ``0.5 + 0.5 (i - 0.5) / m``.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.effects import half_normal
    >>> order, score = half_normal(np.array([5.0, -1.0]))
    >>> order.tolist(), score.round(6).tolist()
    ([1, 0], [0.318639, 1.150349])
    """
    from scipy.special import ndtri

    m = len(found)
    return np.argsort(np.abs(found), kind="stable"), ndtri(0.5 + 0.5 * (np.arange(m) + 0.5) / m)


@dataclass(frozen=True)
class Dispersion:
    """Scatter at the two levels of m columns; all arrays have shape (m,).

    Parameters
    ----------
    sd_low, sd_high : ndarray
        Standard deviation of the residuals where the column is -1 and +1.
    log_ratio : ndarray
        ``ln(sd_high^2 / sd_low^2)``: about zero where scatter is the same, to be seen against the
        log ratios of all columns as effects are seen against one another.
    """

    sd_low: Array
    sd_high: Array
    log_ratio: Array


def dispersion(columns: Array, residuals: Array) -> Dispersion:
    """Compare the scatter of residuals at the two levels of each column (Box and Meyer's F*).

    Parameters
    ----------
    columns : ndarray, shape (n, m)
        Columns of -1 and +1.
    residuals : ndarray, shape (n,)
        Of a model that holds all effects on the mean that matter.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.effects import dispersion
    >>> column = np.array([[-1.0], [-1.0], [1.0], [1.0]])
    >>> found = dispersion(column, np.array([0.1, -0.1, 0.2, -0.2]))
    >>> found.log_ratio.round(6).tolist()
    [1.386294]
    """
    low, high = (
        [residuals[column == side].std(ddof=1) for column in columns.T] for side in (-1, 1)
    )
    sd_low, sd_high = np.array(low), np.array(high)
    with np.errstate(divide="ignore", invalid="ignore"):
        return Dispersion(sd_low, sd_high, 2.0 * np.log(sd_high / sd_low))


@dataclass(frozen=True)
class Curvature:
    """How far center points lie off the mean of the corners.

    Parameters
    ----------
    difference : float
        Mean of the corners minus mean of the centers.
    ss : float
        Its sum of squares, one degree of freedom.
    pure_error, df : float or None, int
        Mean square between repeats, and its degrees of freedom.
    f, p : float or None
        Test of the one against the other.
    """

    difference: float
    ss: float
    pure_error: float | None
    df: int
    f: float | None
    p: float | None


def curvature(coded: Array, response: Array) -> Curvature | None:
    """Test whether the surface bends, from center points added to a two-level plan.

    Parameters
    ----------
    coded : ndarray, shape (n, k)
        Corners (all -1 or +1) and centers (all 0); other rows are left out.
    response : ndarray, shape (n,)

    Returns
    -------
    Curvature or None
        None without a corner or without a center.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.effects import curvature
    >>> found = curvature(np.array([[-1.0], [1], [0], [0]]), np.array([1.0, 3.0, 4.9, 5.1]))
    >>> round(found.difference, 6), round(found.f, 6)
    (-3.0, 450.0)
    """
    center = np.all(coded == 0, axis=1)
    corner = np.all(np.abs(coded) == 1, axis=1)
    if not center.any() or not corner.any():
        return None
    used = center | corner
    difference = float(response[corner].mean() - response[center].mean())
    ss = difference**2 / float(1 / corner.sum() + 1 / center.sum())
    pure, df = pure_error(coded[used], response[used])
    error = pure / df if df else None
    return Curvature(difference, ss, error, df, *f_test(ss, 1, error, df))
