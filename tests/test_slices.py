"""Chances along one or two factors: the same as everywhere else, and no answer where none is."""

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.reports.slices import map_axes, off_slice, slice_at


def test_map_axes__pressure_and_melt_come_first() -> None:
    assert map_axes(findings("map").study.factors) == (0, 1)
    assert map_axes(findings("cube").study.factors) == (0, 1)
    assert map_axes(findings("avoid").study.factors) == (0, 1)  # pressure and time
    assert map_axes(findings("dial").study.factors) == (0,)


def test_slice_at__any_place__has_the_chance_of_that_setting() -> None:
    found = findings("cube")
    cut = slice_at(found, (0, 1), count=9)
    settings = np.array([[cut.places[0][6], cut.places[1][2], found.best_settings[2]]])
    shares = found.goodness.shares(settings)
    assert cut.in_window[2, 6] == pytest.approx(float((shares >= 0.9).mean()))
    assert cut.in_window.shape == (9, 9) and set(cut.passes) == {"fill", "flash"}
    assert np.nanmax(cut.in_window - cut.passes["fill"]) <= 1e-9  # never above any one response


def test_slice_at__rim__lies_beyond_what_was_tried() -> None:
    cut = slice_at(findings("map"), (0, 1), count=21)
    assert cut.places[0][0] < 3.0 and cut.places[0][-1] > 5.0
    assert not cut.answered[0].any() and not cut.answered[:, -1].any()
    assert cut.answered[10, 10]
    assert np.isnan(cut.in_window[~cut.answered]).all()


def test_slice_at__ruled_out__no_answer() -> None:
    cut = slice_at(findings("avoid"), (0, 1), count=21)
    assert not cut.allowed.all() and np.isnan(cut.in_window[~cut.allowed]).all()


def test_off_slice__distance__in_half_ranges() -> None:
    found = findings("cube")
    far = off_slice(found, (0, 1))
    kept = found.study.factors[2]
    expected = np.abs(found.readings.settings[:, 2] - found.best_settings[2]) / (
        (kept.high - kept.low) / 2
    )
    assert far == pytest.approx(expected)
    assert (off_slice(findings("map"), (0, 1)) == 0).all()
