"""What a study fixes and a stream of chance -> a press of family A or B with a window in its range.

The families share no law that shapes the edges: A has Cross-WLF or power-law melts, conduction out
of a slab, packing behind a resistance, power-law flash and balanced manifolds; B has Carreau melts
with an Arrhenius shift, square-root freezing, packing by overflow, orifice flash and cavities one
after another on a manifold. All ranges that constants are drawn from are invented.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.filling import MoldShape
from shotwindow.models.flashing import (
    Clamp,
    Flash,
    GapFlash,
    OrificeFlash,
    Packing,
    PassingPacking,
    RisingPacking,
)
from shotwindow.models.freezing import Freezing, SlabFreezing, StefanFreezing
from shotwindow.models.melt import KELVIN, CarreauArrhenius, CrossWlf, Melt, PowerLaw
from shotwindow.models.placing import Places, with_edges
from shotwindow.models.press import STANDARD, Density, Press, Scatter, standard_values

Array = NDArray[np.float64]

FAMILIES = ("A", "B")
# Polypropylene's least vent depth: 0.0005 in (tests/reference/molding/vent_depths.csv).
_VENT = 0.0127e-3  # m
_DENSITY = 0.9e6  # g/m3, polypropylene (Crawford, Plastics Engineering, table 1.8: 905 kg/m3)


@dataclass(frozen=True)
class Frame:
    """What is given before a press is drawn.

    Attributes
    ----------
    factors : tuple of Factor
    held : tuple of float
        As in `Press.held`.
    area_ratio : float
    full_mass_g : tuple of float
        One for each cavity.
    flash_limits_mm, flash_good_mm
        As in `Press`.
    """

    factors: tuple[Factor, ...]
    held: tuple[float, float, float, float]
    area_ratio: float
    full_mass_g: tuple[float, ...]
    flash_limits_mm: tuple[float, float, float]
    flash_good_mm: float

    @property
    def center(self) -> tuple[float, float, float, float]:
        """Gauge pressure (bar), melt and mold temperature (degC) and time (s) amid the ranges."""
        center = list(self.held)
        for factor in self.factors:
            if factor.name in STANDARD:
                middle = standard_values(factor, (factor.low + factor.high) / 2.0)
                center[list(STANDARD).index(factor.name)] = float(middle)
        pressure, melt, mold, time = center
        return pressure, melt, mold, time


def draw_press(frame: Frame, family: str, rng: np.random.Generator) -> Press | None:
    """Draw a press, or None where the constants drawn allow no window between short and flash.

    Parameters
    ----------
    frame : Frame
    family : str
        "A" or "B".
    rng : numpy.random.Generator

    Examples
    --------
    >>> from shotwindow.doe.seeds import generator
    >>> from shotwindow.models.families import draw_press
    >>> from shotwindow.models.presses import random_frame
    >>> rng = generator(3, "press")
    >>> draw_press(random_frame(2, rng), "B", rng).family
    'B'
    """
    gauge, melt_at, mold_at, time_at = frame.center
    if min(gauge, time_at) <= 0.0:
        return None
    freezing = _freezing(family, mold_at + rng.uniform(0.42, 0.66) * (melt_at - mold_at), rng)
    # The cavity's gap is such that its seal time is of the size of the injection time.
    gap = np.sqrt(time_at * rng.uniform(1.2, 3.2) / float(freezing.seal_time(melt_at, mold_at)))
    mold = _mold(frame, family, gap, rng)
    melt_pressure = frame.area_ratio * gauge * 1e5
    packing: Packing = PassingPacking()
    if family == "A":
        packing = RisingPacking(rng.uniform(0.1, 0.4) * time_at, melt_at)
    press = Press(
        name=f"simulated press {family}",
        family=family,
        factors=frame.factors,
        gains=tuple(_gain(factor, rng) for factor in frame.factors),
        held=frame.held,
        area_ratio=frame.area_ratio,
        friction=rng.uniform(0.02, 0.08) * melt_pressure,
        charge_loss=rng.uniform(0.1, 0.4),
        melt=_melt(family, melt_at, rng),
        freezing=freezing,
        mold=mold,
        packing=packing,
        clamp=Clamp(np.inf, np.inf),
        flash=_flash(family, melt_pressure, (melt_at, mold_at), mold.cavities, rng),
        starving=rng.uniform(0.05, 0.25),
        moisture=rng.uniform(0.1, 0.8),
        burn_from=np.inf,
        mold_rise=rng.uniform(2.0, 6.0),
        scatter=_scatter(rng),
        full_mass_g=frame.full_mass_g,
        density=Density(2e-9, 6e-4, 0.2 * melt_pressure, melt_at),
        flash_limits_mm=frame.flash_limits_mm,
        flash_good_mm=frame.flash_good_mm,
    )
    return with_edges(press, _places(frame.factors, rng))


def _melt(family: str, at: float, rng: np.random.Generator) -> Melt:
    """Draw a melt for temperatures about `at`; its grade is set later, by the edges."""
    n = round(rng.uniform(0.25, 0.42), 3)  # rounded: fewer flow tables
    tau = np.exp(rng.uniform(np.log(1.5e4), np.log(5e4)))
    if family == "B":
        n = round(rng.uniform(0.35, 0.6), 3)
        return CarreauArrhenius(n, tau, 1.0, rng.uniform(2.5e4, 6.5e4), at)
    if rng.random() < 0.3:
        return PowerLaw(n, rng.uniform(4e3, 1.2e4), rng.uniform(0.006, 0.014), at)
    # The farther above d2, the less the melt thins with heat; polystyrene's and polypropylene's
    # d2 lie some 130 and 230 K below their molding temperatures.
    d2 = at + KELVIN - rng.uniform(130.0, 230.0)
    return CrossWlf(n, tau, 1e12, d2, rng.uniform(24.0, 28.0), rng.uniform(50.0, 61.0))


def _freezing(family: str, no_flow: float, rng: np.random.Generator) -> Freezing:
    diffusivity = rng.uniform(0.65e-7, 1.3e-7)
    if family == "A":
        return SlabFreezing(diffusivity, no_flow)
    return StefanFreezing(diffusivity, no_flow, rng.uniform(20.0, 80.0))


def _mold(frame: Frame, family: str, gap: float, rng: np.random.Generator) -> MoldShape:
    cavities = len(frame.full_mass_g)
    off = rng.standard_normal((5, cavities))
    gaps = gap * (1.0 + 0.008 * off[0])
    volume = np.array(frame.full_mass_g) / _DENSITY
    # A slit is wide: at least four times its gap.
    length = np.minimum(gap * rng.uniform(30.0, 60.0), volume.min() / (4.0 * gap**2))
    length = length * (1.0 + 0.01 * off[1])
    radius = rng.uniform(0.8, 1.1) * gap
    manifold = np.zeros(cavities)
    manifold[0] = rng.uniform(0.2, 0.4)
    if family == "B":
        manifold[1:] = rng.uniform(0.05, 0.2)
    # wide manifolds for many cavities, lest all of the pressure is lost there
    return MoldShape(
        manifold_length=_floats(manifold * np.mean(length)),
        manifold_radius=1.3 * radius * cavities ** (1.0 / 3.0),
        runner_length=_floats(rng.uniform(0.1, 0.3) * length * (1.0 + 0.1 * off[2])),
        runner_radius=(radius,) * cavities,
        gate_length=(0.5 * gap,) * cavities,
        gate_width=_floats(3.0 * gaps),
        gate_gap=_floats(gaps * rng.uniform(0.7, 1.0) * (1.0 + 0.01 * off[3])),
        length=_floats(length),
        width=_floats(volume / (length * gaps)),
        gap=_floats(gaps),
    )


def _flash(
    family: str,
    melt_pressure: float,
    at: tuple[float, float],
    cavities: int,
    rng: np.random.Generator,
) -> Flash:
    """Draw a flash law; `give` and `spread` are set later, by the edges."""
    uneven = 1.0 + 0.08 * rng.standard_normal(cavities)
    if family == "A":
        clearance = rng.uniform(0.4, 0.8) * _VENT * uneven
        return GapFlash(_VENT, _floats(clearance), (1e-12,) * cavities)
    lift = rng.uniform(0.01, 0.06) * melt_pressure * uneven
    return OrificeFlash(_floats(lift), 20e-6, 1.0, *at)


def _floats(values: Array) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


def _gain(factor: Factor, rng: np.random.Generator) -> float:
    """Draw what half a range of a factor of the user's own name does."""
    if factor.name in STANDARD:
        return 0.0
    if factor.role is None:
        return float(rng.normal(0.0, 0.15))
    return float(rng.uniform(8.0, 15.0) if factor.role == "temperature" else rng.uniform(0.15, 0.4))


