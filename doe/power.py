"""Variance and degrees of freedom turned into what a plan would see: power and smallest effects.

An effect is the change of the response from a factor's low to its high, in units of shot scatter.
A test of one term at 5 %: F on 1 and df degrees of freedom, noncentrality (effect / its error)^2.
"""

LEVEL = 0.05
POWER = 0.8


def power(noncentrality: float, df: int, level: float = LEVEL) -> float:
    """Return the chance of seeing an effect of one degree of freedom.

    Parameters
    ----------
    noncentrality
        (effect / its standard error)^2; n effect^2 / 4 for a two-level plan of n shots.
    df
        Degrees of freedom of the scatter, one or more.
    level
        Chance of seeing an effect that is not there.

    Examples
    --------
    Eight shots, four degrees of freedom, an effect of twice the scatter.

    >>> from shotwindow.doe.power import power
    >>> round(power(8 * 2.0**2 / 4, 4), 6)
    0.571609
    """
    from scipy.special import fdtri, ncfdtr  # takes longer to load than all of this

    limit = fdtri(1, df, 1 - level)
    return float(1 - ncfdtr(1, df, noncentrality, limit))


def smallest_effect(error: float, df: int, level: float = LEVEL) -> float | None:
    """Return the smallest effect that is seen with power 0.8; None without degrees of freedom.

    Parameters
    ----------
    error
        Standard error of the effect, in the unit of the answer.

    Examples
    --------
    >>> from shotwindow.doe.power import power, smallest_effect
    >>> least = smallest_effect(0.5, 8)
    >>> round(power((least / 0.5) ** 2, 8), 4)
    0.8
    """
    if df < 1:
        return None
    from scipy.special import fdtri, ncfdtrinc

    limit = fdtri(1, df, 1 - level)
    noncentrality = float(ncfdtrinc(1, df, 1 - POWER, limit))
    return float(error * noncentrality**0.5)
