"""The same parts judged by two persons -> how often they agree, and how far readings scatter."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.confirmation import exact_limits

CONFIDENCE = 0.95


@dataclass(frozen=True)
class Agreement:
    """How two persons judged the same parts good or bad.

    Attributes
    ----------
    parts : int
    agreed : int
        Parts on which both said the same.
    milder, stricter : int
        Parts that the second person alone calls good, and that the first alone does.
    low, high : float
        Exact limits of the share of such parts on which the two agree.
    by_chance : float
        Share on which two would agree that call parts good as often as these, but blindly.
    kappa : float or None
        Cohen's kappa: the agreement beyond chance, 1 at the most and 0 for guessing; None where
        both said the same of every part.
    """

    parts: int
    agreed: int
    milder: int
    stricter: int
    low: float
    high: float
    by_chance: float
    kappa: float | None

    @property
    def share(self) -> float:
        """Share of the parts on which both said the same."""
        return self.agreed / self.parts

    @property
    def one_way(self) -> bool:
        """Whether the disagreements go one way more than chance would have it (sign test)."""
        apart = self.milder + self.stricter
        if not apart:
            return False
        low, high = exact_limits(self.milder, apart, confidence=CONFIDENCE)
        return not low <= 0.5 <= high


def agreement(first: NDArray[np.bool_], second: NDArray[np.bool_]) -> Agreement:
    """Return how two persons agree on which parts are good.

    The limits of the share are Clopper and Pearson's (`exact_limits`), of confidence 0.95. Kappa
    is (agreed - by chance) / (1 - by chance), J. Cohen, Educational and Psychological Measurement
    20 (1960) 37-46 (from memory).

    Parameters
    ----------
    first, second : ndarray of bool, shape (n,)
        Whether each person calls each part good.

    Raises
    ------
    ValueError
        If there is no part, or a part that only one of them judged.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.agreement import agreement
    >>> found = agreement(np.array([1, 1, 0, 0], bool), np.array([1, 0, 0, 0], bool))
    >>> found.agreed, found.stricter, found.by_chance, found.kappa
    (3, 1, 0.5, 0.5)
    """
    if first.shape != second.shape or first.ndim != 1 or not len(first):
        raise ValueError(f"expected two judgements each, got {first.shape} and {second.shape}")
    agreed = int((first == second).sum())
    low, high = exact_limits(agreed, len(first), confidence=CONFIDENCE)
    p, q = float(first.mean()), float(second.mean())
    by_chance = p * q + (1 - p) * (1 - q)
    share = agreed / len(first)
    return Agreement(
        parts=len(first),
        agreed=agreed,
        milder=int((second & ~first).sum()),
        stricter=int((first & ~second).sum()),
        low=low,
        high=high,
        by_chance=by_chance,
        kappa=(share - by_chance) / (1 - by_chance) if by_chance < 1 else None,
    )


def reading_scatter(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    """Return the standard deviation of one reading from parts that were read twice.

    ``sqrt(sum d^2 / 2n)`` over the differences d, a common shift between the two persons included
    (duplicate measurements; G. Dahlberg, Statistical Methods for Medical and Biological Students,
    1940, from memory).

    Parameters
    ----------
    first, second : ndarray, shape (n,)
        In the unit of the readings.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.agreement import reading_scatter
    >>> round(reading_scatter(np.array([90.0, 94.0]), np.array([92.0, 92.0])), 3)
    1.414
    """
    return float(np.sqrt(np.mean((first - second) ** 2) / 2))
