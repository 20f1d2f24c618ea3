import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import erf, erfinv

from shotwindow.models.freezing import SlabFreezing, StefanFreezing

Array = NDArray[np.float64]

# Time until the middle of a plate has cooled, formula read at
# http://routsis.blog/2010/07/calculating_cooling_time/, worked with the diffusivities stated:
# wall mm, diffusivity mm2/s, melt, mold, temperature of the middle, s.
COOLING = [
    (2.0, 0.17, 230, 50, 90, 4.1617),
    (2.0, 0.096, 230, 40, 90, 6.6558),
    (2.0, 0.065, 230, 40, 90, 9.8301),
    (3.0, 0.147, 300, 90, 130, 11.7851),
    (1.0, 0.157, 220, 30, 80, 1.0174),
    (1.5, 0.100, 285, 80, 150, 3.0003),
    (2.0, 0.090, 230, 50, 95, 7.3305),
]


@pytest.mark.parametrize(("wall", "diffusivity", "melt", "mold", "middle", "seconds"), COOLING)
def test_slab__seal_time__worked_values(
    wall: float, diffusivity: float, melt: float, mold: float, middle: float, seconds: float
) -> None:
    freezing = SlabFreezing(diffusivity * 1e-6, middle)
    seal = float(freezing.seal_time(melt, mold))
    assert seal * (wall / 1e3) ** 2 == pytest.approx(seconds, abs=6e-5)


def temperature(place: float, fourier: float) -> float:
    """Return the whole series for a slab from 1 to 0 (Carslaw and Jaeger, from memory)."""
    odd = np.arange(1, 400, 2)
    terms = np.sin(odd * np.pi * place) / odd * np.exp(-((odd * np.pi) ** 2) * fourier)
    return float(4 / np.pi * terms.sum())


@pytest.mark.parametrize("theta", [0.3, 0.45, 0.6, 0.7])
@pytest.mark.parametrize("age", [0.05, 0.2, 0.4, 0.6, 0.8, 0.95])
def test_slab__open_share__whole_series(theta: float, age: float) -> None:
    # Mold 0, melt 100, no-flow 100 theta, gap and diffusivity 1: times are Fourier numbers.
    freezing = SlabFreezing(1.0, 100.0 * theta)
    seal = float(freezing.seal_time(100.0, 0.0))
    frozen = 2 * brentq(lambda y: temperature(y, age * seal) - theta, 1e-9, 0.5)
    assert float(freezing.open_share(100.0, 0.0, np.sqrt(age))) == pytest.approx(
        1 - frozen, abs=0.01
    )


@pytest.mark.parametrize("theta", [0.3, 0.5, 0.7])
def test_slab__early__half_space(theta: float) -> None:
    # A half-space cools as erf(y / 2 sqrt(t)) (Carslaw and Jaeger, from memory).
    freezing = SlabFreezing(1.0, 100.0 * theta)
    early = 1e-6
    root = np.sqrt(early / float(freezing.seal_time(100.0, 0.0)))
    layers = 1 - float(freezing.open_share(100.0, 0.0, root))
    assert layers == pytest.approx(4 * np.sqrt(early) * erfinv(theta), rel=5e-3)


@pytest.mark.parametrize("stefan", [0.05, 0.2])
def test_stefan__layer__exact_solution(stefan: float) -> None:
    # Without superheat the exact layer is 2 b sqrt(a t), sqrt(pi) b exp(b^2) erf(b) = St, with
    # St = (Tf - Tw) / heat (Stefan's problem, from memory). The quasi-steady layer is thicker by
    # about St / 6 of it.
    exact = brentq(lambda b: np.sqrt(np.pi) * b * np.exp(b * b) * erf(b) - stefan, 1e-9, 3.0)
    freezing = StefanFreezing(1.0, 100.0, 100.0 / stefan)
    layer = 0.5 / np.sqrt(float(freezing.seal_time(100.0, 0.0)))  # after one second, half closed
    assert layer == pytest.approx(2 * exact, rel=stefan / 5)
    assert layer == pytest.approx(2 * exact * (1 + stefan / 6), rel=stefan**2)


@pytest.mark.parametrize("freezing", [SlabFreezing(1e-7, 120.0), StefanFreezing(1e-7, 120.0, 60.0)])
def test_every_law__limits_and_order(freezing: SlabFreezing | StefanFreezing) -> None:
    roots = np.linspace(0.0, 1.2, 25)
    shares = freezing.open_share(220.0, 40.0, roots)
    assert shares[0] == pytest.approx(1.0)
    assert (shares[roots >= 1.0] == 0.0).all()
    assert (np.diff(shares) <= 0).all()
    hotter = freezing.seal_time(np.array([200.0, 220.0, 240.0]), 40.0)
    warmer = freezing.seal_time(220.0, np.array([20.0, 40.0, 60.0]))
    assert (np.diff(hotter) > 0).all() and (np.diff(warmer) > 0).all()
    # Twice the gap takes four times as long: the seal time is for one meter, times gap squared.
    slow = type(freezing)(*(vars(freezing) | {"diffusivity": 0.5e-7}).values())
    assert slow.seal_time(220.0, 40.0) == pytest.approx(2 * freezing.seal_time(220.0, 40.0))


def test_slab__mold_above_no_flow__hardly_freezes() -> None:
    freezing = SlabFreezing(1e-7, 120.0)
    assert float(freezing.seal_time(220.0, 130.0)) > 3 * float(freezing.seal_time(220.0, 60.0))
    assert np.isfinite(freezing.open_share(220.0, 130.0, 0.5))
