"""Readings of a steady process and their limits -> capability indices with confidence limits."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Capability:
    """How well a normal process fits between its limits.

    Parameters
    ----------
    cp : float or None
        Width between the limits over six standard deviations; None with one limit only.
    cp_low, cp_high : float or None
        Confidence limits of it (exact, chi-squared).
    cpl, cpu : float or None
        Distance from the mean to the lower and the upper limit over three standard deviations.
    cpk : float
        The smaller of the two.
    cpk_low, cpk_high : float
        Confidence limits of it (Bissell's approximation).
    cpm : float or None
        Like `cp` with the spread about the target; None without a target or with one limit.
    """

    cp: float | None
    cp_low: float | None
    cp_high: float | None
    cpl: float | None
    cpu: float | None
    cpk: float
    cpk_low: float
    cpk_high: float
    cpm: float | None


def capability(
    mean: float,
    sd: float,
    shots: int,
    limits: tuple[float | None, float | None],
    *,
    target: float | None = None,
    level: float = 0.95,
) -> Capability:
    """Return capability indices (defined as in ISO 22514-2) with two-sided confidence limits.

    Parameters
    ----------
    mean, sd : float
        Of the readings, in their unit; sd above zero.
    shots : int
        Number of readings behind them, two or more.
    limits : tuple of float or None
        Lower and upper limit; None where there is none.
    target : float, optional
    level : float
        Confidence; for one-sided limits of 95 % take the lower one at 0.90.

    Raises
    ------
    ValueError
        Without any limit, with no spread, or with fewer than two readings.

    Examples
    --------
    >>> from shotwindow.models.capability import capability
    >>> found = capability(16.0, 2.0, 30, (8.0, 20.0))
    >>> found.cp, round(found.cpl, 4), round(found.cpk, 4)
    (1.0, 1.3333, 0.6667)
    """
    from scipy.special import chdtri, ndtri

    low, high = limits
    if (low is None and high is None) or not sd > 0 or shots < 2:
        raise ValueError("capability needs a limit, a spread above zero and two or more readings")
    sides = (
        None if low is None else (mean - low) / (3.0 * sd),
        None if high is None else (high - mean) / (3.0 * sd),
    )
    df, cpk = shots - 1, min(side for side in sides if side is not None)
    # Bissell, Applied Statistics 39 (1990) 331-340; form from memory
    margin = float(ndtri(0.5 + level / 2) * np.sqrt(1.0 / (9 * shots) + cpk**2 / (2 * df)))
    cp = cp_low = cp_high = cpm = None
    if low is not None and high is not None:
        cp = (high - low) / (6.0 * sd)
        # chdtri takes the upper tail
        cp_low = cp * float(np.sqrt(chdtri(df, 0.5 + level / 2) / df))
        cp_high = cp * float(np.sqrt(chdtri(df, 0.5 - level / 2) / df))
        if target is not None:
            cpm = (high - low) / (6.0 * float(np.hypot(sd, mean - target)))
    return Capability(cp, cp_low, cp_high, sides[0], sides[1], cpk, cpk - margin, cpk + margin, cpm)
