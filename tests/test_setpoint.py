"""Setpoint, ranges and edges against plain searches over every mark."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from shotwindow.doe.factors import Factor
from shotwindow.doe.terms import first_order
from shotwindow.models.boxes import largest_box
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.margins import find_edges
from shotwindow.models.scales import warp
from shotwindow.models.setpoint import SAME, find_ranges, find_setpoint
from shotwindow.models.surface import Surface, Surfaces
from shotwindow.models.trust import Diagnostics
from shotwindow.models.window import Region, Window, settings_at

Array = NDArray[np.float64]

FACTORS = (
    Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05),
    Factor("melt_temperature", "degC", 205.0, 235.0, 5.0, (190.0, 250.0), 2.0, soak_min=10.0),
)


def _surface(name: str, draws: int, rng: np.random.Generator, cavities: int) -> Surface:
    """Invented surface: rising in both factors, short below the middle or flashing above it."""
    terms = first_order(tuple(f.name for f in FACTORS))
    center = np.array([0.05, 0.2, 0.1] if name == "fill" else [0.15, 0.2, 0.1])
    coefficients = center + rng.normal(0, 0.01, (draws, 3))
    return Surface(
        response=name, factors=FACTORS, terms=terms, limit=0.0 if name == "fill" else 0.3,
        above=name == "fill", coefficients=coefficients,
        cavity=rng.normal(0, 0.01, (draws, cavities)) if cavities > 1 else np.zeros((draws, 1)),
        slope=np.zeros((draws, cavities, 0)), own_slopes=0.0,
        lot=np.zeros((draws, 1)), shot_sd=rng.uniform(0.01, 0.02, draws),
        rest_sd=rng.uniform(0.005, 0.01, draws) if cavities > 1 else np.zeros(draws),
        group_sd=rng.uniform(0.005, 0.01, draws), grade_limits=None, power=np.ones(draws),
        prior=None,  # type: ignore[arg-type] # not used
        diagnostics=Diagnostics(300.0, 0.3, 1),
    )  # fmt: skip


def _surfaces(draws: int = 64, cavities: int = 1) -> Surfaces:
    rng = np.random.default_rng(11)
    fill, flash = (_surface(n, draws, rng, cavities) for n in ("fill", "flash"))
    return Surfaces(fill, flash, None, ("",), 6, 4)


def _window(surfaces: Surfaces, good_from: float = 0.9) -> Window:
    shape = tuple(f.count for f in FACTORS)
    every = settings_at(FACTORS, np.arange(int(np.prod(shape))))
    shares = goodness(surfaces).shares(every).astype(float)
    yes = np.ones(shape, dtype=bool)
    return Window(
        FACTORS, good_from, shares.mean(axis=1).reshape(shape),
        (shares >= good_from).mean(axis=1).reshape(shape), yes, yes, (),
    )  # fmt: skip


@pytest.mark.parametrize("cavities", [1, 3])
def test_shares__against_simulated_shots(cavities: int) -> None:
    surfaces = _surfaces(draws=3, cavities=cavities)
    settings = np.array([[3.9, 220.0], [4.4, 210.0], [4.8, 230.0]])
    found = goodness(surfaces).shares(settings)
    rng, count = np.random.default_rng(5), 200_000
    coded = warp(FACTORS, settings)
    for draw in range(3):
        good = np.ones((3, count), dtype=bool)
        for surface in surfaces.each:
            height = surface.terms.matrix(coded) @ surface.coefficients[draw]
            shared = np.hypot(surface.shot_sd[draw], surface.group_sd[draw])
            latent = height[:, None, None] + shared * rng.normal(size=(count, 1))
            latent = latent + surface.cavity[draw]
            latent = latent + surface.rest_sd[draw] * rng.normal(
                size=(count, surface.cavity.shape[1])
            )
            fine = latent >= surface.limit if surface.above else latent < surface.limit
            good &= fine.all(axis=2)
        # five standard errors of a share of 200,000 shots, and the error of the table
        assert found[:, draw] == pytest.approx(good.mean(axis=1), abs=5 * 0.5 / count**0.5 + 5e-4)


def test_shares__one_cavity__closed_form() -> None:
    surfaces = _surfaces(draws=5)
    settings = np.array([[3.5, 215.0]])
    coded = warp(FACTORS, settings)
    expected = np.ones(5)
    for surface in surfaces.each:
        height = (surface.terms.matrix(coded) @ surface.coefficients.T)[0]
        sign = 1 if surface.above else -1
        expected *= norm.cdf(
            sign * (height - surface.limit) / np.hypot(surface.shot_sd, surface.group_sd)
        )
    assert goodness(surfaces).shares(settings)[0] == pytest.approx(expected, abs=5e-4)


def test_find_setpoint__as_looking_at_every_mark_and_corner() -> None:
    surfaces = _surfaces()
    window, chances = _window(surfaces), goodness(surfaces)
    best: tuple[float, tuple[float, ...]] = (-1.0, ())
    for mark in product(*(f.marks for f in FACTORS)):
        corners = [
            [m + s * f.holds for m, s, f in zip(mark, signs, FACTORS, strict=True)]
            for signs in [(0, 0), *product((-1, 1), repeat=2)]
        ]
        held = float(chances.probability_good(np.array(corners)).min())
        best = max(best, (held, tuple(float(m) for m in mark)))
    found = find_setpoint(window, chances)
    assert found is not None
    assert found.probability_held >= best[0] - SAME
    assert not found.narrow


def test_find_setpoint__plateau__the_middle_of_it() -> None:
    surfaces = _surfaces()
    window = _window(surfaces)
    flat = np.full_like(window.probability_good, 0.5)
    flat[4:17, 1:6] = window.probability_good.max()
    found = find_setpoint(replace(window, probability_good=flat), _AlwaysGood(surfaces, ()))
    assert found is not None
    assert found.mark[1] == 3 and 6 <= found.mark[0] <= 14  # two marks from each end at least


class _AlwaysGood(Goodness):
    def probability_good(self, settings: NDArray[np.float64], *, size: int = 256) -> Array:
        return np.full(len(settings), 0.9999)


def test_find_setpoint__wanted_share_out_of_reach__none() -> None:
    surfaces = _surfaces()
    assert find_setpoint(_window(surfaces, good_from=0.9999999), goodness(surfaces)) is None


@pytest.mark.parametrize("seed", range(12))
def test_largest_box__as_trying_every_box(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shape = ((5, 6), (4, 3, 4), (3, 3, 2, 3))[seed % 3]
    flags = rng.uniform(size=shape) < 0.75
    mark = tuple(int(i) for i in rng.integers(0, shape))
    flags[mark] = True
    spans = [
        [(a, b) for a in range(m + 1) for b in range(m, n)]
        for m, n in zip(mark, shape, strict=True)
    ]
    most = max(
        int(np.prod([b - a + 1 for a, b in box]))
        for box in product(*spans)
        if flags[tuple(slice(a, b + 1) for a, b in box)].all()
    )
    low, high = largest_box(flags, mark)
    box = tuple(slice(a, b + 1) for a, b in zip(low, high, strict=True))
    assert flags[box].all()
    assert flags[box].size == most


def test_largest_box__as_many_cells__the_mark_in_the_middle() -> None:
    flags = np.array([[1, 0, 0], [1, 1, 1], [1, 0, 0]], dtype=bool)
    assert largest_box(flags, (1, 0)) == ((0, 0), (2, 0))
    assert largest_box(flags.T, (0, 1)) == ((0, 0), (0, 2))


def test_find_ranges__box_of_sure_marks_around_the_setpoint() -> None:
    surfaces = _surfaces()
    window = _window(surfaces)
    setpoint = find_setpoint(window, goodness(surfaces))
    assert setpoint is not None
    ranges = find_ranges(window, setpoint)
    assert ranges is not None and ranges.of == "sure"
    box = tuple(slice(a, b + 1) for a, b in zip(ranges.low, ranges.high, strict=True))
    assert window.sure[box].all()
    assert all(a <= m <= b for a, m, b in zip(ranges.low, setpoint.mark, ranges.high, strict=True))


def test_find_edges__short_below_and_flash_above() -> None:
    surfaces = _surfaces()
    chances = goodness(surfaces)
    setpoint = find_setpoint(_window(surfaces), chances)
    assert setpoint is not None
    whole = Region(
        np.array([3.0, 205.0]), np.array([5.0, 235.0]), np.zeros(2), np.zeros((2, 2)), 1.0
    )
    edges = {(e.factor, e.side): e for e in find_edges(chances, setpoint, whole, 0.9)}
    low, high = edges["pressure", "low"], edges["pressure", "high"]
    assert (low.response, high.response) == ("fill", "flash")
    assert low.median is not None and high.median is not None
    assert low.median < setpoint.settings[0] < high.median
    for edge in (low, high):
        line = np.array([[edge.median, setpoint.settings[1]]])
        share = np.median(chances.shares(line))
        assert share == pytest.approx(0.9, abs=0.04)  # half the draws are inside there
        assert edge.band90[0] is not None and edge.band50[0] is not None
        assert edge.median is not None
        assert edge.band90[0] <= edge.band50[0] <= edge.median
