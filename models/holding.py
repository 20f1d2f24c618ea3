"""Settings as planned and as read off the press -> how well the press holds them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from shotwindow.doe.factors import Factor
from shotwindow.doe.rows import Row

ENOUGH = 8  # readings from which a spread is estimated rather than taken from study.toml
SPREADS = 2.0  # about 95 of 100 shots lie within so many standard deviations, if they are normal


@dataclass(frozen=True)
class Holding:
    """How one factor was held, as its actual readings show it.

    Attributes
    ----------
    factor : str
    shots : int
        With an actual reading.
    offset, sd : float
        Mean and standard deviation of actual less planned.
    holds : float
        Plus or minus: the offset and two standard deviations together.
    stated : float
        What study.toml says, or half a step.
    """

    factor: str
    shots: int
    offset: float
    sd: float
    holds: float
    stated: float

    @property
    def used(self) -> float:
        """The worse of the two: that is what a setting has to stand."""
        return max(self.holds, self.stated)


def find_holdings(factors: Sequence[Factor], rows: Sequence[Row]) -> tuple[Holding, ...]:
    """Return how each factor was held of which enough actual readings were taken.

    Parameters
    ----------
    factors : sequence of Factor
    rows : sequence of Row
        All shots; those that are fitted are looked at.
    """
    found = []
    for j, factor in enumerate(factors):
        off = np.array([
            actual - row.settings[j]
            for row in rows
            if row.is_fitted and (actual := row.actual[j]) is not None
        ])  # fmt: skip
        if off.size >= ENOUGH:
            mean, sd = float(off.mean()), float(off.std(ddof=1))
            holds = abs(mean) + SPREADS * sd
            found.append(Holding(factor.name, off.size, mean, sd, holds, factor.holds))
    return tuple(found)


def as_held(factors: Sequence[Factor], holdings: Sequence[Holding]) -> tuple[Factor, ...]:
    """Return the factors with what the press was seen to hold, where that is worse than stated."""
    used = {holding.factor: holding.used for holding in holdings}
    return tuple(replace(f, holds=used.get(f.name, f.holds)) for f in factors)
