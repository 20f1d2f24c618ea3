from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from shotwindow.models import filling
from shotwindow.models.filling import Conditions, Filling, MoldShape, fill_mold
from shotwindow.models.freezing import Freezing, SlabFreezing, StefanFreezing
from shotwindow.models.melt import POLYPROPYLENE, CarreauArrhenius, Melt, PowerLaw

Array = NDArray[np.float64]

NEVER = SlabFreezing(1e-16, 120.0)
SLAB, STEFAN = SlabFreezing(1e-7, 120.0), StefanFreezing(1e-7, 120.0, 60.0)
CARREAU = CarreauArrhenius(0.45, 2000.0, 0.1, 4e4, 210.0)
H, L, W = 0.002, 0.08, 0.012


def shape(cavities: int = 1, *, runner: float = 0.0, manifold: float = 0.0) -> MoldShape:
    """Return a balanced mold; without runner the gates have no length either."""
    each = cavities * (1.0,)
    return MoldShape(
        manifold_length=(manifold, *(0.0,) * (cavities - 1)),
        manifold_radius=0.003,
        runner_length=tuple(runner * one for one in each),
        runner_radius=tuple(0.002 * one for one in each),
        gate_length=tuple((0.001 if runner else 0.0) * one for one in each),
        gate_width=tuple(0.004 * one for one in each),
        gate_gap=tuple(H * one for one in each),
        length=tuple(L * one for one in each),
        width=tuple(W * one for one in each),
        gap=tuple(H * one for one in each),
    )


def conditions(
    pressure: float = 5e6,
    *,
    melt: float = 210.0,
    mold: float = 40.0,
    time: float = 4.0,
) -> Conditions:
    return Conditions(*(np.array([x]) for x in (pressure, melt, mold, time, 1.0)))


@pytest.mark.parametrize(("pressure", "time"), [(1e5, 0.5), (1e6, 1.0), (3e6, 4.0)])
def test_front__newtonian_slit__closed_form(pressure: float, time: float) -> None:
    # Textbook: x = h sqrt(P t / (6 eta)).
    melt = PowerLaw(1.0, 300.0, 0.0, 210.0)
    filled = fill_mold(shape(), melt, NEVER, conditions(pressure, time=time))
    expected = H * np.sqrt(pressure * time / (6.0 * 300.0))
    assert filled.potential[0, 0] * L == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("n", [0.3, 0.6, 0.999])
def test_front__power_law_slit__closed_form(n: float) -> None:
    # x^(1+1/n) = (1+1/n) (h/2) n/(2n+1) (P h / 2 m)^(1/n) t, from the slit formula whose pressure
    # loss tests/test_flow_curves.py holds to a published value.
    melt = PowerLaw(n, 5e3, 0.0, 210.0)
    filled = fill_mold(shape(), melt, NEVER, conditions(5e6, time=2.0))
    speed = (1 + 1 / n) * H / 2 * n / (2 * n + 1) * (5e6 * H / (2 * 5e3)) ** (1 / n)
    assert filled.potential[0, 0] * L == pytest.approx((speed * 2.0) ** (n / (1 + n)), rel=1e-4)


@pytest.mark.parametrize("n", [0.35, 0.6])
def test_front__frost_as_root_of_time__closed_form(n: float) -> None:
    # While 1 - sqrt(t / seal) of the gap is open, the rate above shrinks as its power q = 2 + 1/n;
    # over the whole seal time that integrates to 2 / ((q + 1) (q + 2)) of it.
    melt, q = PowerLaw(n, 5e3, 0.0, 210.0), 2 + 1 / n
    seal = float(STEFAN.seal_time(210.0, 40.0)) * H**2
    filled = fill_mold(shape(), melt, STEFAN, conditions(5e6, time=2 * seal))
    speed = (1 + 1 / n) * H / 2 * n / (2 * n + 1) * (5e6 * H / (2 * 5e3)) ** (1 / n)
    grown = speed * seal * 2 / ((q + 1) * (q + 2))
    assert filled.potential[0, 0] * L == pytest.approx(grown ** (n / (1 + n)), rel=1e-3)


def test_path__front_and_what_lies_before_it() -> None:
    mold = shape(runner=0.02)
    filled = fill_mold(mold, CARREAU, STEFAN, conditions())
    before = mold.runner_and_gate(CARREAU.n)[0] / L
    np.testing.assert_allclose(filled.path, filled.potential + before, rtol=1e-9)


