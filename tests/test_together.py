"""Bounds on good shots however fill and flash of one shot hang together."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from made_surfaces import surface, surfaces
from scipy.stats import multivariate_normal, norm

from shotwindow.doe.factors import Factor
from shotwindow.models.goodness import goodness
from shotwindow.models.together import bounds, find_together
from shotwindow.reports.surface_words import together_words

PRESSURE = (Factor("pressure", "bar", 2.0, 6.0, 0.1, (0.0, 9.0), 0.05),)


@pytest.mark.parametrize("pressure", [3.2, 3.5, 3.7])
def test_bounds__hold_the_share_of_the_bivariate_normal_whatever_its_correlation(
    pressure: float,
) -> None:
    """Scipy's bivariate normal; it reaches either bound as the correlation goes to its ends."""
    fill = surface("fill", PRESSURE, [0.03, 0.10], draws=1, spread=0.0)
    flash = surface("flash", PRESSURE, [-0.03, 0.10], draws=1, spread=0.0)
    settings = np.array([[pressure]])
    (low,), (high,) = bounds(goodness(surfaces(fill, flash)), settings)
    heights = np.array([s.latent(settings)[0, 0] for s in (fill, flash)]) / 0.02
    inside = heights * [1.0, -1.0]  # both good below these
    shares = {
        # a shot that fills more flashes more, so that what spares one side hurts the other
        rho: multivariate_normal([0.0, 0.0], [[1.0, -rho], [-rho, 1.0]]).cdf(inside)
        for rho in (-0.999, -0.5, 0.0, 0.5, 0.999)
    }
    assert all(low - 1e-3 <= share <= high + 1e-3 for share in shares.values())
    assert high - low > 1e-3  # else nothing was to be seen
    assert (shares[0.999], shares[-0.999]) == pytest.approx((low, high), abs=5e-3)
    assert high == pytest.approx(norm.cdf(inside).min(), abs=2e-3)
    assert low == pytest.approx(max(0.0, norm.cdf(inside).sum() - 1.0), abs=2e-3)


def test_find_together__largest_change_over_the_window_and_shots_that_tell() -> None:
    found = findings("map")
    assert found.window is not None and found.best is not None
    told = find_together(found.readings, found.goodness, found.window, found.best)
    assert told.low <= told.stated <= told.high
    assert max(told.high - told.stated, told.stated - told.low) <= told.anywhere < 0.25
    low, high = found.readings.fill_low.copy(), found.readings.fill_high.copy()
    flash = found.readings.flash_low
    assert flash is not None
    wide = np.where(np.arange(len(flash))[:, None] < 3, 0.2, -np.inf)
    low[:2], high[:2] = 90.0, 95.0
    high[2:] = np.inf
    both = replace(found.readings, fill_low=low, fill_high=high, flash_low=wide)
    assert find_together(both, found.goodness, found.window, found.best).shots == 2


def test_find_together__change_anywhere__as_over_every_mark_of_the_window() -> None:
    found = findings("map")
    assert found.window is not None and found.best is not None
    known = np.flatnonzero(np.isfinite(found.window.probability_good))
    settings = found.window.settings_of(known)
    low, high = bounds(found.goodness, settings)
    stated = found.goodness.probability_good(settings)
    told = find_together(found.readings, found.goodness, found.window, found.best)
    assert told.anywhere == pytest.approx(np.maximum(stated - low, high - stated).max(), rel=1e-3)


def test_find_together__grades__flash_of_the_lowest_grade_tells() -> None:
    found = findings("graded")
    assert found.window is not None and found.best is not None
    grades, high = np.array(found.readings.flash_grade), found.readings.fill_high.copy()
    grades[:], high[:] = 0, np.inf
    grades[0], high[:2] = 1, 95.0
    made = replace(found.readings, flash_grade=grades, fill_high=high)
    assert find_together(made, found.goodness, found.window, found.best).shots == 1


def test_together_words__say_what_could_change() -> None:
    words = together_words(findings("map"))
    assert "Fill and flash of one shot are taken to scatter apart" in words
    assert "however they hang together" in words and "nowhere tried" in words
    assert "other rejects" in together_words(findings("sink"))
    no_window = replace(findings("map"), window=None, setpoint=None)
    assert together_words(no_window).endswith("scatter apart from each other.")
