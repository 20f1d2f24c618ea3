"""Readings in groups -> variance components by restricted likelihood, and small-sample tests.

The model is ``y = X b + e`` with ``cov(e) = sum of v_i G_i``, where ``G_i`` has a one wherever two
readings share a group of kind i, and the last ``G`` is the identity. Everything is dense: these
are some hundred readings at most.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.errors import Unanswerable

Array = NDArray[np.float64]

# Where the search for each ratio of variances starts; the likelihood of few groups can have a
# second top, often at zero.
STARTS = (0.0, 0.03, 0.3, 1.0, 5.0, 50.0)
STEPS = 200


@dataclass(frozen=True)
class Mixed:
    """A fit of p coefficients and c variance components to n readings.

    Parameters
    ----------
    coefficients : ndarray, shape (p,)
        Generalized least squares at the estimated variances.
    variances : ndarray, shape (c,)
        One a kind of group, then the scatter of single readings; none below zero.
    deviance : float
        -2 times the restricted log likelihood.
    plain : ndarray, shape (p, p)
        Covariance of the coefficients as if the variances were known.
    covariance : ndarray, shape (p, p)
        With the uncertainty of the variances put in (Kenward and Roger).
    slopes : ndarray, shape (c, p, p)
        Change of the inverse of `plain` with each variance.
    spread : ndarray, shape (c, c)
        Covariance of the estimated variances.
    """

    coefficients: Array
    variances: Array
    deviance: float
    plain: Array
    covariance: Array
    slopes: Array
    spread: Array


@dataclass(frozen=True)
class JointTest:
    """An F test of several coefficients together."""

    f: float
    df: int
    error_df: float
    p: float


def fit_reml(matrix: Array, response: Array, groups: Sequence[NDArray[np.int_]]) -> Mixed:
    """Fit by restricted maximum likelihood.

    Parameters
    ----------
    matrix : ndarray, shape (n, p)
        Of full rank, see `shotwindow.models.textbook.estimable`.
    response : ndarray, shape (n,)
    groups : sequence of ndarray of int, shape (n,)
        For each kind of group the number of the group each reading belongs to.

    Raises
    ------
    Unanswerable
        If the readings cannot tell the kinds of scatter apart.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.reml import fit_reml
    >>> y = np.array([1.0, 2.0, 5.0, 6.0, 3.0, 4.0])
    >>> fit_reml(np.ones((6, 1)), y, [np.array([0, 0, 1, 1, 2, 2])]).variances.round(4).tolist()
    [3.75, 0.5]
    """
    kinds = np.array([g[:, None] == g[None, :] for g in groups] + [np.eye(len(response))], float)
    basis, triangle = np.linalg.qr(matrix, mode="complete")
    p = matrix.shape[1]
    # combinations of readings that no coefficient moves hold all there is about scatter
    free = basis[:, p:]  # (n, n - p)
    inner = np.asarray(free.T @ kinds @ free, dtype=np.float64)  # (c, n - p, n - p)
    if np.linalg.matrix_rank(np.einsum("iab,jba->ij", inner, inner)) < len(kinds):
        raise Unanswerable("these shots cannot tell the scatter of groups from that of shots")
    found = _search(inner, free.T @ response)
    variances = found.scale * np.append(found.ratios, 1.0)
    inverse = _inverse(np.tensordot(variances, kinds, axes=1))
    plain = _inverse(matrix.T @ inverse @ matrix)
    moved = _inverse(np.tensordot(variances, inner, axes=1)) @ inner
    spread = 2.0 * _inverse(np.einsum("iab,jba->ij", moved, moved))
    slopes, covariance = _small_sample(inverse @ matrix, inverse, plain, kinds, spread)
    return Mixed(
        plain @ (matrix.T @ (inverse @ response)),
        variances,
        found.deviance + 2.0 * float(np.log(np.abs(np.diag(triangle))).sum()),
        plain,
        covariance,
        slopes,
        spread,
    )


def _inverse(matrix: Array) -> Array:
    return np.asarray(np.linalg.inv(matrix), dtype=np.float64)


@dataclass(frozen=True)
class _Try:
    """Ratios of the variances to the scatter of single readings, and how likely they are.

    ``slope`` and ``bend`` are the first derivative of the deviance and its expected second one.
    """

    ratios: Array
    deviance: float
    scale: float
    slope: Array
    bend: Array


def _attempt(ratios: Array, inner: Array, response: Array) -> _Try:
    """Deviance ``log|W| + m log(r'W^-1 r)`` with its constants; W is the covariance over scale."""
    m = len(response)
    relative = np.tensordot(np.append(ratios, 1.0), inner, axes=1)
    left = np.linalg.solve(relative, response)
    scale = float(response @ left) / m
    moved = np.linalg.solve(relative, inner[:-1])
    trace = np.einsum("iaa->i", moved)
    return _Try(
        ratios,
        float(np.linalg.slogdet(relative)[1] + m * (1.0 + np.log(2.0 * np.pi * scale))),
        scale,
        trace - np.einsum("a,iab,b->i", left, inner[:-1], left) / scale,
        np.einsum("iab,jba->ij", moved, moved) - np.outer(trace, trace) / m,
    )


def _search(inner: Array, response: Array) -> _Try:
    """Go down to the lowest deviance with ratios of zero or more, by Fisher scoring."""
    starts = product(STARTS, repeat=len(inner) - 1)
    best = min(
        (_attempt(np.array(start), inner, response) for start in starts),
        key=lambda one: one.deviance,
    )
    for _ in range(STEPS):
        # a ratio of zero that wants to fall below stays there
        free = (best.ratios > 0) | (best.slope < 0)
        step = np.zeros_like(best.ratios)
        step[free] = np.linalg.solve(best.bend[np.ix_(free, free)], -best.slope[free])
        if np.all(np.abs(step) <= 1e-11 * (1.0 + best.ratios)):
            break
        # near the bottom steps are smaller than the rounding of the deviance can tell
        enough = best.deviance + 1e-13 * abs(best.deviance)
        tries = (np.maximum(best.ratios + step * 0.5**halved, 0.0) for halved in range(30))
        attempts = (_attempt(ratios, inner, response) for ratios in tries)
        better = next((one for one in attempts if one.deviance <= enough), None)
        if better is None:
            break
        best = better
    return best


def _small_sample(
    half: Array, inverse: Array, plain: Array, kinds: Array, spread: Array
) -> tuple[Array, Array]:
    """Slopes and adjusted covariance of Kenward and Roger (1997); half is ``V^-1 X``."""
    across = kinds @ half
    slopes: Array = -np.asarray(half.T @ across, dtype=np.float64)
    second = np.einsum("iap,ab,jbq->ijpq", across, inverse, across, optimize=True)
    lift = second - np.einsum("ipq,qr,jrs->ijps", slopes, plain, slopes)
    adjusted = plain + 2.0 * plain @ np.einsum("ij,ijpq->pq", spread, lift) @ plain
    return slopes, adjusted


def joint_test(mixed: Mixed, combinations: Array) -> JointTest:
    """Test whether combinations of coefficients are all zero.

    F with the scale and error degrees of freedom of Kenward and Roger (Biometrics 53 (1997)
    983-997; formulas from memory, checked against published results).

    Parameters
    ----------
    mixed : Mixed
    combinations : ndarray, shape (q, p)
        Of full rank q.
    """
    from scipy.special import fdtrc

    q = len(combinations)
    values = combinations @ mixed.coefficients
    inner = _inverse(combinations @ mixed.plain @ combinations.T)
    theta = combinations.T @ inner @ combinations @ mixed.plain
    moved = theta @ mixed.slopes @ mixed.plain  # (c, p, p)
    one = np.einsum("ipp->i", moved)
    a1 = float(one @ mixed.spread @ one)
    a2 = float(np.einsum("ij,ipq,jqp->", mixed.spread, moved, moved))
    error_df, scale = _kenward_roger(q, a1, a2)
    f = (
        scale
        / q
        * float(values @ np.linalg.solve(combinations @ mixed.covariance @ combinations.T, values))
    )
    return JointTest(f, q, error_df, float(fdtrc(q, error_df, f)))


def _kenward_roger(q: int, a1: float, a2: float) -> tuple[float, float]:
    """Error degrees of freedom and scale that match mean and variance of F."""
    if q == 1:
        return 2.0 / a1, 1.0
    b = (a1 + 6.0 * a2) / (2.0 * q)
    g = ((q + 1) * a1 - (q + 4) * a2) / ((q + 2) * a2)
    bottom = 3.0 * q + 2.0 * (1.0 - g)
    c1, c2, c3 = g / bottom, (q - g) / bottom, (q + 2 - g) / bottom
    mean = 1.0 - a2 / q  # one over the mean of F
    # mean and variance grow without bounds together as the degrees of freedom come down to 2
    shrink = (1.0 - c2 * b) / mean if abs(mean) > 1e-10 else 1.0
    # q times the squared mean, over half of the variance; zero at 4 degrees of freedom
    narrow = q * shrink**2 * (1.0 - c3 * b) / (1.0 + c1 * b)
    error_df = 4.0 + (q + 2.0) * narrow / (q - narrow)
    scale = error_df * mean / (error_df - 2.0) if abs(error_df - 2.0) > 1e-6 else 1.0
    return error_df, scale
