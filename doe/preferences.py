"""What is preferred of settings that are as good -> the factors that it wants low."""

from collections.abc import Sequence

from shotwindow.doe.factors import Factor

#: What `prefer` may say: each breaks a tie between settings whose shots are as good.
PREFERENCES = {
    "low-pressure": "pressure",
    "short-time": "time",
    "cool-melt": "temperature",
}


def wanted_low(factors: Sequence[Factor], prefer: str) -> tuple[int, ...]:
    """Return the places of the factors that a preference wants low; none for no preference.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.doe.preferences import wanted_low
    >>> melt = Factor("melt_temperature", "degC", 205, 235, 1, (190, 250), 0.5)
    >>> mold = Factor("mold_temperature", "degC", 30, 60, 1, (20, 80), 0.5)
    >>> wanted_low((mold, melt), "cool-melt"), wanted_low((mold, melt), "")
    ((1,), ())
    """
    role = PREFERENCES.get(prefer)
    return tuple(
        j
        for j, factor in enumerate(factors)
        if role is not None and factor.role == role and factor.name != "mold_temperature"
    )
