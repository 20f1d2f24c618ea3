"""A plan's settings turned into how well it predicts and how near it comes to the best plan.

Everything is in units of shot scatter and in coded settings; f is the row of terms at a setting,
X the model matrix, n the number of shots, p that of terms.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.terms import Terms

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Efficiency:
    """How a plan compares with others of the same terms; 1 is the best for d, a and g.

    Attributes
    ----------
    d : float
        |X'X / n|^(1/p): 1 for an orthogonal two-level plan.
    a : float
        p / trace((X'X / n)^-1): 1 for an orthogonal two-level plan.
    g : float
        p / largest n v over the region, where v is the variance of prediction.
    i : float
        Mean n v over the region; smaller is better.
    """

    d: float
    a: float
    g: float
    i: float


def covariance(matrix: Floats, weights: Floats | None = None) -> Floats:
    """Return the covariance (X' V^-1 X)^-1 of the coefficients, shot scatter 1.

    Parameters
    ----------
    matrix
        X, (n, p), of full rank.
    weights
        V^-1, (n, n); independent shots by default.
    """
    information = matrix.T @ (matrix if weights is None else weights @ matrix)
    found: Floats = np.asarray(np.linalg.inv(information), dtype=float)
    return found


def prediction_variance(terms: Terms, covariance: Floats, coded: Floats) -> Floats:
    """Return v = f' (X' V^-1 X)^-1 f at settings (m, k), shape (m,)."""
    rows = terms.matrix(coded)
    variance: Floats = ((rows @ covariance) * rows).sum(axis=1)
    return variance


def scaled_variance(terms: Terms, coded: Floats, at: Floats) -> Floats:
    """Return n v at settings (m, k) for a plan (n, k) of independent shots, shape (m,).

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.terms import first_order
    >>> from shotwindow.doe.variance import scaled_variance
    >>> square = np.array([[-1, -1], [1, -1], [-1, 1], [1, 1.0]])
    >>> scaled_variance(first_order("ab"), square, np.array([[0.0, 0.0], [1.0, 1.0]])).tolist()
    [1.0, 3.0]
    """
    scaled: Floats = len(coded) * prediction_variance(terms, covariance(terms.matrix(coded)), at)
    return scaled


def efficiency(terms: Terms, coded: Floats, region: Floats) -> Efficiency:
    """Return the efficiencies of a plan (n, k) of full rank over a region of settings (m, k)."""
    matrix = terms.matrix(coded)
    count, size = matrix.shape
    logdet = float(np.linalg.slogdet(matrix.T @ matrix / count)[1])
    trace = float(np.trace(covariance(matrix))) * count
    scaled = scaled_variance(terms, coded, region)
    return Efficiency(
        d=float(np.exp(logdet / size)),
        a=size / trace,
        g=size / float(scaled.max()),
        i=float(scaled.mean()),
    )


def continuous_optimum(terms: Terms, candidates: Floats, rounds: int = 5_000) -> Floats:
    """Return the shares of shots at each candidate (m, k) that make |X'X / n| largest, (m,).

    No plan of whole shots does better. Each round multiplies a share by its variance over p, which
    ends where n v = p wherever shots are made (the equivalence theorem of J. Kiefer and
    J. Wolfowitz, 1960, and the algorithm of D. M. Titterington, 1976; both from memory).

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.terms import full_quadratic
    >>> from shotwindow.doe.variance import continuous_optimum
    >>> ends_and_center = np.array([[-1.0], [-0.5], [0.0], [0.5], [1.0]])
    >>> continuous_optimum(full_quadratic("a"), ends_and_center).round(3).tolist()
    [0.333, 0.0, 0.333, 0.0, 0.333]
    """
    rows = terms.matrix(candidates)
    shares = np.full(len(rows), 1 / len(rows))
    for _ in range(rounds):
        inverse = np.linalg.inv(rows.T @ (shares[:, None] * rows))
        variance = ((rows @ inverse) * rows).sum(axis=1)
        shares = shares * variance / len(terms)
        if variance.max() < len(terms) * (1 + 1e-6):
            break
    return shares


def leverages(matrix: Floats) -> Floats:
    """Return the leverage of each row of X, (n,): where it is 1, losing the shot loses a term."""
    basis = np.linalg.qr(matrix)[0]
    lever: Floats = (basis**2).sum(axis=1)
    return lever
