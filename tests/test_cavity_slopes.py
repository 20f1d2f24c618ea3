"""Cavities that answer to the settings in ways of their own."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from densities import density, prior
from made_surfaces import surface as made_surface
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.special import expit, ndtr
from scipy.stats import multivariate_normal, norm

from shotwindow.doe.factors import Factor
from shotwindow.doe.seeds import generator
from shotwindow.models.cavity_shares import CavityShares
from shotwindow.models.cavity_slopes import draw_shaped
from shotwindow.models.goodness import share_curve
from shotwindow.models.surface import Surface

Array = NDArray[np.float64]

X = np.linspace(-1.0, 1.0, 8)
DESIGN = np.column_stack([np.ones(8), X])
WIDTH = 0.002
SLOPE = 0.25  # prior standard deviation of a slope, in effects of 1
FACTORS = (
    Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05),
    Factor("melt_temperature", "degC", 205.0, 235.0, 5.0, (190.0, 250.0), 2.0, soak_min=10.0),
)


def _readings(own: float) -> Array:
    """Three cavities on a line, the second of them with less slope: (shots, cavities)."""
    scatter = 0.03 * np.sin(np.arange(24.0) * 5.0).reshape(8, 3)
    return np.asarray((0.2 + 0.7 * X)[:, None] - own * X[:, None] * [0.0, 1.0, 0.0] + scatter)


def _chance(y: Array) -> float:
    """Exact chance of own slopes, scales known: normal densities by scipy."""
    rows = np.repeat(DESIGN, 3, axis=0)
    cavity = np.tile(np.eye(3), (8, 1))
    shot = np.repeat(np.eye(8), 3, axis=0)
    sd = prior(2)
    covariance = rows @ rows.T + sd.cavity_sd**2 * cavity @ cavity.T
    covariance += sd.scatter**2 * (shot @ shot.T + sd.cavity_ratio**2 * np.eye(24))
    along = cavity * rows[:, 1:]
    parallel, sloped = (
        multivariate_normal(np.zeros(24), covariance + more).logpdf(y.ravel())
        for more in (np.zeros((24, 24)), SLOPE**2 * along @ along.T)
    )
    return float(expit(sloped - parallel))


@pytest.mark.parametrize("own", [0.0, 0.5, 0.7])
def test_draw_shaped__scales_known__chance_of_slopes_is_exact(own: float) -> None:
    y = _readings(own)
    what = density(DESIGN, y - WIDTH / 2, y + WIDTH / 2, prior(2))
    drawn = draw_shaped(
        what, np.full(24, -9.0), generator(1, "slopes"), settings=1, draws=800, doubting=False
    )
    assert drawn.own_slopes == pytest.approx(_chance(y), abs=0.02)
    share = (drawn.named["slope"] != 0).any(axis=(1, 2)).mean()
    assert share == pytest.approx(drawn.own_slopes, abs=0.002)


def test_draw_shaped__plainly_parallel__slopes_are_not_even_tried() -> None:
    y = np.tile(_readings(0.0), (6, 1)) / 4
    what = density(np.tile(DESIGN, (6, 1)), y - WIDTH / 2, y + WIDTH / 2, prior(2, scatter=0.02))
    rng = generator(1, "slopes")
    drawn = draw_shaped(what, np.full(y.size, -9.0), rng, settings=1, draws=50, doubting=False)
    assert drawn.own_slopes == 0.0 and drawn.named["slope"].shape == (50, 3, 0)


@lru_cache
def _unlike(ratio: float) -> Surface:
    """Three cavities whose slopes differ from draw to draw; ``ratio`` of rest to shared scatter."""
    flat, rng = made_surface("fill", FACTORS, [0.05, 0.2, 0.1], draws=40), np.random.default_rng(3)
    ones = np.ones(40)
    return replace(
        flat,
        cavity=rng.normal(0, 0.02, (40, 3)),
        slope=rng.normal(0, 0.05, (40, 3, 2)),
        own_slopes=1.0,
        lot=rng.normal(0, 0.01, (40, 2)),
        shot_sd=0.02 * ones,
        group_sd=0.01 * ones,
        rest_sd=ratio * np.hypot(0.02, 0.01) * ones,
    )


SETTINGS = np.array([[3.0, 210.0], [4.1, 220.0], [4.6, 205.0], [5.0, 235.0]])


def _by_quadrature(heights: Array, shared: float, rest: float) -> float:
    def at(z: float) -> float:
        return float(norm.pdf(z) * ndtr((heights + z * shared) / rest).prod())

    return float(quad(at, -8, 8)[0])


@pytest.mark.parametrize("ratio", [0.25, 0.7, 2.0])
@pytest.mark.parametrize("above", [True, False])
def test_cavity_shares__each_setting_and_draw__the_integral_by_quadrature(
    ratio: float, above: bool
) -> None:
    surface = replace(_unlike(ratio), above=above)
    shares = CavityShares(surface).shares(SETTINGS)
    coded = np.column_stack([SETTINGS[:, 0] - 4.0, (SETTINGS[:, 1] - 220.0) / 15.0])
    coded[:, 0] = 2 * np.log(SETTINGS[:, 0] / np.sqrt(15.0)) / np.log(5.0 / 3.0)
    for lot, draw, n in [(0, 0, 0), (1, 7, 1), (0, 19, 2), (1, 39, 3), (0, 5, 1)]:
        slopes = surface.coefficients[draw, 1:] + surface.slope[draw]
        heights = surface.coefficients[draw, 0] + slopes @ coded[n]
        heights = heights + surface.cavity[draw] + surface.lot[draw, lot]
        heights = heights if above else -heights
        exact = _by_quadrature(heights, float(np.hypot(0.02, 0.01)), surface.rest_sd[draw])
        assert shares[lot][n, draw] == pytest.approx(exact, abs=0.0008)


def test_cavity_shares__parallel_cavities__as_the_one_curve() -> None:
    level = replace(_unlike(0.5), slope=np.zeros((40, 3, 2)))
    slow, quick = CavityShares(level), share_curve(replace(level, slope=np.zeros((40, 3, 0))))
    for one, other in zip(slow.shares(SETTINGS), quick.shares(SETTINGS), strict=True):
        assert one == pytest.approx(other, abs=0.001)
    assert slow.over(SETTINGS) == pytest.approx(quick.over(SETTINGS))
    assert slow.width == pytest.approx(quick.width)


def test_of_draws__some__the_same_shares() -> None:
    some = np.array([3, 1, 30])
    for curve in (CavityShares(_unlike(0.5)), share_curve(_unlike(0.5))):
        few = curve.of_draws(some).shares(SETTINGS)
        assert few[1] == pytest.approx(curve.shares(SETTINGS)[1][:, some], abs=1e-6)


def test_draw_shaped__not_looked_for__none_however_plain() -> None:
    y = _readings(0.7)
    what = density(DESIGN, y - WIDTH / 2, y + WIDTH / 2, prior(2))
    rng = generator(1, "slopes")
    drawn = draw_shaped(what, np.full(24, -9.0), rng, settings=0, draws=50, doubting=False)
    assert drawn.own_slopes == 0.0
