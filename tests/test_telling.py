"""What a reading tells of a height: against plain integration and differences, and by kind."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings, study
from made_surfaces import surface, surfaces
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.stats import norm

from shotwindow.models.goodness import goodness
from shotwindow.models.surface import Surface
from shotwindow.models.telling import LEAST_INFORMATION, information, reading_variance

Array = NDArray[np.float64]


def _slowly(cuts: list[float], exact: int | None) -> float:
    """Square of the slope of the log chance of what is seen, averaged over what may be seen."""
    ends = [-np.inf, *cuts, np.inf]
    step, total = 1e-5, 0.0
    for number, (low, high) in enumerate(zip(ends, ends[1:], strict=False)):
        if number == exact:
            reach = max(low, -12.0), min(high, 12.0)
            total += quad(lambda x: x**2 * norm.pdf(x), *reach)[0]
            continue
        chances = [norm.cdf(high - m) - norm.cdf(low - m) for m in (-step, step)]
        if min(chances) < 1e-12:  # never seen
            continue
        slope = (np.log(chances[1]) - np.log(chances[0])) / (2 * step)
        total += slope**2 * (norm.cdf(high) - norm.cdf(low))
    return total


@pytest.mark.parametrize(
    ("cuts", "exact"),
    [([0.3], 0), ([-1.5], 0), ([0.3], None), ([-1.0, 2.0], 1), ([-1.0, 0.2, 1.5], None)],
)
def test_information__as_integrated_and_differenced(cuts: list[float], exact: int | None) -> None:
    assert information(np.array(cuts), exact) == pytest.approx(_slowly(cuts, exact), rel=1e-6)


def test_reading_variance__number_below_the_limit_and_nothing_far_above() -> None:
    factors = study("map").factors
    made = goodness(
        surfaces(
            surface("fill", factors, [0.0, 0.5, 0.0], spread=0.0),
            surface("flash", factors, [-0.1, 3.0, 0.0], spread=0.0),
        )
    )
    low, high = np.array([[3.0, 220.0]]), np.array([[5.0, 220.0]])
    fill, flash = made.curves
    eye = study("map")  # fill is judged by eye, flash measured
    assert reading_variance(fill, eye, low) == pytest.approx(0.02**2, rel=1e-3)
    assert reading_variance(fill, eye, high)[0] > 100 * 0.02**2  # full, and no more is known
    # flash that cannot be seen, and flash so wide that only that is known
    middle = np.array([[4.0, 220.0]])
    assert reading_variance(flash, eye, middle) == pytest.approx(0.02**2, rel=0.01)
    assert reading_variance(flash, eye, low)[0] > 100 * 0.02**2
    assert reading_variance(flash, eye, high)[0] > 100 * 0.02**2


def test_reading_variance__mass_is_a_number_and_cavities_scatter_as_well() -> None:
    factors, eye = study("map").factors, study("map")
    fill = surface("fill", factors, [0.0, 0.5, 0.0], spread=0.0)
    uneven = replace(fill, rest_sd=0.03 * np.ones(200))
    flash = surface("flash", factors, [-0.1, 3.0, 0.0], spread=0.0)
    low = np.array([[3.0, 220.0]])
    weighed = replace(eye, fill=replace(eye.fill, measured="mass"))
    words = replace(eye, fill=replace(eye.fill, measured="full-or-short"))
    curve = goodness(surfaces(uneven, flash)).curves[0]
    assert reading_variance(curve, weighed, low) == pytest.approx(0.02**2 + 0.03**2, rel=1e-3)
    assert reading_variance(curve, words, low)[0] > 100 * 0.02**2


def test_reading_variance__grades_that_were_fitted__less_than_a_number_tells() -> None:
    found = findings("graded")
    here = np.array([[4.0, 7.0]])
    flash = next(c for c in found.goodness.curves if c.surface.response == "flash")
    scatter = float((flash.surface.shot_sd**2).mean())
    assert reading_variance(flash, found.study, here)[0] > scatter


def _uncertain(name: str, more: float) -> Surface:
    """A surface of 12 draws that differ in all that a reading hangs on."""
    rng, draws = np.random.default_rng(3), 12
    made = surface(name, study("map").factors, [more, 0.1, 0.0], draws=draws, spread=0.03)
    return replace(
        made, limit=0.15, shot_sd=rng.uniform(0.05, 0.3, draws),
        rest_sd=rng.uniform(0.05, 0.3, draws), power=rng.uniform(0.3, 1.2, draws),
    )  # fmt: skip


def _by_hand(made: Surface, cuts: Array, exact: int | None, settings: Array) -> list[float]:
    """Return the variance with each draw integrated and differenced; what they tell is averaged."""
    scatter = np.hypot(made.shot_sd, made.rest_sd)
    told = [
        [
            _slowly(((c - h) / sd).tolist(), exact)
            for c, h, sd in zip(cuts, heights, scatter, strict=True)
        ]
        for heights in made.latent(settings)
    ]
    return [float((scatter**2).mean() / np.mean(each)) for each in told]


SETTINGS = np.array([[3.0, 220.0], [3.6, 215.0], [4.4, 230.0], [5.0, 220.0]])


@pytest.mark.parametrize(("measured", "exact"), [("mass", 0), ("eye", 0), ("full-or-short", None)])
def test_reading_variance__fill__as_each_draw_by_hand(measured: str, exact: int | None) -> None:
    read = replace(study("map"), fill=replace(study("map").fill, measured=measured))
    fill, flash = _uncertain("fill", 0.1), _uncertain("flash", 0.0)
    cuts = np.full((12, 1), fill.limit)
    curve = goodness(surfaces(fill, flash)).curves[0]
    assert reading_variance(curve, read, SETTINGS) == pytest.approx(
        _by_hand(fill, cuts, exact, SETTINGS), rel=1e-5
    )


# Widths read from 0.06 mm on where 0.2 is allowed; three times that is only known to be heavy.
WIDTHS = replace(study("map").flash, seen_from=0.06, good=0.2)


@pytest.mark.parametrize("graded", [False, True])
def test_reading_variance__flash__as_each_draw_by_hand(graded: bool) -> None:
    flash, fill = _uncertain("flash", 0.1), _uncertain("fill", 0.0)
    p = flash.power[:, None]
    cuts = (np.array([0.3, 3.0]) ** p - 1) / p
    if graded:  # limits of grades are not known either
        cuts = np.array([-0.5, 0.15, 0.6]) + 0.1 * p
        flash = replace(flash, grade_limits=cuts)
    curve = goodness(surfaces(fill, flash)).curves[1]
    assert reading_variance(curve, replace(study("map"), flash=WIDTHS), SETTINGS) == pytest.approx(
        _by_hand(flash, cuts, None if graded else 1, SETTINGS), rel=1e-5
    )


def test_reading_variance__another_fault__seen_or_not_whatever_fill_is_read_by() -> None:
    other, flash = _uncertain("other", 0.1), _uncertain("flash", 0.0)
    made = replace(surfaces(_uncertain("fill", 0.0), flash), other=other)
    curve = goodness(made).curves[2]
    assert curve.surface is other and study("map").fill.measured == "eye"
    assert reading_variance(curve, study("map"), SETTINGS) == pytest.approx(
        _by_hand(other, np.full((12, 1), other.limit), None, SETTINGS), rel=1e-5
    )


def test_reading_variance__nothing_told__as_little_as_is_ever_told() -> None:
    fill, flash = _uncertain("fill", 9.0), _uncertain("flash", 0.0)  # far above the limit
    curve = goodness(surfaces(fill, flash)).curves[0]
    most = (fill.shot_sd**2 + fill.rest_sd**2).mean() / LEAST_INFORMATION
    assert reading_variance(curve, study("map"), SETTINGS) == pytest.approx(most)
    assert most >= 1e3 * (fill.shot_sd**2).mean()
