import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from shotwindow.models.filling import Conditions, Filling, MoldShape
from shotwindow.models.flashing import (
    Clamp,
    Flash,
    GapFlash,
    OrificeFlash,
    PassingPacking,
    RisingPacking,
)
from shotwindow.models.freezing import Freezing, SlabFreezing, StefanFreezing
from shotwindow.models.melt import POLYPROPYLENE, CarreauArrhenius, Melt, PowerLaw

Array = NDArray[np.float64]

VENTS = Path(__file__).parent / "reference" / "molding" / "vent_depths.csv"
SLAB = SlabFreezing(1.1e-7, 135.0)
CARREAU = CarreauArrhenius(0.45, 2000.0, 0.1, 4e4, 210.0)
# One flat cavity of 50 cm2.
FLAT = MoldShape(
    (0.0,), 0.002, (0.0,), (0.002,), (0.0,), (0.002,), (0.002,), (0.1,), (0.05,), (0.002,)
)


def shots(n: int = 1, **changes: float | Array) -> Conditions:
    values = {"pressure": 5e6, "melt": 220.0, "mold": 40.0, "time": 5.0, "thickness": 1.0}
    return Conditions(**{name: np.full(n, changes.get(name, v)) for name, v in values.items()})


def filled(potential: float, left: float = 0.0) -> Filling:
    one = np.array([[potential]])
    return Filling(one, one + 0.2, np.array([[left]]))


def test_clamp__force_is_pressure_times_area() -> None:
    # Worked example of the trade: 50 cm2 x 30 MPa = 150.0 kN. A clamp that opens 1 mm for 1 kN and
    # holds 149 kN opens by 1 mm.
    opening = Clamp(149e3, 1e6).opening(FLAT, np.array([[30e6]]))
    assert opening[0] == pytest.approx(1e-3)
    assert Clamp(150.1e3, 1e6).opening(FLAT, np.array([[30e6]]))[0] == 0.0


def test_clamp__infinitely_stiff__never_opens() -> None:
    assert Clamp(1.0, np.inf).opening(FLAT, np.array([[30e6]]))[0] == 0.0


def test_stiff_clamp__no_flash_from_opening() -> None:
    # A tight cavity flashes through the opening mold alone.
    law = GapFlash(0.0127e-3, (5e-6,), (0.0,))
    pressure = np.full((1, 1), 5e6)
    for stiffness, flashes in ((1e8, True), (np.inf, False)):
        opening = Clamp(2e4, stiffness).opening(FLAT, pressure)
        width = law.width(pressure, opening, POLYPROPYLENE, SLAB, shots())
        assert bool(width[0, 0] > 0) is flashes


def polypropylene_vent() -> tuple[float, float]:
    """Return the least and the greatest vent depth of polypropylene in m."""
    with VENTS.open(newline="") as file:
        (row,) = (r for r in csv.DictReader(file) if r["material"] == "PP")
    return float(row["mm_min"]) / 1e3, float(row["mm_max"]) / 1e3


def test_gap__vent_depths__dry_below_flash_above() -> None:
    # A vent lets air out and keeps polypropylene in: a parting gap of the least depth that is
    # usual stays dry, one beyond the greatest flashes visibly (more than 0.02 mm), whatever a
    # small press can push with, 3 to 9 MPa.
    least, most = polypropylene_vent()
    push = np.linspace(3e6, 9e6, 7)
    for gap, flashes in ((least, False), (1.05 * most, True)):
        law = GapFlash(least, (gap,), (0.0,))
        width = law.width(push[None], np.zeros(7), POLYPROPYLENE, SLAB, shots(7, pressure=push))
        assert ((width > 0.02) == flashes).all()
        assert flashes or (width == 0.0).all()


def test_gap__plain_integration() -> None:
    # dl/dt = g r a (P g u / 2 S l)^(1/n) u^2 with u = 1 - sqrt(t / seal), to the end of the seal.
    n, gap, pressure = 0.5, 2e-5, 5e6
    melt = PowerLaw(n, 6e3, 0.0, 220.0)
    seal = float(SLAB.seal_time(220.0, 40.0)) * gap**2

    def advance(time: float, length: Array) -> Array:
        u = max(1.0 - np.sqrt(time / seal), 0.0)
        stress = pressure * gap * u / (2 * 6e3 * length)
        speed: Array = gap * n / (2 * (2 * n + 1)) * stress ** (1 / n) * u**2
        return speed

    path = solve_ivp(advance, (0.0, seal), [1e-8], rtol=1e-8, atol=1e-14)
    law = GapFlash(0.01e-3, (0.01e-3 + gap,), (0.0,))
    width = law.width(np.array([[pressure]]), np.zeros(1), melt, SLAB, shots())
    assert width[0, 0] / 1e3 == pytest.approx(path.y[0, -1], rel=1e-3)


