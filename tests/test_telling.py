"""What a reading tells of a height: against plain integration and differences, and by kind."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings, study
from made_surfaces import surface, surfaces
from scipy.integrate import quad
from scipy.stats import norm

from shotwindow.models.goodness import goodness
from shotwindow.models.telling import information, reading_variance


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


def test_reading_variance__words_and_grades__less_than_a_number_tells() -> None:
    found = findings("graded")
    here = np.array([[4.0, 7.0]])
    flash = next(c for c in found.goodness.curves if c.surface.response == "flash")
    scatter = float((flash.surface.shot_sd**2).mean())
    assert reading_variance(flash, found.study, here)[0] > scatter