def test_runner__power_law__loses_as_a_tube() -> None:
    # A tube loses 2 m L / R ((3n+1)/n Q / (pi R^3))^n; the slit 2 m L / h (2 (2n+1)/n Q/(W h^2))^n.
    n, radius = 0.4, 0.002
    mold = replace(shape(runner=0.03), gate_length=(0.0,))
    tube = 0.03 / radius * ((3 * n + 1) / n / (np.pi * radius**3)) ** n
    slit = 1 / H * (2 * (2 * n + 1) / n / (W * H**2)) ** n
    assert mold.runner_and_gate(n)[0] == pytest.approx(tube / slit)


def test_gate__power_law__loses_as_a_slit() -> None:
    # Half the gap at the same width: 2^(2n+1) times the loss of each length.
    n = 0.4
    mold = replace(shape(), gate_length=(0.001,), gate_gap=(H / 2,), gate_width=(W,))
    assert mold.runner_and_gate(n)[0] == pytest.approx(0.001 * 2 ** (2 * n + 1))


def test_manifold__even_cavities__power_law__closed_form() -> None:
    # Each of four cavities gets a quarter of the flow, so the shared tube loses 4^n times what it
    # would for one: it acts as z = 4^n x its length as a slit. Then (x+z)^(1+1/n) - z^(1+1/n) =
    # (1+1/n) A t, t counted from when the melt reaches the gates.
    n = 0.5
    melt, mold, shots = PowerLaw(n, 2e4, 0.0, 210.0), shape(4, manifold=0.02), conditions(time=6.0)
    z = 4**n * mold.manifold(n)[0, 0]
    a = H / 2 * n / (2 * n + 1) * (5e6 * H / (2 * 2e4)) ** (1 / n)
    tube = n / (3 * n + 1) * 0.002 * (5e6 * 0.002 / (2 * 0.02) / 2e4) ** (1 / n)
    arrival = 0.02 / ((1 + 1 / n) * tube)
    grown = (1 + 1 / n) * a * (6.0 - arrival) + z ** (1 + 1 / n)
    filled = fill_mold(mold, melt, NEVER, shots)
    assert filled.potential.max() < 1.0  # a full cavity would leave more to the others
    np.testing.assert_allclose(filled.potential * L, grown ** (n / (1 + n)) - z, rtol=2e-3)


def test_manifold__one_cavity_full__others_get_more() -> None:
    mold = shape(2, runner=0.02, manifold=0.05)
    quick = replace(mold, length=(L / 8, L))
    even = fill_mold(mold, POLYPROPYLENE, SLAB, conditions())
    after = fill_mold(quick, POLYPROPYLENE, SLAB, conditions())
    assert after.potential[1, 0] > 1.02 * even.potential[1, 0]


def test_manifold__does_not_freeze() -> None:
    # Frozen layers resist as the power -(2n+1) of what is open. With a gate that stays as wide as
    # it was cast, plain time steps over cavity and manifold in series give the same front.
    n = 0.4
    melt, mold = PowerLaw(n, 1.2e4, 0.0, 210.0), shape(1, manifold=0.06)
    tube = mold.manifold(n)[0, 0]
    seal = float(STEFAN.seal_time(210.0, 40.0)) * H**2
    arrival = 0.06 / (1 + 1 / n) / (n / (3 * n + 1) * 0.002)
    arrival /= (5e6 * 0.002 / (2 * 0.06) / 1.2e4) ** (1 / n)
    speed = H / 2 * n / (2 * n + 1) * (5e6 * H / (2 * 1.2e4)) ** (1 / n)

    def advance(time: float, front: Array) -> Array:
        share = max(1.0 - np.sqrt(time / seal), 1e-9)
        flow: Array = speed * (front / share ** (2 * n + 1) + tube) ** (-1 / n)
        return flow

    path = solve_ivp(advance, (0.0, seal), [1e-6 * L], rtol=1e-8, atol=1e-12)
    filled = fill_mold(mold, melt, STEFAN, conditions(5e6, time=seal + arrival + 1.0))
    assert filled.potential[0, 0] * L == pytest.approx(path.y[0, -1], rel=0.01)


def test_manifold__cavities_in_a_row__last_gets_least() -> None:
    mold = replace(shape(3, runner=0.02), manifold_length=(0.02, 0.02, 0.02))
    filled = fill_mold(mold, CARREAU, STEFAN, conditions(4e6))
    assert (np.diff(filled.potential[:, 0]) < -0.01).all()


