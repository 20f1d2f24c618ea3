"""What a setting does, in the user's units: against the surface that it is read from, by hand."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings, flat
from numpy.typing import NDArray

from shotwindow.models.scales import warp
from shotwindow.reports.changes import changes, joints, middle_of, usual_change
from shotwindow.reports.findings import Findings


def _warped(found: Findings, *settings: tuple[float, ...]) -> NDArray[np.float64]:
    return warp(found.study.factors, np.array(settings))


def test_usual_change__is_whole_marks_and_one_at_least() -> None:
    pressure = findings("map").study.factors[0]
    assert usual_change(pressure) == 0.5
    assert usual_change(replace(pressure, step=1.0)) == 1.0
    assert usual_change(replace(pressure, low=3.0, high=3.3)) == 0.1


def test_changes__fill__are_percent_of_what_is_there() -> None:
    found = findings("map")
    surface = flat(found.surfaces.fill, pressure=0.1)
    pressure, melt = changes(found, surface)
    low, high = _warped(found, (3.75, 220.0), (4.25, 220.0))[:, 0]
    assert pressure.effect.middle == pytest.approx(100 * np.expm1(0.1 * (high - low)))
    assert pressure.effect.low == pressure.effect.high == pytest.approx(pressure.effect.middle)
    assert pressure.unit == "percent" and pressure.delta == 0.5 and pressure.downward == 0.0
    assert melt.effect.middle == 0.0


def test_changes__flash_width__starts_at_the_limit() -> None:
    found = findings("map")
    flash = replace(found.surfaces.flash, power=np.full_like(found.surfaces.flash.power, 0.5))
    melt = changes(found, flat(flash, melt_temperature=0.2))[1]
    step = 0.2 * 8 / 15
    assert melt.delta == 8 and melt.unit == "mm"
    assert melt.effect.middle == pytest.approx(0.1 * (1 + 0.5 * step) ** 2 - 0.1)


def test_changes__grades__are_shares_of_shots() -> None:
    found = findings("graded")
    surface = flat(found.surfaces.flash)
    assert changes(found, surface)[0].unit == "share"
    assert changes(found, surface)[0].effect.middle == pytest.approx(0.5)  # nothing changes
    assert changes(found, flat(surface, pressure=2.0))[0].effect.middle > 0.6


def test_changes__downward__is_counted_and_the_usual_way_is_known() -> None:
    found = findings("map")
    (pressure, melt) = changes(found, flat(found.surfaces.fill, pressure=-0.1))
    assert pressure.downward == 1.0 and pressure.expected_up and melt.expected_up
    free = replace(found.surfaces.fill, prior=replace(found.surfaces.fill.prior, mean=np.zeros(5)))
    assert not changes(found, free)[0].expected_up


def test_joints__clear_interaction__effect_at_both_ends_of_the_other() -> None:
    found = findings("map")
    surface = flat(found.surfaces.fill, pressure=0.1, pressure__melt_temperature=0.05)
    (joint,) = joints(found, surface)
    low, high = _warped(found, (3.75, 220.0), (4.25, 220.0))[:, 0]
    assert (joint.factor.name, joint.other.name) == ("pressure", "melt_temperature")
    assert joint.at_low.middle == pytest.approx(100 * np.expm1(0.05 * (high - low)))
    assert joint.at_high.middle == pytest.approx(100 * np.expm1(0.15 * (high - low)))


def test_joints__unclear__are_not_told() -> None:
    found = findings("map")
    surface = flat(found.surfaces.fill, pressure=0.1)
    rng = np.random.default_rng(1)
    unclear = surface.coefficients.copy()
    unclear[:, 3] = rng.standard_normal(len(unclear))
    assert joints(found, replace(surface, coefficients=unclear)) == ()


def test_joints__square__same_step_near_either_end() -> None:
    found = findings("dial")
    names = found.surfaces.fill.terms.names
    surface = flat(found.surfaces.fill, pressure=0.1)
    rows = surface.coefficients.copy()
    rows[:, names.index("pressure^2")] = -0.04
    (joint,) = joints(found, replace(surface, coefficients=rows))
    assert joint.factor == joint.other and joint.at_low.middle > joint.at_high.middle


def test_joints__trend__more_less_or_another_direction() -> None:
    found = findings("map")
    for slope, both, trend in ((0.1, 0.05, "more"), (0.1, -0.05, "less"), (0.02, 0.05, "")):
        surface = flat(found.surfaces.fill, pressure=slope, pressure__melt_temperature=both)
        assert [joint.trend for joint in joints(found, surface)] == [trend]


def test_middle_of__is_halfway() -> None:
    assert middle_of(findings("map")).tolist() == [4.0, 220.0]
