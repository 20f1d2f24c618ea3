"""A filled mold -> pressure in its cavities, how far that opens it, and how wide the flash gets.

Two packing laws and two flash laws, one of each for either family of simulated presses. All of
them leave a cavity that is short without pressure at its end, and therefore without flash.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.filling import Conditions, Filling, MoldShape
from shotwindow.models.freezing import Freezing
from shotwindow.models.melt import Melt

Array = NDArray[np.float64]

_MM = 1e3


@dataclass(frozen=True)
class RisingPacking:
    """Pressure that rises in the full cavity toward that of the press until the gate freezes.

    ``P (1 - exp(-left / time))``: a full cavity behind a resistance (law invented).

    Attributes
    ----------
    time : float
        Time constant at the melt temperature below, s; shorter as the melt gets thinner.
    at : float
        degC.
    """

    time: float
    at: float

    def pressures(self, filling: Filling, melt: Melt, shots: Conditions) -> tuple[Array, Array]:
        """Return the pressure at the end and the mean over each cavity, both (C, n) Pa."""
        thinner = melt.rate_scale(shots.melt) / melt.rate_scale(self.at) / shots.thickness
        missing = np.exp(-filling.left * thinner / self.time)
        # While it fills, pressure falls evenly from the gate to nothing at the front.
        mean = shots.pressure * (1.0 - 0.5 * missing) * np.minimum(filling.potential, 1.0)
        return shots.pressure * (1.0 - missing), mean


@dataclass(frozen=True)
class PassingPacking:
    """Pressure at the cavity's end as if the front had gone on past it.

    It falls evenly along the path to the front, so that a cavity that is hardly full is hardly
    under pressure (law invented).
    """

    def pressures(self, filling: Filling, melt: Melt, shots: Conditions) -> tuple[Array, Array]:
        """Return the pressure at the end and the mean over each cavity, both (C, n) Pa."""
        covered = np.minimum(filling.potential, 1.0)
        end = np.maximum(filling.potential - 1.0, 0.0) / filling.path
        mean = covered * (filling.potential - covered / 2.0) / filling.path
        return shots.pressure * end, shots.pressure * mean


Packing = RisingPacking | PassingPacking


@dataclass(frozen=True)
class Clamp:
    """What holds the mold shut: it opens once the melt pushes harder than `force`.

    Attributes
    ----------
    force : float
        N.
    stiffness : float
        Force for each meter of opening, N/m; infinite for a clamp that never gives way.
    """

    force: float
    stiffness: float

    def opening(self, shape: MoldShape, mean_pressure: Array) -> Array:
        """Return how far the halves part, (n,) m, for mean cavity pressures (C, n) in Pa."""
        push = shape.area @ mean_pressure
        opening: Array = np.maximum(push - self.force, 0.0) / self.stiffness
        return opening


@dataclass(frozen=True)
class GapFlash:
    """Melt that flows as a power law into the parting gap until it freezes there.

    With frozen layers that grow as the square root of time the length is closed form:
    ``l^(1+1/n) = (1+1/n) g f (P g / 2 S)^(1/n) a t 2 / ((q+1)(q+2))`` where g is the gap beyond
    the vent depth, t its seal time, q = 2 + 1/n, S and f the melt's scales of stress and rate and
    a = n / (2 (2 n + 1)).

    Attributes
    ----------
    vent : float
        Depth that a skin bridges, m: gaps up to it stay dry (from a table of vent depths).
    clearance : tuple of float
        Gap of each cavity without pressure, m.
    give : tuple of float
        How far the steel at each cavity gives way, m/Pa.
    """

    vent: float
    clearance: tuple[float, ...]
    give: tuple[float, ...]

    def width(
        self, pressure: Array, opening: Array, melt: Melt, freezing: Freezing, shots: Conditions
    ) -> Array:
        """Return flash widths (C, n) in mm for end pressures (C, n) in Pa, openings (n,) in m."""
        clearance, give = np.array(self.clearance)[:, None], np.array(self.give)[:, None]
        gap = np.maximum(clearance + give * pressure + opening - self.vent, 0.0)
        n, inverse = melt.n, 1.0 / melt.n
        rate = melt.rate_scale(shots.melt) / shots.thickness
        constant = (1.0 + inverse) * n / (2.0 * (2.0 * n + 1.0)) * 2.0
        constant /= (3.0 + inverse) * (4.0 + inverse)
        seal = freezing.seal_time(shots.melt, shots.mold)
        speed = constant * rate * seal * (pressure / (2.0 * melt.stress_scale)) ** inverse
        width: Array = (speed * gap ** (3.0 + inverse)) ** (n / (1.0 + n)) * _MM
        return width


@dataclass(frozen=True)
class OrificeFlash:
    """Melt that squirts through a parting line once the pressure lifts the shut-off.

    ``spread (P / P0 - 1 + opening / slot) sqrt(P / P0) (r / r0)^0.3 (t / t0)^0.5``, where P0 is
    the pressure that lifts the shut-off, r the melt's rate scale and t the seal time: an orifice
    law, invented.

    Attributes
    ----------
    lift : tuple of float
        Pressure P0 of each cavity, Pa.
    slot : float
        Opening of the mold that counts as much as P = 2 P0, m.
    spread : float
        Width at P = 2 P0 over the square root of two, mm.
    melt_at, mold_at : float
        Temperatures at which r0 and t0 are taken, degC.
    """

    lift: tuple[float, ...]
    slot: float
    spread: float
    melt_at: float
    mold_at: float

    def width(
        self, pressure: Array, opening: Array, melt: Melt, freezing: Freezing, shots: Conditions
    ) -> Array:
        """Return flash widths (C, n) in mm for end pressures (C, n) in Pa, openings (n,) in m."""
        thinner = melt.rate_scale(shots.melt) / melt.rate_scale(self.melt_at) / shots.thickness
        seal = freezing.seal_time(shots.melt, shots.mold)
        longer = seal / freezing.seal_time(self.melt_at, self.mold_at)
        over = pressure / np.array(self.lift)[:, None]
        squirt = np.maximum(over - 1.0, 0.0) + opening / self.slot
        width: Array = self.spread * squirt * np.sqrt(over * longer) * thinner**0.3
        return width


Flash = GapFlash | OrificeFlash
