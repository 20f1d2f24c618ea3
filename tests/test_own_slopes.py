"""Cavities that answer to the settings each in its own way, in words."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.reports.effect_words import response_sentences
from shotwindow.reports.findings import Findings
from shotwindow.reports.own_slopes import own_slope_words, own_ways


@lru_cache
def _unlike(gain: float) -> Findings:
    """The second of two cavities gains more along the first setting, by its coded range."""
    found = findings("cube")
    fill = found.surfaces.fill
    slope = np.zeros((*fill.cavity.shape, len(found.study.factors)))
    slope[:, 1, 0] = gain
    slope[:, :, 1] = 0.02 * np.random.default_rng(1).standard_normal(fill.cavity.shape)
    fill = replace(fill, slope=slope, own_slopes=0.93)
    return replace(found, surfaces=replace(found.surfaces, fill=fill))


@pytest.mark.parametrize("gain", [0.06, -0.06])
def test_own_ways__one_setting_in_two_cavities__half_the_gain_each_way(gain: float) -> None:
    found = _unlike(gain)
    first, second = own_ways(found, found.surfaces.fill)
    assert [(way.cavity, way.factor) for way in (first, second)] == [(1, 0), (2, 0)]
    # 3 to 5 bar is two in codes, on a log scale; 0.5 bar around 4 bar is so much of it
    moved = 2.0 * np.log(4.25 / 3.75) / np.log(5.0 / 3.0)
    half = 100.0 * np.expm1(0.5 * gain * moved)
    assert second.more.middle == pytest.approx(half)
    assert second.more.low == pytest.approx(half) == second.more.high
    assert first.more.middle == pytest.approx(100.0 * np.expm1(-0.5 * gain * moved))


def test_own_slope_words__more_and_less__in_units_of_the_dial() -> None:
    found = _unlike(-0.06)
    chance, first, second = own_slope_words(found, found.surfaces.fill)
    assert "each in its own way with a chance of 0.93" in chance
    assert first.startswith("pressure +0.5 bar gives cavity 1 1.5 to 1.5 percent more fill")
    assert second.startswith("pressure +0.5 bar gives cavity 2 1.5 to 1.5 percent less fill")
    assert second in response_sentences(found, found.surfaces.fill)


def test_own_slope_words__parallel_or_hardly_believed__nothing_said() -> None:
    found = findings("cube")
    assert own_slope_words(found, found.surfaces.fill) == []
    assert own_slope_words(found, replace(found.surfaces.fill, own_slopes=0.04)) == []
    assert own_ways(found, found.surfaces.fill) == ()


def test_own_ways__flash_width__in_its_unit_at_the_limit() -> None:
    found = _unlike(0.06)
    flash = found.surfaces.flash
    draws = len(flash.coefficients)
    slope = np.zeros((draws, 2, len(found.study.factors)))
    slope[:, 1, 0] = 0.4
    flash = replace(
        flash, cavity=np.zeros((draws, 2)), slope=slope, own_slopes=0.9, power=np.full(draws, 0.5)
    )
    *_, second = own_ways(found, flash)
    moved = 0.5 * 0.4 * 2.0 * np.log(4.25 / 3.75) / np.log(5.0 / 3.0)
    # half a power: a width of 0.1 mm grows to 0.1 (1 + moved / 2)^2
    assert second.more.middle == pytest.approx(0.1 * (1 + moved / 2) ** 2 - 0.1)
    assert "mm more flash" in own_slope_words(found, flash)[-1]
