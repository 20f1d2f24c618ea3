"""How far weighted draws can be trusted: how many count, and how heavy their tail is.

The tail of the weights tells whether averages settle at all (Pareto k: Vehtari et al., J. Mach.
Learn. Res. 25, 2024, from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from shotwindow.models.chains import SETTLED

Array = NDArray[np.float64]

LIGHT = 0.01  # share of all weight on one set of scales, below which the tail does not matter
ENOUGH_DRAWS = 100.0


@dataclass(frozen=True)
class Diagnostics:
    """How far draws can be trusted.

    Parameters
    ----------
    effective : float
        Effective number of independent sets of scales behind the draws.
    pareto_k : float
        Shape of the tail of the weights: below 0.7 averages settle, above they may not.
    rounds : int
        How often the proposals were fitted anew.
    heaviest : float
        Share of all weight on a single set of scales. Where it is small the tail does not matter,
        and its shape is read off differences between nearly equal weights.
    r_hat : float or None
        Where the weights did not settle and chains took over: how far they tell the same. The
        other numbers are then those of the chains, and no weights matter.
    """

    effective: float
    pareto_k: float
    rounds: int
    heaviest: float = 1.0
    r_hat: float | None = None

    @property
    def converged(self) -> bool:
        """Whether the draws may be used."""
        if self.r_hat is not None:
            return self.effective >= ENOUGH_DRAWS and self.r_hat < SETTLED
        light = self.pareto_k < 0.7 or self.heaviest < LIGHT
        return self.effective >= ENOUGH_DRAWS and light


def tail_shape(log_weight: Array) -> float:
    """Pareto k of the largest weights, by the estimator of Zhang and Stephens (2009, from memory).

    Parameters
    ----------
    log_weight : ndarray, shape (count,)

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.trust import tail_shape
    >>> uniform = np.random.default_rng(3).uniform(size=20000)
    >>> round(tail_shape(-0.5 * np.log(uniform)), 1)  # weights with a Pareto tail of shape 0.5
    0.5
    """
    count = log_weight.size
    largest = int(min(0.2 * count, 3.0 * np.sqrt(count)))
    ordered = np.sort(np.exp(log_weight - log_weight.max()))
    above = ordered[-largest:] - ordered[-largest - 1]
    if above[-1] <= 0.0:
        return -np.inf  # all weights alike
    above = np.maximum(above, 1e-300)
    grid = 30 + int(np.sqrt(largest))
    quarter = above[max(int(largest / 4 + 0.5) - 1, 0)]
    theta = 1.0 / above[-1] + (1.0 - np.sqrt(grid / (np.arange(1, grid + 1) - 0.5))) / (
        3.0 * quarter
    )
    k = np.log1p(-theta[:, None] * above).mean(axis=1)
    fit = largest * (np.log(-theta / k) - k - 1.0)
    weight = np.exp(fit - logsumexp(fit))
    best = float((theta * weight).sum())
    shape = float(np.log1p(-best * above).mean())
    return (largest * shape + 10 * 0.5) / (largest + 10)  # drawn a little toward one half
