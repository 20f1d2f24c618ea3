"""What is said of one factor holds for every mark of it, also where a window left most out."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.doe.study import Study
from shotwindow.models.presses import press_for
from shotwindow.models.scoring import score
from shotwindow.models.thinning import thinned
from shotwindow.reports.class_rows import stretch_of
from shotwindow.reports.dials import dial_figure, dial_words, good_stretch
from shotwindow.reports.documents import window_document
from shotwindow.reports.findings import Findings, find_in
from shotwindow.reports.live_map import map_data
from shotwindow.reports.notes import notes
from shotwindow.reports.own_marks import marks_along, marks_over, own_place
from shotwindow.reports.page_tables import setpoint_table
from shotwindow.reports.verdicts import margins


@lru_cache
def _few() -> tuple[Findings, Findings]:
    """Return invented findings over a quarter of the marks, and over all at the same place."""
    whole = findings("map")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("shotwindow.models.enough_marks.thinned", _quarter)
        few = find_in(whole)
    assert few.window is not None and few.window.allowed.shape == (11, 16)
    assert few.setpoint is not None
    return few, replace(whole, setpoint=replace(few.setpoint, mark=own_place(few)))


def _quarter(study: Study, **_: object) -> Study:
    return thinned(study, 200)


@pytest.mark.parametrize("j", [0, 1])
def test_marks_along__marks_left_out__as_in_the_window_over_all(j: int) -> None:
    few, whole = _few()
    factor, chances = marks_along(few, j)
    same, wanted = marks_along(whole, j)
    assert few.window is not None
    assert np.array_equal(factor.marks, same.marks) and factor.count > few.window.factors[j].count
    # a few draws speak for the others where they all agree
    assert chances == pytest.approx(wanted, abs=0.005)


def test_marks_over__two_factors__as_in_the_window_and_in_the_order_asked_for() -> None:
    found = findings("cube")
    assert found.window is not None and found.best is not None
    inside = found.window.probability_in_window
    (one, other), chances = marks_over(found, (2, 0))
    assert (one.name, other.name) == ("injection_time", "pressure")
    assert np.array_equal(chances, inside[:, found.best[1], :].T, equal_nan=True)
    # the same looked for anew; a few draws speak for the others where they all agree
    _, anew = marks_over(found, (2, 0), found.best_settings)
    assert anew == pytest.approx(chances, abs=0.005, nan_ok=True)


def test_marks_over__a_large_map__some_of_its_marks(monkeypatch: pytest.MonkeyPatch) -> None:
    few, whole = _few()
    monkeypatch.setattr("shotwindow.reports.own_marks.MOST", 100)
    factors, chances = marks_over(few, (0, 1))
    assert chances.shape == tuple(factor.count for factor in factors) and chances.size <= 100
    _, every = marks_over(whole, (0, 1))
    assert (chances >= 0.5).mean() == pytest.approx((every >= 0.5).mean(), abs=0.05)


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


def test_find_in__marks_left_out__the_study_keeps_its_own() -> None:
    few, whole = _few()
    assert few.study == whole.study and few.surfaces is whole.surfaces
    said, of_all = " ".join(notes(few)), " ".join(notes(whole))
    assert "pressure every 0.2 bar" in said and " every " not in of_all


def test_ranges__marks_left_out__in_settings_and_counted_on_the_dial() -> None:
    few, _ = _few()
    assert few.window is not None and few.ranges is not None
    table, told = setpoint_table(few), window_document(few)["ranges"]
    assert table is not None
    for j, (factor, (low, high)) in enumerate(zip(few.study.factors, few.range_ends, strict=True)):
        kept = few.window.factors[j].marks
        assert (low, high) == (kept[few.ranges.low[j]], kept[few.ranges.high[j]])
        count = int(((factor.marks >= low - 1e-9) & (factor.marks <= high + 1e-9)).sum())
        assert count > few.ranges.high[j] - few.ranges.low[j] + 1  # those in between are counted
        assert f"({count} marks)" in table.rows[j][-1]
        assert (told[factor.name]["low"], told[factor.name]["marks"]) == (low, count)


def test_score__marks_left_out__at_their_own_settings() -> None:
    few, whole = _few()
    assert few.window is not None and whole.window is not None
    press = press_for(few.study, "A", 8)
    found = score(press, few.study, few.window, few.setpoint)
    wanted = score(press, whole.study, whole.window, whole.setpoint)
    assert found.true_ranges == wanted.true_ranges and None not in found.true_ranges
    assert found.setpoint_good == wanted.setpoint_good
    assert found.overlap == pytest.approx(wanted.overlap, abs=0.05)
