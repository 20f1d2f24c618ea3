import numpy as np
import pytest

from shotwindow.doe.clamping import clamp_holds, melt_pressure_MPa
from shotwindow.doe.study import Study, parse_study

MOLD = "mold.projected_area_cm2 = 50\n"
PRESS = "press = {area_ratio = 10, clamp_force_kN = 20}\n"
GAUGE = '[factors.pressure]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.1\n'
MELT = '[factors.pressure]\nunit = "MPa"\nreads = "melt"\nlow = 20\nhigh = 40\nstep = 1\n'
TIME = '[factors.injection_time]\nunit = "s"\nlow = 3\nhigh = 6\nstep = 1\n'
HELD = '[held.pressure]\nvalue = 4\nunit = "bar"\n'


def _pressure(text: str, settings: list[list[float]]) -> list[float] | None:
    pressure = melt_pressure_MPa(parse_study(text), settings)
    return None if pressure is None else pressure.tolist()


def test_melt_pressure__gauge__times_the_area_ratio() -> None:
    # 55.16 bar on the gauge are 551.6 bar in the melt at 10 to 1: worked value of "Understanding
    # intensification ratio", Plastics Technology, there in psi.
    text = PRESS + GAUGE.replace("5.0", "60.0")
    assert _pressure(text, [[55.16]]) == pytest.approx([55.16])


def test_melt_pressure__read_in_the_melt__as_it_is() -> None:
    assert _pressure(MELT, [[30.0]]) == [30.0]


def test_melt_pressure__two_pressures__the_higher() -> None:
    text = PRESS + GAUGE + GAUGE.replace("factors.pressure", "factors.hold_force")
    assert _pressure(text, [[3.0, 4.0], [5.0, 4.0]]) == pytest.approx([4.0, 5.0])


def test_melt_pressure__held__same_for_every_setting() -> None:
    assert _pressure(PRESS + TIME + HELD, [[3.0], [4.0]]) == pytest.approx([4.0, 4.0])


@pytest.mark.parametrize("text", [GAUGE, PRESS + TIME])
def test_melt_pressure__not_told__none(text: str) -> None:
    assert _pressure(text, [[3.0]]) is None


def test_clamp_holds__worked_value__at_the_limit_and_over_it() -> None:
    # 50 cm2 x 30 MPa = 150 kN, the trade's F = A p.
    text = "mold.projected_area_cm2 = 50\npress.clamp_force_kN = 150\n" + MELT
    holds, reason = clamp_holds(parse_study(text), [[29.0], [30.0], [31.0]])
    assert holds.tolist() == [True, True, False]
    assert reason == "up to 155 kN push the mold open, and the clamp holds 150 kN"


@pytest.mark.parametrize("text", [GAUGE, MOLD + GAUGE, PRESS + GAUGE, MOLD + PRESS + TIME])
def test_clamp_holds__something_not_known__everything_passes(text: str) -> None:
    study: Study = parse_study(text)
    holds, reason = clamp_holds(study, np.array([[3.0], [5.0]]))
    assert (holds.tolist(), reason) == ([True, True], "")
