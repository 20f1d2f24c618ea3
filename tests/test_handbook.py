import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.doe.handbook import (
    area_ratio,
    clamp_force_kN,
    imbalance_percent,
    melt_pressure,
    pellets_g,
    plunger_pressure_MPa,
    residence_min,
    shot_mass_g,
)
from shotwindow.doe.quantities import convert

# US ton-force per square inch in MPa: 2000 lbf, exact.
TON_PER_IN2 = convert(2000, "psi", "MPa")


# "Understanding intensification ratio", Plastics Technology,
# https://www.ptonline.com/columns/understanding-intensification-ratio
@pytest.mark.parametrize(("gauge", "ratio", "melt"), [(800, 10, 8000), (800, 12.75, 10200)])
def test_melt_pressure__worked_values(gauge: float, ratio: float, melt: float) -> None:
    assert melt_pressure(gauge, ratio) == pytest.approx(melt)


def test_melt_pressure__worked_value_in_bar() -> None:
    in_bar = melt_pressure(convert(800, "psi", "bar"), 150 / 15)
    assert in_bar == pytest.approx(551.6, abs=0.05)  # same source


def test_area_ratio__of_areas_not_of_diameters() -> None:
    assert area_ratio(80, 25) == pytest.approx(10.24)  # (80 / 25)^2, by hand


def test_plunger_pressure__by_hand() -> None:
    assert plunger_pressure_MPa(2, 20) == pytest.approx(2000 / (math.pi * 100), rel=1e-12)
    assert plunger_pressure_MPa(2, 20) == pytest.approx(6.366, abs=5e-4)


# F = A p; https://www.plasticdesign.com/resources/technical-information/clamp-tonnage/ gives 2 to 5
# US tons per square inch.
def test_clamp_force__worked_values() -> None:
    assert clamp_force_kN(50, 30) == pytest.approx(150.0)
    assert clamp_force_kN(50, 30) / 9.80665 == pytest.approx(15.30, abs=0.005)  # metric tons-force
    assert pytest.approx(13.7895, abs=5e-5) == TON_PER_IN2
    force = clamp_force_kN(36 * 2.54**2, 5 * TON_PER_IN2)
    assert force == pytest.approx(1601.36, abs=0.005)  # 180 US tons-force


# https://www.ehow.co.uk, how_7835849: rated 200 g times 1.4 over 100 g, at 15 s a cycle.
@pytest.mark.parametrize(
    ("inventory", "shot", "cycle_s", "seconds"), [(30, 8, 45, 168.75), (200 * 1.4, 100, 15, 42)]
)
def test_residence__worked_values(
    inventory: float, shot: float, cycle_s: float, seconds: float
) -> None:
    assert residence_min(inventory, shot, cycle_s / 60) * 60 == pytest.approx(seconds)


def test_shot_mass__worked_value() -> None:
    assert shot_mass_g(12, 0.74) == pytest.approx(8.88)  # polypropylene, melt density 0.74


def test_pellets__shots_first_filling_and_purges() -> None:
    assert pellets_g(20, 8.5) == 170
    assert pellets_g(20, 8.5, barrel_g=40) == 210
    assert pellets_g(20, 8.5, purges=4, barrel_g=40) == 370


# (heaviest - lightest) / heaviest: "Injection Molding Advanced Troubleshooting
# Guide", section 12.7, p. 107.
def test_imbalance__heaviest_against_lightest() -> None:
    assert imbalance_percent([1.90, 2.00, 1.95, 1.96]) == pytest.approx(5.0)
    assert imbalance_percent([2, 2]) == 0
    assert imbalance_percent([2, 0]) == 100


def test_imbalance__cavities_of_different_size__shares_are_compared() -> None:
    assert imbalance_percent([1.8, 3.6], [2.0, 4.0]) == pytest.approx(0, abs=1e-12)
    assert imbalance_percent([1.8, 3.2], [2.0, 4.0]) == pytest.approx(100 / 9)


@given(st.lists(st.floats(0.1, 10), min_size=2, max_size=16), st.floats(0.1, 10))
def test_imbalance__any_order_and_unit__same(masses: list[float], scale: float) -> None:
    result = imbalance_percent(masses)
    assert 0 <= result < 100
    assert imbalance_percent(reversed([scale * m for m in masses])) == pytest.approx(result)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: melt_pressure(-1, 10), "gauge_pressure must not be negative, but -1 was given"),
        (lambda: melt_pressure(1, 0), "area_ratio must be above 0, but 0 was given"),
        (lambda: area_ratio(80, math.nan), "plunger_diameter_mm must be above 0, but nan"),
        (lambda: plunger_pressure_MPa(1, -2), "plunger_diameter_mm must be above 0, but -2"),
        (lambda: clamp_force_kN(0, 30), "projected_area_cm2 must be above 0, but 0"),
        (lambda: clamp_force_kN(5, -1), "pressure_MPa must not be negative, but -1"),
        (lambda: residence_min(30, 0, 1), "shot_g must be above 0, but 0"),
        (lambda: residence_min(30, 31, 1), "a shot of 31 g is more than the barrel's 30 g"),
        (lambda: shot_mass_g(12, -1), "melt_density_g_cm3 must be above 0, but -1"),
        (lambda: pellets_g(-1, 8), "shots must not be negative, but -1"),
        (lambda: pellets_g(1, 8, purges=-1), "purges must not be negative, but -1"),
        (lambda: imbalance_percent([2.0]), r"two or more cavities with a part, but got \[2.0\]"),
        (lambda: imbalance_percent([0, 0]), "two or more cavities"),
        (lambda: imbalance_percent([2, -1]), "mass must not be negative, but -1"),
        (lambda: imbalance_percent([1, 2], [2, 2, 2]), "2 masses do not fit 3 full masses"),
        (lambda: imbalance_percent([0.99, 0.5], [1, 1]), "99.0% full, expected less than 99%"),
        (lambda: imbalance_percent([1, 2], [2, 2]), "100.0% full, expected less than 99%"),
    ],
)
def test_handbook__impossible_input__refused_naming_both_sides(call: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()  # type: ignore[operator]
