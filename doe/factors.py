"""A factor turned into its marks, and settings turned into coded values and back.

A mark is a value that can be set: ``low + k * step``, nothing between. Coded values run from -1 at
`low` to +1 at `high` and are what the mathematics works on.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.quantities import decimals, format_number

#: What each standard factor does to the melt; a factor of another name says so with `acts_as`.
STANDARD_ROLES = {
    "pressure": "pressure",
    "melt_temperature": "temperature",
    "mold_temperature": "temperature",
    "injection_time": "time",
}


@dataclass(frozen=True)
class Factor:
    """One thing that is set on purpose, with its range and how finely it can be set.

    Attributes
    ----------
    name, unit : str
        As in study.toml; the values below are in this unit.
    low, high : float
        Ends of the range that is tried.
    step : float
        Distance of two neighboring marks.
    limits : (float, float)
        Rating of the press; nothing outside is ever planned.
    holds : float
        How well the press holds a setting, as plus or minus.
    reads : str
        "gauge" or "melt": where a pressure is read. Without meaning for other factors.
    soak_min, soak_down_min : float or None
        Minutes to wait after the value went up, or down. None for a factor that changes at once.
    acts_as : str or None
        "pressure", "temperature" or "time" where a factor of the user's own name acts like one.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> pressure = Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05)
    >>> pressure.label, pressure.count, pressure.text(pressure.snap(4.26))
    ('pressure (bar)', 21, '4.3')
    """

    name: str
    unit: str
    low: float
    high: float
    step: float
    limits: tuple[float, float]
    holds: float
    reads: str = "gauge"
    soak_min: float | None = None
    soak_down_min: float | None = None
    acts_as: str | None = None

    @property
    def label(self) -> str:
        """Name and unit as a column head, for instance "melt temperature (degC)"."""
        return f"{self.name.replace('_', ' ')} ({self.unit})"

    @property
    def is_slow(self) -> bool:
        """Whether a change needs a soak, so that shots are grouped by it."""
        return self.soak_min is not None

    @property
    def role(self) -> str | None:
        """What more of it does: "pressure", "temperature", "time", or None if that is unknown."""
        return STANDARD_ROLES.get(self.name, self.acts_as)

    @property
    def count(self) -> int:
        """Number of marks from low to high, both counted."""
        return round((self.high - self.low) / self.step) + 1

    @cached_property
    def marks(self) -> NDArray[np.float64]:
        """Every mark from low to high, shape (count,), read-only."""
        marks = self._at(np.arange(self.count))
        marks.flags.writeable = False
        return marks

    def marks_between(self, low: float, high: float) -> int:
        """Number of marks from one to another, both counted."""
        return round((high - low) / self.step) + 1

    def coded(self, values: ArrayLike) -> NDArray[np.float64]:
        """Return values of this factor's unit on the coded scale."""
        center, half = (self.high + self.low) / 2, (self.high - self.low) / 2
        return (np.asarray(values, dtype=np.float64) - center) / half

    def natural(self, coded: ArrayLike) -> NDArray[np.float64]:
        """Return coded values in this factor's unit."""
        center, half = (self.high + self.low) / 2, (self.high - self.low) / 2
        return center + half * np.asarray(coded, dtype=np.float64)

    def snap(self, values: ArrayLike) -> NDArray[np.float64]:
        """Return the nearest mark for each value, never below low or above high."""
        steps = (np.asarray(values, dtype=np.float64) - self.low) / self.step
        return self._at(np.clip(np.floor(steps + 0.5), 0, self.count - 1))

    def text(self, value: ArrayLike) -> str:
        """Return a value of this factor as it is read off the dial, without its unit."""
        return format_number(float(np.asarray(value)), 10.0**-self._places)

    @property
    def _places(self) -> int:
        """Decimals that every mark can be written with."""
        return max(decimals(self.low), decimals(self.step))

    def _at(self, steps: ArrayLike) -> NDArray[np.float64]:
        # Rounded to the decimals that the user wrote: 3.0 + 13 * 0.1 is 4.3, not 4.300000000000001.
        return np.round(self.low + np.asarray(steps, dtype=np.float64) * self.step, self._places)


def coded_settings(factors: tuple[Factor, ...], settings: ArrayLike) -> NDArray[np.float64]:
    """Return settings (n, k) in the factors' units as coded values (n, k).

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor, coded_settings
    >>> pressure = Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05)
    >>> coded_settings((pressure,), [[3.0], [4.5]]).tolist()
    [[-1.0], [0.5]]
    """
    columns = _columns(factors, settings)
    return np.stack([f.coded(columns[..., j]) for j, f in enumerate(factors)], axis=-1)


def natural_settings(factors: tuple[Factor, ...], coded: ArrayLike) -> NDArray[np.float64]:
    """Return coded values (n, k) as settings (n, k) in the factors' units.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor, natural_settings
    >>> pressure = Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05)
    >>> natural_settings((pressure,), [[-1.0], [0.5]]).tolist()
    [[3.0], [4.5]]
    """
    columns = _columns(factors, coded)
    return np.stack([f.natural(columns[..., j]) for j, f in enumerate(factors)], axis=-1)


def snap_settings(factors: tuple[Factor, ...], settings: ArrayLike) -> NDArray[np.float64]:
    """Return settings (n, k) with every value moved to the nearest mark of its factor.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor, snap_settings
    >>> pressure = Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05)
    >>> snap_settings((pressure,), [[4.26], [9.0]]).tolist()
    [[4.3], [5.0]]
    """
    columns = _columns(factors, settings)
    return np.stack([f.snap(columns[..., j]) for j, f in enumerate(factors)], axis=-1)


def _columns(factors: tuple[Factor, ...], values: ArrayLike) -> NDArray[np.float64]:
    columns = np.asarray(values, dtype=np.float64)
    if columns.ndim == 0 or columns.shape[-1] != len(factors):
        raise ValueError(f"settings have shape {columns.shape}, expected (n, {len(factors)})")
    return columns
