from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.doe.cooling import rod_cooling_s, slab_cooling_s

# Worked from the formula at http://routsis.blog/2010/07/calculating_cooling_time/ with its first
# term, which here equals the whole series to four decimals; diffusivities as stated, in mm2/s.
SLABS = [
    ((2.0, 0.17), (230, 50, 90), 4.1617, 3.0851),  # ABS
    ((2.0, 0.096), (230, 40, 90), 6.6558, 4.7494),  # polypropylene
    ((2.0, 0.065), (230, 40, 90), 9.8301, None),  # the same with another table's diffusivity
    ((3.0, 0.147), (300, 90, 130), 11.7851, 8.9837),  # polycarbonate
    ((1.0, 0.157), (220, 30, 80), 1.0174, None),  # polyethylene
    (
        (1.5, 0.1),
        (285, 80, 150),
        3.0003,
        1.9711,
    ),  # nylon 66; one term: mean 1.9708
    ((2.0, 0.09), (230, 50, 95), 7.3305, 5.2970),
]


@pytest.mark.parametrize(("wall", "temperatures", "middle", "mean"), SLABS)
def test_slab__worked_values(
    wall: tuple[float, float],
    temperatures: tuple[float, float, float],
    middle: float,
    mean: float | None,
) -> None:
    melt, mold, eject = temperatures
    seconds = slab_cooling_s(*wall, melt=melt, mold=mold, eject=eject)
    assert seconds == pytest.approx(middle, abs=6e-5)
    if mean is not None:
        seconds = slab_cooling_s(*wall, melt=melt, mold=mold, eject=eject, mean=True)
        assert seconds == pytest.approx(mean, abs=6e-5)


def test_rod__worked_value() -> None:
    # Polypropylene, 4 mm: 4^2 / (23.1327 x 0.096) x ln(1.60197 x 190 / 50), handbook constants.
    seconds = rod_cooling_s(4, 0.096, melt=230, mold=40, eject=90)
    assert seconds == pytest.approx(13.01, abs=0.005)


def test_rod__mean__handbook_constant() -> None:
    # First term of the mean, 0.69166 exp(-23.1327 Fo), at a time when the rest is nothing.
    seconds = rod_cooling_s(4, 0.1, melt=200, mold=40, eject=48, mean=True)
    assert seconds == pytest.approx(160 / 23.1327 * np.log(0.69166 / 0.05), rel=1e-4)


def _heat_equation(seconds: float, dimension: int, melt: float, mold: float) -> tuple[float, float]:
    """Middle and mean of a 2 mm slab (1) or rod (2) of 0.1 mm2/s, by finite volumes."""
    cells, radius, diffusivity = 200, 1.0, 0.1
    edges = np.linspace(0, radius, cells + 1)
    centers = (edges[1:] + edges[:-1]) / 2
    volume = np.diff(edges**dimension) / dimension
    surface = edges ** (dimension - 1)
    conductance = np.append(surface[1:-1] / np.diff(centers), surface[-1] / (radius - centers[-1]))
    matrix = np.zeros((cells, cells))
    for i in range(cells - 1):
        for row, other in ((i, i + 1), (i + 1, i)):
            matrix[row, row] -= conductance[i]
            matrix[row, other] += conductance[i]
    matrix[-1, -1] -= conductance[-1]
    root = np.sqrt(volume)
    rates, vectors = np.linalg.eigh(matrix / np.outer(root, root))
    excess = vectors @ (np.exp(diffusivity * seconds * rates) * (vectors.T @ root)) / root
    temperature = mold + (melt - mold) * excess
    return float(temperature[0]), float(temperature @ volume / volume.sum())


@pytest.mark.parametrize(("cooling", "dimension"), [(slab_cooling_s, 1), (rod_cooling_s, 2)])
@pytest.mark.parametrize("eject", [50, 90, 150, 185])
def test_cooling__numerical_solution__at_the_ejection_temperature(
    cooling: Callable[..., float], dimension: int, eject: float
) -> None:
    # The series against an independent, slow way, also early, where one term is far off.
    temperatures = {"melt": 200, "mold": 40, "eject": eject}
    middle, _ = _heat_equation(cooling(2.0, 0.1, **temperatures), dimension, 200, 40)
    _, mean = _heat_equation(cooling(2.0, 0.1, **temperatures, mean=True), dimension, 200, 40)
    assert (middle, mean) == pytest.approx((eject, eject), abs=0.1)


@given(st.floats(0.2, 10), st.floats(0.05, 0.2), st.floats(0.02, 0.98), st.booleans())
def test_slab__twice_as_thick__four_times_as_long(
    h: float, a: float, share: float, mean: bool
) -> None:
    once, twice = (
        slab_cooling_s(size, a, melt=100, mold=0, eject=100 * share, mean=mean)
        for size in (h, 2 * h)
    )
    assert twice == pytest.approx(4 * once, rel=1e-9)


@given(st.floats(0.02, 0.97), st.sampled_from([slab_cooling_s, rod_cooling_s]))
def test_cooling__hotter_ejection__sooner_and_mean_before_middle(
    share: float, cooling: Callable[..., float]
) -> None:
    def seconds(eject: float, mean: bool) -> float:
        return cooling(2.0, 0.1, melt=100, mold=0, eject=eject, mean=mean)

    assert seconds(100 * share + 1, False) < seconds(100 * share, False)
    assert seconds(100 * share, True) < seconds(100 * share, False)


@pytest.mark.parametrize("cooling", [slab_cooling_s, rod_cooling_s])
@pytest.mark.parametrize("eject", [50, 40, 230, 300, float("nan")])
def test_cooling__ejection_not_between_mold_and_melt__refused(
    cooling: Callable[..., float], eject: float
) -> None:
    with pytest.raises(ValueError, match=f"expected mold < eject < melt, but got 50, {eject:g}"):
        cooling(2.0, 0.1, melt=230, mold=50, eject=eject)


@pytest.mark.parametrize(("size", "diffusivity"), [(0, 0.1), (2, 0), (-1, 0.1)])
def test_cooling__no_size__refused(size: float, diffusivity: float) -> None:
    with pytest.raises(ValueError, match="must be above 0, but got"):
        slab_cooling_s(size, diffusivity, melt=230, mold=50, eject=90)
