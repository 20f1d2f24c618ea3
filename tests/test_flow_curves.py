import numpy as np
import pytest

from shotwindow.models.flow_curves import LogTable, flow_curve

# Slit of 50 x 2 x 100 mm, 20 cm3/s, m = 7500 Pa s^0.38: wall rate 926.316 1/s, 10.0561 MPa
# (arithmetic of the textbook formula; m and n after Osswald and Hernandez-Ortiz, from memory).
# The same slit with 100 Pa s: 12 eta Q L / (W h^3) = 6.000 MPa.
WIDTH, GAP, LENGTH, FLOW = 0.05, 0.002, 0.1, 20e-6
SPEED = FLOW / (WIDTH * GAP)


def slit_loss(law: str, n: float, consistency: float) -> float:
    """Return the pressure loss in Pa whose flow through the slit above is 20 cm3/s."""
    losses = np.geomspace(1e5, 1e8, 4001)
    speed, _ = flow_curve(law, n).slit.at(np.log(losses * GAP / (2 * LENGTH) / consistency))
    return float(np.exp(np.interp(np.log(SPEED / GAP), speed, np.log(losses))))


def test_slit__power_law__pressure_loss() -> None:
    assert slit_loss("power", 0.38, 7500.0) == pytest.approx(10.0561e6, rel=3e-5)


def test_slit__newtonian__pressure_loss() -> None:
    assert slit_loss("power", 1.0, 100.0) == pytest.approx(6.000e6, rel=3e-5)


def test_slit__index_near_one__nears_newtonian() -> None:
    near = slit_loss("power", 0.999, 100.0)
    assert near == pytest.approx(6.000e6, rel=0.01)
    assert near != pytest.approx(6.000e6, rel=1e-4)


@pytest.mark.parametrize("law", ["cross", "carreau"])
def test_slit__slow_flow__is_newtonian(law: str) -> None:
    speed, slope = flow_curve(law, 0.3).slit.at(np.log(np.array([1e-5])))
    assert np.exp(speed[0]) == pytest.approx(1e-5 / 6, rel=2e-3)
    assert slope[0] == pytest.approx(1.0, abs=2e-3)


def test_slit__wall_rate__rabinowitsch() -> None:
    # 926.316 1/s at the wall: the stress m rate^n there, the rate from speed and slope by
    # Weissenberg-Rabinowitsch, 2 (2 + slope) v / h.
    stress = np.array([7500.0 * 926.316**0.38])
    speed, slope = flow_curve("power", 0.38).slit.at(np.log(stress / 7500.0))
    assert np.exp(speed[0]) * GAP == pytest.approx(SPEED, rel=3e-5)
    assert 2 * (2 + slope[0]) * np.exp(speed[0]) == pytest.approx(926.316, rel=3e-5)


@pytest.mark.parametrize("n", [0.25, 0.5, 1.0])
def test_tube__power_law__closed_form(n: float) -> None:
    # v = n / (3 n + 1) R (tau / m)^(1/n); n = 1 is Hagen-Poiseuille, v = R tau / (4 eta).
    stress = np.array([0.5, 2.0, 30.0])
    speed, _ = flow_curve("power", n).tube.at(np.log(stress))
    np.testing.assert_allclose(np.exp(speed), n / (3 * n + 1) * stress ** (1 / n), rtol=3e-5)


def test_slit__carreau__plain_integration() -> None:
    # The profile of the speed, integrated twice by hand across half the gap.
    n, wall = 0.4, 3.0
    rates = np.geomspace(1e-9, 1e4, 400_001)
    stresses = rates * (1 + rates**2) ** ((n - 1) / 2)
    across = np.linspace(0.0, 0.5, 20_001)  # from the middle to the wall of a gap of one
    shear = np.interp(wall * across / 0.5, stresses, rates)
    steps = (shear[1:] + shear[:-1]) / 2 * np.diff(across)
    profile = np.concatenate([np.cumsum(steps[::-1])[::-1], [0.0]])
    mean = np.sum((profile[1:] + profile[:-1]) / 2 * np.diff(across)) / 0.5
    speed, _ = flow_curve("carreau", n).slit.at(np.log(np.array([wall])))
    assert np.exp(speed[0]) == pytest.approx(mean, rel=1e-4)


def test_table__outside__goes_on_straight() -> None:
    x = np.linspace(0.0, 1.0, 101)
    table = LogTable.through(x, 2.0 * x + 1.0)
    values, slopes = table.at(np.array([-5.0, 0.5, 7.0, -np.inf]))
    np.testing.assert_allclose(values[:3], [-9.0, 2.0, 15.0])
    np.testing.assert_allclose(slopes, 2.0)
    assert values[3] == -np.inf
