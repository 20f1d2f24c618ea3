"""What makes up a simulated practice press: its laws, their constants and its scatter.

The press is one of a kind: its constants are chosen in `shotwindow.models.presets` or drawn in
`shotwindow.models.presses`. What it does with settings is computed in `shotwindow.models.outcomes`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.quantities import convert
from shotwindow.models.filling import MoldShape
from shotwindow.models.flashing import Clamp, Flash, Packing
from shotwindow.models.freezing import Freezing
from shotwindow.models.melt import Melt

Array = NDArray[np.float64]

#: Standard factors in the order of `Press.held`, with the unit of that field.
STANDARD = {
    "pressure": "bar",
    "melt_temperature": "degC",
    "mold_temperature": "degC",
    "injection_time": "s",
}
#: What spoils a shot that is neither short nor flashed.
REASONS = ("splay", "burn")


@dataclass(frozen=True)
class Scatter:
    """Standard deviations of what nobody set; all invented.

    Attributes
    ----------
    melt_group, mold_group : float
        From one temperature group to the next, degC.
    melt_shot, mold_shot : float
        From shot to shot, degC.
    pressure, time, charge : float
        From shot to shot, relative: regulator, timer, weighed charge.
    fill, flash : float
        Of each cavity in each shot on its own, relative.
    lot : float
        Of the flow of one lot of material against another, relative.
    """

    melt_group: float
    mold_group: float
    melt_shot: float
    mold_shot: float
    pressure: float
    time: float
    charge: float
    fill: float
    flash: float
    lot: float


@dataclass(frozen=True)
class Density:
    """Mass of a full part: it rises with the pressure that is frozen in, falls with the heat.

    ``full mass (1 + gain (P - packed) - loss (T - at))`` (linear form of any equation of state).

    Attributes
    ----------
    gain, loss : float
        1/Pa and 1/K.
    packed, at : float
        Pressure (Pa) and melt temperature (degC) of the parts that gave the full mass.
    """

    gain: float
    loss: float
    packed: float
    at: float


@dataclass(frozen=True)
class Press:
    """A press with its mold and material, ready to shoot.

    Attributes
    ----------
    name : str
    family : str
        "A" or "B": which laws it follows.
    factors : tuple of Factor
        What is set for each shot, with ranges, steps and limits.
    gains : tuple of float
        Effect of half a range of each factor that is not a standard one: on the log of pressure or
        time, on the melt temperature in degC, or on the log of the melt's thickness, by its role.
    held : tuple of float
        Gauge pressure (bar), melt and mold temperature (degC) and injection time (s) that hold
        where they are no factors.
    area_ratio : float
        Melt pressure over gauge pressure.
    friction : float
        Melt pressure that moving the plunger takes, Pa.
    charge_loss : float
        Relative loss of pressure for each relative surplus of charge.
    melt, freezing, mold, packing, clamp, flash
        The laws and their constants.
    starving : float
        Share of its pressure that a cavity loses when all others flash heavily.
    moisture : float
        Moisture of the granules as a share of what the material tolerates.
    burn_from : float
        Melt temperature at which about two shots of three show burns, degC; infinite for never.
    mold_rise : float
        How much warmer than its controller the mold runs at thermal balance, degC: what a cold
        start lacks.
    scatter : Scatter
    full_mass_g : tuple of float
        Mass of each cavity's full part.
    density : Density
    flash_limits_mm : tuple of float
        Widths at which grades 1, 2 and 3 begin: seen, over the usual limit, heavy.
    flash_good_mm : float
        Widest flash of a good part.
    """

    name: str
    family: str
    factors: tuple[Factor, ...]
    gains: tuple[float, ...]
    held: tuple[float, float, float, float]
    area_ratio: float
    friction: float
    charge_loss: float
    melt: Melt
    freezing: Freezing
    mold: MoldShape
    packing: Packing
    clamp: Clamp
    flash: Flash
    starving: float
    moisture: float
    burn_from: float
    mold_rise: float
    scatter: Scatter
    full_mass_g: tuple[float, ...]
    density: Density
    flash_limits_mm: tuple[float, float, float]
    flash_good_mm: float

    @property
    def cavities(self) -> int:
        """Number of cavities."""
        return self.mold.cavities


def standard_values(factor: Factor, values: ArrayLike) -> Array:
    """Return values of a standard factor in the unit that `STANDARD` gives it."""
    zero = convert(0.0, factor.unit, STANDARD[factor.name])
    one = convert(1.0, factor.unit, STANDARD[factor.name]) - zero
    return zero + one * np.asarray(values, dtype=np.float64)


def set_values(press: Press, settings: Array) -> dict[str, Array]:
    """Return what settings (n, k) set: each of `STANDARD`, and the log "thickness" of the melt.

    A factor of the user's own name shifts one of them, according to its role.
    """
    held = dict(zip(STANDARD, press.held, strict=True)) | {"thickness": 0.0}
    values = {name: np.full(len(settings), value) for name, value in held.items()}
    for j, factor in enumerate(press.factors):
        if factor.name in STANDARD:
            values[factor.name] = standard_values(factor, settings[:, j])
    for j, (factor, gain) in enumerate(zip(press.factors, press.gains, strict=True)):
        effect = gain * factor.coded(settings[:, j])
        if factor.name in STANDARD:
            continue
        if factor.role == "temperature":
            values["melt_temperature"] = values["melt_temperature"] + effect
        elif factor.role is None:
            values["thickness"] = values["thickness"] + effect
        else:
            name = "pressure" if factor.role == "pressure" else "injection_time"
            values[name] = values[name] * np.exp(effect)
    return values