def _scatter(rng: np.random.Generator) -> Scatter:
    return Scatter(
        melt_group=rng.uniform(0.8, 2.0),
        mold_group=rng.uniform(0.8, 2.0),
        melt_shot=rng.uniform(0.3, 0.8),
        mold_shot=rng.uniform(0.3, 0.8),
        pressure=rng.uniform(0.005, 0.012),
        time=rng.uniform(0.01, 0.03),
        charge=rng.uniform(0.01, 0.03),
        fill=rng.uniform(0.003, 0.008),
        flash=rng.uniform(0.05, 0.12),
        lot=rng.uniform(0.04, 0.1),
    )


def _places(factors: tuple[Factor, ...], rng: np.random.Generator) -> Places:
    """Draw where the window lies: along pressure if it is a factor, else along all factors."""
    along = np.array([factor.role == "pressure" for factor in factors])
    if not along.any():
        along[:] = True
    aside = rng.uniform(-0.3, 0.3, len(factors))
    full = rng.uniform(-0.6, 0.0)
    flashed = full + rng.uniform(0.4, 1.0)
    return Places(
        full=_floats(np.where(along, full, aside)),
        flashed=_floats(np.where(along, flashed, aside)),
        push=rng.uniform(0.85, 1.5),
        stiffness_gap=rng.uniform(10e-6, 40e-6),
    )
