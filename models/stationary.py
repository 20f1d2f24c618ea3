"""Fitted quadratic -> stationary point, its nature and confidence region, ridges, steepest ascent.

All settings here are coded. With ``y = b0 + b'x + x'Bx`` the slope is ``b + 2Bx``.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.terms import Terms
from shotwindow.models.textbook import Fit

Array = NDArray[np.float64]

# An axis along which the surface bends less than this share of what it bends along another one is
# called a ridge (common practice, no source).
RIDGE_SHARE = 0.05


@dataclass(frozen=True)
class Quadratic:
    """A quadratic in k coded factors: ``constant + slope @ x + x @ curve @ x``.

    Parameters
    ----------
    constant : float
    slope : ndarray, shape (k,)
    curve : ndarray, shape (k, k)
        Symmetric; squares on the diagonal, half of each interaction beside it.
    """

    constant: float
    slope: Array
    curve: Array

    def __call__(self, coded: Array) -> Array:
        """Return the response at coded settings (..., k)."""
        bent = np.einsum("...i,ij,...j->...", coded, self.curve, coded)
        found: Array = self.constant + coded @ self.slope + bent
        return found


def quadratic(terms: Terms, coefficients: Array) -> Quadratic:
    """Sort the coefficients of a model of second order into constant, slope and curve.

    Raises
    ------
    ValueError
        If a term is of third order or more.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.terms import full_quadratic
    >>> from shotwindow.models.stationary import quadratic
    >>> quadratic(full_quadratic("ab"), np.array([1.0, 2, 3, 4, 5, 6])).curve.tolist()
    [[5.0, 2.0], [2.0, 6.0]]
    """
    constant, slope, curve = _parts(terms)
    return Quadratic(float(constant @ coefficients), slope @ coefficients, curve @ coefficients)


def _parts(terms: Terms) -> tuple[Array, Array, Array]:
    """Return what takes coefficients to constant (p,), slope (k, p) and curve (k, k, p)."""
    k, p = len(terms.factors), len(terms)
    constant, slope, curve = np.zeros(p), np.zeros((k, p)), np.zeros((k, k, p))
    for column, powers in enumerate(terms.exponents):
        factors = np.repeat(np.arange(k), powers)
        if len(factors) > 2:
            raise ValueError(f"a quadratic has no term of the powers {powers}")
        if len(factors) == 2:
            curve[factors[0], factors[1], column] += 0.5
            curve[factors[1], factors[0], column] += 0.5
        elif len(factors) == 1:
            slope[factors[0], column] = 1.0
        else:
            constant[column] = 1.0
    return constant, slope, curve


@dataclass(frozen=True)
class Stationary:
    """The point where a fitted quadratic is level, and the axes it bends along.

    Parameters
    ----------
    point : ndarray, shape (k,)
        Coded settings; may lie far outside of what was tried.
    response : float
        Fitted value there.
    eigenvalues : ndarray, shape (k,)
        Curvature along each axis, largest first.
    axes : ndarray, shape (k, k)
        One unit vector a column, in the order of the eigenvalues.
    errors : ndarray, shape (k,), or None
        Standard errors of the eigenvalues (to first order); None without degrees of freedom.
    nature : str
        "maximum", "minimum" or "saddle"; "stationary ridge" or "rising ridge" when one axis hardly
        bends and the point lies within, or beyond, coded distance `reach`.
    """

    point: Array
    response: float
    eigenvalues: Array
    axes: Array
    errors: Array | None
    nature: str

    @cached_property
    def distance(self) -> float:
        """Coded distance of the point from the center."""
        return float(np.linalg.norm(self.point))


def stationary_point(terms: Terms, fitted: Fit, *, reach: float = 1.0) -> Stationary:
    """Return the canonical analysis of a fitted quadratic.

    Parameters
    ----------
    terms : Terms
        Of second order; they stand for the first ``len(terms)`` columns of the fit.
    fitted : Fit
        Columns for blocks, if any, come last.
    reach : float
        Coded distance to which shots were made; tells a stationary from a rising ridge.

    Raises
    ------
    Unanswerable
        If the surface has no single level point: no curvature along some axis.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.terms import full_quadratic
    >>> from shotwindow.models.stationary import stationary_point
    >>> from shotwindow.models.textbook import fit
    >>> x = np.array([[-1.0], [-0.5], [0.0], [0.5], [1.0]])
    >>> terms = full_quadratic("a")
    >>> found = stationary_point(terms, fit(terms.matrix(x), 3 - (x[:, 0] - 0.5) ** 2))
    >>> found.point.round(6).tolist(), found.nature
    ([0.5], 'maximum')
    """
    p = len(terms)
    surface = quadratic(terms, fitted.coefficients[:p])
    values, axes = np.linalg.eigh(surface.curve)
    values, axes = values[::-1], axes[:, ::-1]
    bend = np.abs(values)
    if bend.min() <= 1e-12 * max(bend.max(), float(np.abs(surface.slope).max())):
        raise Unanswerable("the fitted surface does not bend along every direction: no level point")
    point = -0.5 * axes @ ((axes.T @ surface.slope) / values)
    errors = None
    if fitted.covariance is not None:
        # an eigenvalue changes with the curve B as u'(dB)u
        slopes = np.einsum("ia,ijp,ja->ap", axes, _parts(terms)[2], axes)
        errors = np.sqrt(np.einsum("ap,pq,aq->a", slopes, fitted.covariance[:p, :p], slopes))
    nature = _nature(values, float(np.linalg.norm(point)) <= reach)
    return Stationary(point, float(surface(point)), values, axes, errors, nature)


def _nature(values: Array, within: bool) -> str:
    bend = np.abs(values)
    if bend.min() < RIDGE_SHARE * bend.max():
        return "stationary ridge" if within else "rising ridge"
    if np.all(values < 0):
        return "maximum"
    return "minimum" if np.all(values > 0) else "saddle"


def level_statistic(terms: Terms, fitted: Fit, coded: Array) -> Array:
    """Tell how well each setting could be the stationary point (Box and Hunter's statistic).

    ``d'V^-1 d / k`` with d the fitted slope at the setting and V its covariance. The settings where
    it is at most the F quantile with k and ``fitted.df`` degrees of freedom (see
    `level_limit`) are the confidence region.
    (Box and Hunter, Biometrika 41 (1954) 190-199; form from memory.)

    Parameters
    ----------
    terms, fitted
        As in `stationary_point`.
    coded : ndarray, shape (m, k)

    Returns
    -------
    ndarray, shape (m,)

    Raises
    ------
    Unanswerable
        If no degree of freedom is left, or the readings show no scatter.
    """
    if fitted.covariance is None or not fitted.variance:
        raise Unanswerable("these shots do not tell scatter from curvature")
    p = len(terms)
    _, slope, curve = _parts(terms)
    maps = slope + 2.0 * np.tensordot(coded, curve, (1, 1))  # (m, k, p)
    gradient = maps @ fitted.coefficients[:p]
    spread = maps @ fitted.covariance[:p, :p] @ np.swapaxes(maps, 1, 2)
    solved = np.linalg.solve(spread, gradient[..., None])[..., 0]
    statistic: Array = (gradient * solved).sum(axis=1) / slope.shape[0]
    return statistic


def level_limit(terms: Terms, fitted: Fit, *, level: float = 0.95) -> float:
    """Return the value up to which `level_statistic` keeps a setting in the confidence region."""
    from scipy.special import fdtri

    return float(fdtri(len(terms.factors), fitted.df, level))
