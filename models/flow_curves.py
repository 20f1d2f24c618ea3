"""A viscosity law in reduced units -> mean speed in slits and tubes under a wall stress, tabulated.

Rates are counted in units of a melt's rate scale and stresses in units of its stress scale, so
that one table serves all temperatures.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Natural logs of reduced rates, far beyond what a mold sees; between neighbors the curves are
# straight to about 2e-5.
_LOG_RATES = np.arange(-20.0, 60.0, 0.004)
_TABLE_STEP = 0.02


@dataclass(frozen=True)
class LogTable:
    """A smooth curve of logarithms on evenly spaced abscissas, straight between and beyond them.

    Attributes
    ----------
    start, step : float
        First abscissa and the distance of two neighbors.
    base, slope : ndarray, shape (m,)
        The straight piece number i is ``base[i] + slope[i] * x``.
    """

    start: float
    step: float
    base: Array
    slope: Array

    @staticmethod
    def through(x: Array, y: Array) -> "LogTable":
        """Return the table through points with rising abscissas."""
        grid = np.arange(x[0], x[-1], _TABLE_STEP)
        values = np.interp(grid, x, y)
        slope = np.diff(values) / _TABLE_STEP
        return LogTable(float(grid[0]), _TABLE_STEP, values[:-1] - slope * grid[:-1], slope)

    def at(self, x: Array) -> tuple[Array, Array]:
        """Return the curve and its slope at x, both of the shape of x."""
        # Cut before the cast: a logarithm of nothing (-inf) has no integer.
        place = np.clip((x - self.start) / self.step, 0, len(self.slope) - 1).astype(np.intp)
        slope = self.slope.take(place)
        return self.base.take(place) + slope * x, slope


#: Reduced viscosity at a reduced rate and power-law index.
_LAWS: dict[str, Callable[[Array, float], Array]] = {
    "cross": lambda rate, n: 1.0 / (1.0 + rate ** (1.0 - n)),
    "power": lambda rate, n: rate ** (n - 1.0),
    "carreau": lambda rate, n: (1.0 + rate**2) ** ((n - 1.0) / 2.0),
}


@dataclass(frozen=True)
class FlowCurve:
    """Flow of a reduced melt, all as natural logarithms.

    Attributes
    ----------
    slit : LogTable
        Reduced wall stress -> mean speed / (gap x rate scale).
    tube : LogTable
        Reduced wall stress -> mean speed / (radius x rate scale).
    """

    slit: LogTable
    tube: LogTable


@lru_cache(maxsize=512)
def flow_curve(law: str, n: float) -> FlowCurve:
    """Tabulate the flow of a reduced law ("cross", "power" or "carreau") with index n.

    The mean speed in a slit of gap h is ``h / (2 s^2)`` times the integral of ``s g ds`` from zero
    to the wall stress s, in a tube of radius R it is ``R / s^3`` times that of ``s^2 g ds``: for a
    Newtonian melt ``h s / 6`` and ``R s / 4`` (Weissenberg-Rabinowitsch; textbook, from memory).

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.flow_curves import flow_curve
    >>> speed, _ = flow_curve("power", 1.0).slit.at(np.log(np.array([3.0])))
    >>> round(float(np.exp(speed[0])), 4)
    0.5
    """
    rate = np.exp(_LOG_RATES)
    stress = rate * _LAWS[law](rate, n)
    slit = _moment(stress, rate, 2) / (2.0 * stress**2)
    tube = _moment(stress, rate, 3) / stress**3
    return FlowCurve(
        LogTable.through(np.log(stress), np.log(slit)),
        LogTable.through(np.log(stress), np.log(tube)),
    )


def _moment(stress: Array, rate: Array, power: int) -> Array:
    """Integrate ``s^(power-1) g ds`` from zero to each stress, by trapezoids in log stress."""
    parts = stress**power * rate
    steps = np.diff(np.log(stress))
    # Below the first point the curve is a power, whose integral is known.
    slope = (np.log(rate[1]) - np.log(rate[0])) / steps[0]
    first = parts[0] / (power + slope)
    moment: Array = first + np.concatenate(
        [[0.0], np.cumsum(steps * (parts[1:] + parts[:-1]) / 2.0)]
    )
    return moment
