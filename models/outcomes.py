"""Settings of a simulated press -> how far the melt would flow and how wide it flashes.

The laws are those of `melt`, `freezing`, `filling` and `flashing`; no fitted surface shares their
form.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.models.filling import Conditions, fill_mold
from shotwindow.models.press import STANDARD, Press, set_values, standard_values

Array = NDArray[np.float64]

# Shots that are worked on at once: few enough for a processor's cache.
_CHUNK = 2048
_BAR = 1e5  # Pa


@dataclass(frozen=True)
class Deviations:
    """What differs from the settings in each of n shots: (n,) each, zero for nothing.

    Attributes
    ----------
    pressure, time, charge, thickness : ndarray
        Relative; thickness is that of the melt.
    melt, mold : ndarray
        degC.
    """

    pressure: Array
    melt: Array
    mold: Array
    time: Array
    charge: Array
    thickness: Array

    @staticmethod
    def none(n: int) -> "Deviations":
        """Return the deviations of n shots that go as set."""
        return Deviations(*(np.zeros(n) for _ in fields(Deviations)))


@dataclass(frozen=True)
class Outcome:
    """What the physics makes of n shots, before the scatter of single cavities.

    Attributes
    ----------
    potential : ndarray, shape (C, n)
        How far the melt would have flowed, percent of the cavity; may exceed 100.
    width : ndarray, shape (C, n)
        Flash, mm.
    pressure : ndarray, shape (C, n)
        At the end of each cavity when its gate froze, Pa; zero if short.
    hazard : ndarray, shape (2, n)
        Expected number of faults of each of `shotwindow.models.press.REASONS`.
    """

    potential: Array
    width: Array
    pressure: Array
    hazard: Array


def true_latent(press: Press, settings: ArrayLike) -> tuple[Array, Array]:
    """Return potential fill and flash without scatter, at thermal balance.

    Parameters
    ----------
    press : Press
    settings : array-like, shape (n, k)
        In the units of the press's factors.

    Returns
    -------
    fill : ndarray, shape (n, C)
        How far the melt would have flowed, percent of the cavity; above 100 where it is full.
    flash : ndarray, shape (n, C)
        Flash width, mm.

    Examples
    --------
    >>> from shotwindow.models.outcomes import true_latent
    >>> from shotwindow.models.presets import preset
    >>> fill, flash = true_latent(preset("narrow"), [[50.0], [62.0], [75.0]])
    >>> (fill[:, 0] >= 100).tolist(), (flash[:, 0] > 0.1).tolist()
    ([False, True, True], [False, False, True])
    """
    settings = checked_settings(press, settings)
    outcome = outcomes(press, settings, Deviations.none(len(settings)))
    return outcome.potential.T, outcome.width.T


def checked_settings(press: Press, settings: ArrayLike) -> Array:
    """Return settings as an array of shape (n, k).

    Raises
    ------
    ValueError
        If there is not one column for each factor.
    """
    columns = np.asarray(settings, dtype=np.float64)
    if columns.ndim != 2 or columns.shape[1] != len(press.factors):
        raise ValueError(f"settings have shape {columns.shape}, expected (n, {len(press.factors)})")
    return columns


def outcomes(press: Press, settings: Array, deviations: Deviations) -> Outcome:
    """Return what the physics makes of settings (n, k) with deviations (n,)."""
    shots = conditions(press, settings, deviations)
    arrays = [getattr(shots, field.name) for field in fields(Conditions)]
    parts = [
        _outcome(press, Conditions(*(a[i : i + _CHUNK] for a in arrays)))
        for i in range(0, max(len(settings), 1), _CHUNK)
    ]
    return Outcome(
        *(
            np.concatenate([getattr(part, field.name) for part in parts], axis=1)
            for field in fields(Outcome)
        )
    )


def conditions(press: Press, settings: Array, deviations: Deviations) -> Conditions:
    """Return what the melt meets in shots at settings (n, k) with deviations (n,)."""
    values = set_values(press, settings)
    gauge = values["pressure"] * (1.0 + deviations.pressure)
    kept = 1.0 - press.charge_loss * deviations.charge
    pressure = press.area_ratio * gauge * _BAR * kept - press.friction
    return Conditions(
        pressure=np.maximum(pressure, 1.0),
        melt=values["melt_temperature"] + deviations.melt,
        mold=values["mold_temperature"] + deviations.mold,
        time=np.maximum(values["injection_time"] * (1.0 + deviations.time), 0.0),
        thickness=np.exp(values["thickness"] + deviations.thickness),
    )


def actual_settings(press: Press, settings: Array, deviations: Deviations) -> Array:
    """Return what a perfect gauge would have shown at settings (n, k), in the factors' units."""
    values = set_values(press, settings)
    shifts = {
        "pressure": values["pressure"] * deviations.pressure,
        "melt_temperature": deviations.melt,
        "mold_temperature": deviations.mold,
        "injection_time": values["injection_time"] * deviations.time,
    }
    actual = settings.copy()
    for j, factor in enumerate(press.factors):
        if factor.name in STANDARD:
            one = standard_values(factor, 1.0) - standard_values(factor, 0.0)
            actual[:, j] += shifts[factor.name] / one
    return actual


def _outcome(press: Press, shots: Conditions) -> Outcome:
    filling = fill_mold(press.mold, press.melt, press.freezing, shots)
    pressure, mean = press.packing.pressures(filling, press.melt, shots)
    opening = press.clamp.opening(press.mold, mean)
    width = press.flash.width(pressure, opening, press.melt, press.freezing, shots)
    potential = 100.0 * filling.potential
    if press.cavities > 1 and press.starving > 0.0:
        potential = potential * _starved(press, width) ** (1.0 / (1.0 + press.melt.n))
    return Outcome(potential, width, pressure, _hazard(press, shots.melt))


def _starved(press: Press, width: Array) -> Array:
    """Return the share of pressure left to each cavity by the flash of the others, (C, n).

    Melt that runs into one cavity's flash does not press on the others (form invented). With
    constant pressure a power-law front goes as its power 1 / (1 + n).
    """
    leak = width / (width + press.flash_limits_mm[2])
    others = (leak.sum(axis=0) - leak) / (press.cavities - 1)
    starved: Array = 1.0 - press.starving * others
    return starved


def _hazard(press: Press, melt: Array) -> Array:
    """Return the expected number of splay and burn faults at melt temperatures (n,), (2, n).

    Both rise e-fold: steam with every 20 degC, burning with every 4 degC (invented).
    """
    splay = max(press.moisture - 1.0, 0.0) * np.exp((melt - press.held[1]) / 20.0)
    return np.stack([splay, np.exp((melt - press.burn_from) / 4.0)])
