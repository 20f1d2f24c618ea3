"""What keeps settings out of the window, against looking at all of them by hand."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from numpy.typing import NDArray

from shotwindow.models.limiting import find_limits, weakest_cavity, worst_response
from shotwindow.models.surface import Surface

HERE = np.zeros((1, 2))  # settings, which matter only where cavities have slopes of their own


def _cavities(surface: Surface, offsets: NDArray[np.float64]) -> Surface:
    return replace(surface, cavity=offsets, slope=np.zeros((*offsets.shape, 0)))


def test_weakest_cavity__lowest_offset_of_fill_and_highest_of_flash() -> None:
    surface = findings("map").surfaces.fill
    offsets = np.array([[0.0, -1.0, 1.0], [0.0, -1.0, 1.0], [-2.0, -1.0, 1.0], [0.0, -0.1, 0.0]])
    short = weakest_cavity(_cavities(surface, offsets), HERE)
    assert short is not None and (short.cavity, short.chance) == (2, 0.75)
    flash = weakest_cavity(_cavities(replace(surface, above=False), offsets[:3]), HERE)
    assert flash is not None and (flash.cavity, flash.chance) == (3, 1.0)


def test_weakest_cavity__one_reading_for_all__not_known() -> None:
    assert weakest_cavity(findings("map").surfaces.fill, HERE) is None


def test_find_limits__shares_as_counted_over_every_mark_outside() -> None:
    found = findings("map")
    assert found.window is not None
    outside = np.flatnonzero(found.window.probability_in_window.ravel() < 0.5)
    worst = worst_response(found.goodness, found.window.settings_of(outside))
    limits = {limit.response: limit.share for limit in find_limits(found.window, found.goodness)}
    assert limits == pytest.approx({"fill": (worst == 0).mean(), "flash": (worst == 1).mean()})
    assert limits["fill"] + limits["flash"] == pytest.approx(1.0)


def test_worst_response__cold_and_hot_ends__short_and_flash() -> None:
    found = findings("map")
    ends = np.array([[3.0, 205.0], [5.0, 235.0]])
    assert worst_response(found.goodness, ends).tolist() == [0, 1]
