"""What is counted of a window, by hand, and where it answers at all."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from made_surfaces import surface, surfaces

from shotwindow.doe.factors import Factor
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.limiting import find_limits
from shotwindow.models.thinning import mark_weights, thinned
from shotwindow.models.window import find_window, open_edges, tried_region


def test_window__chances_at_the_limits__likely_from_a_half_and_sure_from_nine_tenths() -> None:
    window = findings("map").window
    assert window is not None
    chances = np.zeros(window.allowed.shape)
    chances.ravel()[:5] = [0.49, 0.5, 0.89, 0.9, 1.0]
    chances.ravel()[5] = np.nan
    made = replace(window, probability_in_window=chances, allowed=np.ones_like(window.allowed))
    assert np.flatnonzero(made.likely).tolist() == [1, 2, 3, 4]
    assert np.flatnonzero(made.sure).tolist() == [3, 4]
    assert made.share_likely == pytest.approx(4 / chances.size)
    assert made.share_sure == pytest.approx(2 / chances.size)


def test_find_window__stricter_demands__as_windows_of_their_own() -> None:
    found = findings("map")
    assert found.window is not None and found.window.stricter
    for demand in found.window.stricter:
        study = replace(found.study, good_from=demand.good_from)
        alone = find_window(study, found.readings, found.goodness)
        # marks that a few draws find clear for all demands are not asked for each
        assert demand.share_likely == pytest.approx(alone.share_likely, abs=0.005)
        assert demand.share_sure == pytest.approx(alone.share_sure, abs=0.005)


def _made(factors: tuple[Factor, ...]) -> Goodness:
    """Return surfaces whose two edges run across the marks."""
    fill = surface("fill", factors, [0.0, 0.3, 0.2, 0.1], spread=0.02)
    flash = surface("flash", factors, [-0.25, 0.3, 0.2, 0.1], spread=0.02)
    return goodness(surfaces(fill, flash))


@pytest.mark.parametrize("most", [150, 100])
def test_find_window__marks_thinned_out__shares_as_of_all_marks(most: int) -> None:
    found = findings("cube")
    made = _made(found.study.factors)
    whole = find_window(found.study, found.readings, made)
    few = find_window(thinned(found.study, most), found.readings, made)
    assert few.allowed.size <= most < whole.allowed.size and whole.share_sure > 0.1
    assert few.share_likely == pytest.approx(whole.share_likely, abs=0.01)
    assert few.share_sure == pytest.approx(whole.share_sure, abs=0.02)
    for got, own in zip(few.stricter, whole.stricter, strict=True):
        assert got.share_likely == pytest.approx(own.share_likely, abs=0.03)
        assert got.share_sure == pytest.approx(own.share_sure, abs=0.03)
    # what ends the window, too: the ends of the ranges, which shots leave first, count for less
    for few_limit, limit in zip(find_limits(few, made), find_limits(whole, made), strict=True):
        assert few_limit.share == pytest.approx(limit.share, abs=0.01)


def test_mark_weights__number_mean_and_scatter_as_of_all_marks() -> None:
    factors = findings("cube").study.factors
    for most in (300, 150, 60, 8):
        few = thinned(findings("cube").study, most).factors
        for own, kept, weights in zip(factors, few, mark_weights(few, factors), strict=True):
            assert weights.size == kept.count and (weights > 0).all()
            assert weights.sum() == pytest.approx(own.count)
            if kept.count > 2:  # two marks cannot have any scatter
                assert weights @ kept.marks == pytest.approx(own.marks.sum())
                assert weights @ kept.marks**2 == pytest.approx((own.marks**2).sum())
    assert mark_weights(factors, factors) == ()


def test_find_window__answers_where_a_mark_is_allowed_and_tried_and_nowhere_else() -> None:
    found = findings("avoid")
    above = found.readings.settings[:, 0] > found.readings.settings[:, 0].min()
    half = replace(found.readings, settings=found.readings.settings[above])
    window = find_window(found.study, half, found.goodness)
    wanted = window.allowed & window.tried
    assert wanted.any() and (window.allowed & ~window.tried).any()
    assert (~window.allowed & window.tried).any()
    assert np.array_equal(~np.isnan(window.probability_good), wanted)


def test_tried_region__squared_length__leverage_of_straight_lines() -> None:
    """Against the diagonal of the hat matrix; the mean alone has a leverage of 1/n."""
    rng = np.random.default_rng(4)
    plain = rng.normal(size=(12, 2))
    settings = np.column_stack([4.0 + plain[:, 0], 220.0 + 9.0 * plain[:, 0] + 2.0 * plain[:, 1]])
    region = tried_region(replace(findings("map").readings, settings=settings))
    design = np.column_stack([np.ones(12), settings])
    leverage = np.diag(design @ np.linalg.pinv(design))
    lengths = (((settings - region.center) @ region.root) ** 2).sum(axis=1)
    assert lengths + 1 / 12 == pytest.approx(leverage, abs=1e-9)
    assert region.reach**2 == pytest.approx(leverage.max() - 1 / 12, abs=1e-9)


def test_open_edges__a_reading_that_ends_at_the_limit__has_seen_the_edge() -> None:
    readings = findings("map").readings
    assert readings.flash_low is not None
    touched = replace(
        readings,
        fill_high=np.where(readings.fill_high < readings.fill_good, np.inf, readings.fill_high),
        flash_low=np.minimum(readings.flash_low, 0.5 * readings.flash_good),
    )
    assert open_edges(touched) == ("fill", "flash")
    touched.fill_high[0, 0] = touched.fill_good
    touched.flash_low[0, 0] = touched.flash_good  # type: ignore[index] # widths
    assert open_edges(touched) == ()


def test_goodness__every_cavity_sure_to_fail_on_both__no_share_and_no_warning() -> None:
    """The odds against a good shot of many cavities multiply past what a single number holds."""
    factors, both = findings("cube").study.factors, []
    for name, height in (("fill", -9.0), ("flash", 9.0)):
        made = surface(name, factors, [height, 0.0, 0.0, 0.0], spread=0.0)
        cavity = np.tile([0.0, 0.4, -0.4, 0.2, -0.2, 0.1, 0.3, -0.3], (200, 1))
        slope = np.zeros((200, 8, 0))
        both.append(replace(made, cavity=cavity, slope=slope, rest_sd=10.0 * made.shot_sd))
    shares = goodness(surfaces(*both)).shares(np.array([[f.low for f in factors]]))
    assert (shares == 0.0).all()
