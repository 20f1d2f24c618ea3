"""What is said of one factor holds for every mark of it, also where a window left most out."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.models.setpoint import find_ranges, find_setpoint
from shotwindow.models.thinning import thinned
from shotwindow.models.window import find_window
from shotwindow.reports.class_rows import stretch_of
from shotwindow.reports.dials import dial_figure, dial_words, good_stretch
from shotwindow.reports.findings import Findings
from shotwindow.reports.live_map import map_data
from shotwindow.reports.own_marks import marks_along, own_place
from shotwindow.reports.verdicts import margins


@lru_cache
def _few() -> tuple[Findings, Findings]:
    """Return invented findings over a quarter of the marks, and over all at the same place."""
    whole = findings("map")
    study = thinned(whole.study, 200)
    window = find_window(study, whole.readings, whole.goodness)
    point = find_setpoint(window, whole.goodness)
    assert point is not None
    few = replace(
        whole, study=study, window=window, setpoint=point, ranges=find_ranges(window, point)
    )
    assert window.allowed.shape == (11, 16)
    return few, replace(whole, setpoint=replace(point, mark=own_place(few)))


@pytest.mark.parametrize("j", [0, 1])
def test_marks_along__marks_left_out__as_in_the_window_over_all(j: int) -> None:
    few, whole = _few()
    factor, chances = marks_along(few, j)
    same, wanted = marks_along(whole, j)
    assert np.array_equal(factor.marks, same.marks) and factor.count > few.study.factors[j].count
    # a few draws speak for the others where they all agree
    assert chances == pytest.approx(wanted, abs=0.005)


def test_marks_along__not_tried__no_answer() -> None:
    few, _ = _few()
    part = replace(few, region=replace(few.region, low=np.array([3.45, 205.0])))
    factor, chances = marks_along(part, 0)
    assert np.array_equal(np.isnan(chances), factor.marks < 3.45)


def test_own_place__settings_of_the_setpoint() -> None:
    few, _ = _few()
    assert few.setpoint is not None
    pairs = zip(few.surfaces.factors, own_place(few), strict=True)
    assert tuple(factor.marks[mark] for factor, mark in pairs) == few.setpoint.settings


@pytest.mark.parametrize("j", [0, 1])
def test_rulers_and_stretches__marks_left_out__of_all_marks(j: int) -> None:
    few, whole = _few()
    for which in ("sure", "likely"):
        assert good_stretch(few, j, which) == good_stretch(whole, j, which)
        assert stretch_of(few, j, which) == stretch_of(whole, j, which)
    assert dial_words(few, j).split(".")[0] == dial_words(whole, j).split(".")[0]
    axis = dial_figure(few, j).axes[0].xaxis
    ticks = np.union1d(axis.get_majorticklocs(), axis.get_minorticklocs())
    assert ticks == pytest.approx(whole.study.factors[j].marks)


def test_margins__marks_left_out__counted_as_over_all() -> None:
    few, whole = _few()
    for found, wanted in zip(margins(few), margins(whole), strict=True):
        assert (found.marks, found.sure_marks) == (wanted.marks, wanted.sure_marks)
        assert found.tried == pytest.approx(wanted.tried)


def test_map_data__marks_left_out__moves_by_single_marks() -> None:
    few, whole = _few()
    found, wanted = map_data(few), map_data(whole)
    assert found["factors"] == wanted["factors"]
    assert found["start"] == wanted["start"] == own_place(few)
