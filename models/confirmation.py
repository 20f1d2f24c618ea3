"""Good and bad shots counted -> the share of good shots they show, and how many that takes."""

from typing import Literal

import numpy as np

Sides = Literal["both", "lower", "upper"]


def shots_to_show(reliability: float, confidence: float, failures: int = 0) -> int:
    """Return the fewest shots that show a share of good shots, with so many failures allowed.

    The smallest n for which a process of exactly that reliability would show no more failures with
    probability ``1 - confidence`` or less. Without failures ``R^n <= 1 - C`` (success run).

    Parameters
    ----------
    reliability : float
        Share of good shots to be shown, between 0 and 1.
    confidence : float
        Between 0 and 1.
    failures : int

    Raises
    ------
    ValueError
        If a share is not between 0 and 1, or failures are below zero.

    Examples
    --------
    >>> from shotwindow.models.confirmation import shots_to_show
    >>> shots_to_show(0.9, 0.9), shots_to_show(0.9, 0.9, failures=1)
    (22, 38)
    """
    if not (0 < reliability < 1 and 0 < confidence < 1) or failures < 0:
        raise ValueError("reliability and confidence lie between 0 and 1, failures at 0 or more")
    low, high = failures, failures + 1
    while not _shows(high, failures, reliability, confidence):
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if _shows(middle, failures, reliability, confidence):
            high = middle
        else:
            low = middle
    return high


def _shows(shots: int, failures: int, reliability: float, confidence: float) -> bool:
    from scipy.special import bdtr

    # a hair of slack: 0.5^1 against 1 - 0.5 must not hang on rounding
    return bool(bdtr(failures, shots, 1.0 - reliability) <= (1.0 - confidence) * (1.0 + 1e-12))


def failures_allowed(shots: int, reliability: float, confidence: float) -> int | None:
    """Return how many of the shots may fail so that the rest still shows the reliability.

    Returns
    -------
    int or None
        None when even no failure among so few shots would show it.

    Examples
    --------
    >>> from shotwindow.models.confirmation import failures_allowed
    >>> failures_allowed(40, 0.9, 0.9), failures_allowed(21, 0.9, 0.9)
    (1, None)
    """
    allowed = None
    for failures in range(shots):
        if not _shows(shots, failures, reliability, confidence):
            break
        allowed = failures
    return allowed


def exact_limits(
    count: int, shots: int, *, confidence: float = 0.95, sides: Sides = "both"
) -> tuple[float, float]:
    """Return Clopper and Pearson's limits of a share, at least as sure as they say.

    Parameters
    ----------
    count : int
        Shots of the kind in question, 0 to `shots`.
    shots : int
        One or more.
    confidence : float
    sides : {"both", "lower", "upper"}
        With one side the other limit is 0 or 1.

    Examples
    --------
    >>> from shotwindow.models.confirmation import exact_limits
    >>> low, high = exact_limits(20, 20, sides="lower")
    >>> round(low, 4), high
    (0.8609, 1.0)
    """
    from scipy.special import betaincinv

    tail = _tail(count, shots, confidence, sides)
    low = betaincinv(count, shots - count + 1, tail) if count > 0 and sides != "upper" else 0.0
    high = 1.0
    if count < shots and sides != "lower":
        high = betaincinv(count + 1, shots - count, 1.0 - tail)
    return float(low), float(high)


def wilson_limits(
    count: int, shots: int, *, confidence: float = 0.95, sides: Sides = "both"
) -> tuple[float, float]:
    """Return Wilson's score limits of a share, as sure as they say on the average of shares.

    Parameters are those of `exact_limits`.

    Examples
    --------
    >>> from shotwindow.models.confirmation import wilson_limits
    >>> low, high = wilson_limits(0, 20)
    >>> round(low, 4), round(high, 4)
    (0.0, 0.1611)
    """
    from scipy.special import ndtri

    z2 = float(ndtri(_tail(count, shots, confidence, sides))) ** 2
    share = count / shots
    middle = (share + z2 / (2 * shots)) / (1 + z2 / shots)
    half = np.sqrt(z2 * (share * (1 - share) / shots + z2 / (4 * shots**2))) / (1 + z2 / shots)
    # rounding would leave a hair beside 0 and 1
    low = 0.0 if sides == "upper" or count == 0 else float(middle - half)
    high = 1.0 if sides == "lower" or count == shots else float(middle + half)
    return low, high


def _tail(count: int, shots: int, confidence: float, sides: Sides) -> float:
    if not 0 <= count <= shots or shots < 1:
        raise ValueError(f"expected 1 or more shots and 0 to all of them, got {count} of {shots}")
    return (1.0 - confidence) / (2.0 if sides == "both" else 1.0)


def shots_to_tell(
    share: float, other: float, *, alarm: float = 0.05, miss: float = 0.10, continuity: bool = False
) -> int:
    """Return how many shots tell one share of rejects from another.

    ``((z_alarm sqrt(p0 q0) + z_miss sqrt(p1 q1)) / d)^2``, d the difference of the shares; with
    the continuity correction 1/d more (NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.2).

    Parameters
    ----------
    share, other : float
        The share that is assumed, and the one that shall be noticed.
    alarm : float
        Probability, one-sided, to give alarm at `share`.
    miss : float
        Probability to give none at `other`.
    continuity : bool

    Examples
    --------
    >>> from shotwindow.models.confirmation import shots_to_tell
    >>> shots_to_tell(0.10, 0.20), shots_to_tell(0.10, 0.20, continuity=True)
    (102, 112)
    """
    from scipy.special import ndtri

    apart = abs(other - share)
    roots = np.sqrt([share * (1 - share), other * (1 - other)])
    shots = (float(ndtri([1 - alarm, 1 - miss]) @ roots) / apart) ** 2
    return int(np.ceil(shots + (1.0 / apart if continuity else 0.0)))