LAWS: list[tuple[Flash, Melt, Freezing]] = [
    (GapFlash(0.0127e-3, (1e-5,), (2e-12,)), POLYPROPYLENE, SLAB),
    (OrificeFlash((1e6,), 2e-5, 0.1, 210.0, 40.0), CARREAU, StefanFreezing(1e-7, 120.0, 60.0)),
]


@pytest.mark.parametrize(("law", "melt", "freezing"), LAWS)
def test_flash__more__not_less(law: Flash, melt: Melt, freezing: Freezing) -> None:
    n = 40
    even, none = np.full((1, n), 3e6), np.zeros(n)

    def widths(pressure: Array, opening: Array, **changes: Array) -> Array:
        width: Array = law.width(pressure, opening, melt, freezing, shots(n, **changes))[0]
        return width

    for rising in (
        widths(np.linspace(0.0, 9e6, n)[None], none),
        widths(even, np.linspace(0.0, 3e-5, n)),
        widths(even, none, melt=np.linspace(190.0, 250.0, n)),
        widths(even, none, mold=np.linspace(20.0, 70.0, n)),
    ):
        assert (np.diff(rising) >= 0).all() and rising[-1] > rising[0]
    assert widths(np.zeros((1, n)), none).max() == 0.0


def test_orifice__open_mold__nothing_without_pressure() -> None:
    law = OrificeFlash((1e6,), 2e-5, 0.1, 210.0, 40.0)
    width = law.width(np.zeros((1, 1)), np.array([1e-3]), CARREAU, SLAB, shots())
    assert width[0, 0] == 0.0


@pytest.mark.parametrize("packing", [RisingPacking(1.0, 220.0), PassingPacking()])
def test_packing__short_cavity__no_pressure_at_its_end(
    packing: RisingPacking | PassingPacking,
) -> None:
    end, mean = packing.pressures(filled(0.8), POLYPROPYLENE, shots())
    assert end[0, 0] == 0.0
    # Pressure falls evenly to the front: on average half of it over what is filled, or less.
    assert 0.0 < mean[0, 0] <= 0.8 * 5e6 / 2


@pytest.mark.parametrize("packing", [RisingPacking(1.0, 220.0), PassingPacking()])
def test_packing__at_full__pressure_does_not_jump(packing: RisingPacking | PassingPacking) -> None:
    under = packing.pressures(filled(1.0 - 1e-9), POLYPROPYLENE, shots())
    over = packing.pressures(filled(1.0 + 1e-9, 1e-9), POLYPROPYLENE, shots())
    for before, after in zip(under, over, strict=True):
        np.testing.assert_allclose(before, after, atol=1.0)


def test_rising__long_after_full__whole_pressure() -> None:
    end, mean = RisingPacking(1.0, 220.0).pressures(filled(1.5, 50.0), POLYPROPYLENE, shots())
    np.testing.assert_allclose([end[0, 0], mean[0, 0]], 5e6)


def test_rising__hotter__sooner() -> None:
    law = RisingPacking(1.0, 220.0)
    cold, _ = law.pressures(filled(1.2, 0.5), POLYPROPYLENE, shots(melt=210.0))
    hot, _ = law.pressures(filled(1.2, 0.5), POLYPROPYLENE, shots(melt=230.0))
    at, _ = law.pressures(filled(1.2, 0.5), POLYPROPYLENE, shots(melt=220.0))
    assert cold[0, 0] < at[0, 0] < hot[0, 0]
    assert at[0, 0] == pytest.approx(5e6 * (1 - np.exp(-0.5)))


def test_passing__front_beyond_the_end__even_fall() -> None:
    # Path 1.7 in all, front at 1.5: the pressure at 1.0 is (1.5 - 1.0) / 1.7 of the whole.
    end, mean = PassingPacking().pressures(filled(1.5), CARREAU, shots())
    assert end[0, 0] == pytest.approx(5e6 * 0.5 / 1.7)
    assert mean[0, 0] == pytest.approx(5e6 * 1.0 / 1.7)


def test_gap__steel_gives_way__flashes() -> None:
    tight = GapFlash(0.0127e-3, (1e-5,), (0.0,))
    pressure = np.full((1, 1), 5e6)
    soft = replace(tight, give=(4e-12,))
    assert tight.width(pressure, np.zeros(1), POLYPROPYLENE, SLAB, shots())[0, 0] == 0.0
    assert soft.width(pressure, np.zeros(1), POLYPROPYLENE, SLAB, shots())[0, 0] > 0.02