@pytest.mark.parametrize("freezing", [SLAB, STEFAN])
@pytest.mark.parametrize("melt", [POLYPROPYLENE, CARREAU])
def test_front__with_frost__plain_integration(melt: Melt, freezing: Freezing) -> None:
    # The same rate of advance, integrated by scipy in time as it stands.
    mold, shots = shape(runner=0.02), conditions(4e6, time=9.0)
    mold = replace(mold, runner_length=(1e-6,), gate_length=(0.004,))
    runner = mold.runner_and_gate(melt.n)[0]
    rate = float(melt.rate_scale(210.0))
    seal = float(freezing.seal_time(210.0, 40.0)) * H**2

    def advance(time: float, front: Array) -> Array:
        share = float(freezing.open_share(210.0, 40.0, np.sqrt(time / seal)))
        stress = 4e6 * H * share / (2 * melt.stress_scale * (front + runner))
        speed, _ = melt.curve.slit.at(np.log(np.maximum(stress, 1e-30)))
        flow: Array = H * rate * share**2 * np.exp(speed)
        return flow

    path = solve_ivp(advance, (0.0, min(9.0, seal)), [1e-6 * L], rtol=1e-8, atol=1e-12)
    filled = fill_mold(mold, melt, freezing, shots)
    assert filled.potential[0, 0] * L == pytest.approx(path.y[0, -1], rel=0.01)


def test_steps__ten__as_good_as_four_hundred(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    mold = replace(shape(4, runner=0.02, manifold=0.02), gap=(H, 1.05 * H, 0.97 * H, H))
    n = 200
    shots = Conditions(
        rng.uniform(3e6, 9e6, n),
        rng.uniform(195.0, 235.0, n),
        rng.uniform(25.0, 60.0, n),
        rng.uniform(2.0, 8.0, n),
        np.ones(n),
    )
    ten = fill_mold(mold, POLYPROPYLENE, SLAB, shots)
    monkeypatch.setattr(filling, "STEPS", 400)
    many = fill_mold(mold, POLYPROPYLENE, SLAB, shots)
    assert np.abs(ten.potential / many.potential - 1).max() < 0.01
    assert np.abs(ten.potential / many.potential - 1).mean() < 0.004


@pytest.mark.parametrize("freezing", [SLAB, STEFAN])
def test_flow__frost__ends_it(freezing: Freezing) -> None:
    thin = replace(shape(runner=0.02), gate_gap=(H / 2,))
    seal = float(freezing.seal_time(210.0, 40.0)) * (H / 2) ** 2
    until = fill_mold(thin, POLYPROPYLENE, freezing, conditions(time=seal + 1.0))
    longer = fill_mold(thin, POLYPROPYLENE, freezing, conditions(time=10 * seal))
    assert longer.potential[0, 0] == until.potential[0, 0]
    unfrozen = fill_mold(thin, POLYPROPYLENE, NEVER, conditions(time=seal))
    assert until.potential[0, 0] < unfrozen.potential[0, 0]


def test_left__full_cavity__time_between_full_and_end() -> None:
    # Newtonian and without frost the cavity is full after 6 eta L^2 / (P h^2).
    melt = PowerLaw(1.0, 300.0, 0.0, 210.0)
    full = 6 * 300.0 * L**2 / (5e6 * H**2)
    filled = fill_mold(shape(), melt, NEVER, conditions(5e6, time=4.0))
    assert filled.left[0, 0] == pytest.approx(4.0 - full, rel=2e-3)
    short = fill_mold(shape(), melt, NEVER, conditions(5e6, time=0.9 * full))
    assert short.left[0, 0] == pytest.approx(0.0, abs=1e-9)


def test_time__shorter_than_the_runner_takes__nothing_in_the_cavity() -> None:
    filled = fill_mold(shape(runner=0.05), POLYPROPYLENE, SLAB, conditions(1e5, time=0.01))
    assert filled.potential[0, 0] < 1e-4


@pytest.mark.parametrize("freezing", [SLAB, STEFAN])
@pytest.mark.parametrize("melt", [POLYPROPYLENE, CARREAU, PowerLaw(0.4, 7e3, 0.01, 210.0)])
@pytest.mark.parametrize("field", ["pressure", "melt", "mold", "time"])
def test_more__fills_not_less(field: str, melt: Melt, freezing: Freezing) -> None:
    # Down to the error of the steps, one part in two thousand.
    n = 60
    ends = {
        "pressure": (2e6, 9e6),
        "melt": (190.0, 250.0),
        "mold": (20.0, 80.0),
        "time": (1.0, 12.0),
    }
    middle = {"pressure": 5e6, "melt": 215.0, "mold": 40.0, "time": 4.0, "thickness": 1.0}
    values = {name: np.full(n, value) for name, value in middle.items()}
    values[field] = np.linspace(*ends[field], n)
    filled: Filling = fill_mold(shape(runner=0.02), melt, freezing, Conditions(**values))
    assert (np.diff(filled.potential[0]) > -5e-4).all()
    assert filled.potential[0, -1] > 1.02 * filled.potential[0, 0]
