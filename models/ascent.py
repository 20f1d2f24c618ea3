"""Fitted surface -> the best settings at growing distance from the center.

Steepest ascent follows the slope of a first-order surface; ridge analysis follows the highest point
of a quadratic on spheres of growing radius. All settings here are coded; lowest instead of highest
comes from turning the signs of the coefficients.
"""

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.stationary import Quadratic

Array = NDArray[np.float64]


def steepest_ascent(slope: Array, lead: int, step: float, count: int) -> Array:
    """Return settings along the direction in which a first-order surface rises fastest.

    Parameters
    ----------
    slope : ndarray, shape (k,)
        Coefficients of the coded factors.
    lead : int
        The factor whose steps are chosen; the others follow in proportion to their slopes.
    step : float
        Coded size of that factor's step; its sign is taken from the slope.
    count : int
        Number of steps.

    Returns
    -------
    ndarray, shape (count + 1, k)
        Coded settings, from the center on.

    Raises
    ------
    ValueError
        If the leading factor has no slope.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.ascent import steepest_ascent
    >>> steepest_ascent(np.array([2.0, -1.0]), 0, 0.5, 2).tolist()
    [[0.0, 0.0], [0.5, -0.25], [1.0, -0.5]]
    """
    if slope[lead] == 0:
        raise ValueError("the factor that leads the ascent has no slope")
    move = abs(step) * slope / abs(slope[lead])
    path: Array = np.arange(count + 1.0)[:, None] * move + 0.0  # + 0.0: no minus zero
    return path


def ridge(surface: Quadratic, radii: Array) -> Array:
    """Return the highest point of a quadratic on each sphere around the center.

    On the sphere the slope points outward, ``b + 2Bx = 2 mu x``; the highest point has mu above
    every eigenvalue of B, and its distance falls as mu grows.
    (Draper, Technometrics 5 (1963) 469-479; form from memory.)

    Parameters
    ----------
    surface : Quadratic
    radii : ndarray, shape (m,)
        Coded distances, zero or more.

    Returns
    -------
    ndarray, shape (m, k)
        Coded settings.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.ascent import ridge
    >>> from shotwindow.models.stationary import Quadratic
    >>> bowl = Quadratic(0.0, np.array([3.0, 4.0]), -np.eye(2))
    >>> ridge(bowl, np.array([0.0, 1.0])).round(9).tolist()
    [[0.0, 0.0], [0.6, 0.8]]
    """
    values, axes = np.linalg.eigh(surface.curve)
    slope = axes.T @ surface.slope / 2.0
    found = np.zeros((len(radii), len(values)))
    for row, radius in enumerate(radii):
        if radius > 0:
            found[row] = axes @ _highest(values, slope, float(radius))
    return found


def _highest(values: Array, slope: Array, radius: float) -> Array:
    """Solve for the highest point on a sphere, in the axes of the quadratic (ascending values)."""
    from scipy.optimize import brentq

    gap = values[-1] - values  # (k,)

    def excess(above: float) -> float:
        return float(np.linalg.norm(slope / (above + gap))) - radius

    # the distance falls as mu moves above the largest eigenvalue, and is met between these two
    scale = max(float(np.linalg.norm(slope)) / radius, float(np.abs(values).max())) or 1.0
    lower = max(float(np.linalg.norm(slope[gap == 0])) / radius, 1e-13 * scale)
    upper = float(np.linalg.norm(slope)) / radius
    if upper > lower and excess(lower) > 0:
        point: Array = slope / (brentq(excess, lower, upper, xtol=1e-15 * scale) + gap)
        return point
    # without a slope along the axis that bends upward most, both of its ends are equally high and
    # the rest of the distance is made along it
    point = slope / (lower + gap)
    rest = max(radius**2 - float(point[:-1] @ point[:-1]), 0.0)
    point[-1] = np.copysign(np.sqrt(rest), slope[-1])
    return point
