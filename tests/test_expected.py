"""What was foretold of each shot and seen of it: the readings, on the scale of the fit."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.reports.expected import Measured, Worded, expected
from shotwindow.reports.latent_axis import Scale
from shotwindow.reports.outcomes import outcomes
from shotwindow.reports.points import new_worst, predict_points


def _measured(name: str, response: int) -> Measured:
    each = expected(findings(name))[response]
    assert isinstance(each, Measured)
    return each


def test_expected__numbers__are_those_of_the_readings_of_the_worst_cavity() -> None:
    seen, fill = findings("cube").readings, _measured("cube", 0)
    assert fill.values(fill.seen_low) == pytest.approx(seen.fill_low.min(axis=1))
    full = (seen.fill_low >= 100).all(axis=1)
    assert (fill.open_above == full).all() and not fill.open_below.any()
    flash = _measured("cube", 1)
    assert seen.flash_high is not None
    nothing = np.isneginf(seen.flash_low[:, 0])  # type: ignore[index]
    assert nothing.any() and (flash.open_below == nothing).all()
    assert flash.values(flash.seen[nothing]) == pytest.approx(seen.flash_high[nothing, 0])


def test_expected__foretold__as_window_at_predicts_it() -> None:
    found, fill = findings("map"), _measured("map", 0)
    points = predict_points(found, found.readings.settings)
    for i, point in enumerate(points):
        assert point.fill is not None  # a single lot: the very same draws
        told = np.minimum(fill.values(np.array([fill.low[i], fill.middle[i], fill.high[i]])), 100)
        assert told == pytest.approx([point.fill.low, point.fill.median, point.fill.high], rel=5e-3)


def test_new_worst__lots_told__each_with_its_own_offset() -> None:
    found = findings("map")
    fill, settings = found.surfaces.fill, found.readings.settings[:2]
    zero = np.zeros(len(fill.lot))
    two = replace(fill, lot=np.column_stack([zero, zero + 0.3]))
    first, second = (new_worst(two, settings, 1, np.array([0, lot])) for lot in (0, 1))
    assert (first[0] == second[0]).all() and second[1] - first[1] == pytest.approx(0.3)


def test_measured__off__from_the_middle_or_the_known_end() -> None:
    one = np.ones(4)
    each = Measured(
        "fill", "%", -one, 0 * one, one, 0.5 * one,
        seen_low=np.array([0.2, 0.4, -np.inf, -np.inf]),
        seen_high=np.array([0.4, np.inf, -0.5, np.inf]),
        limit=0.0, scale=Scale("fill"),
    )  # fmt: skip
    assert each.off[:3] == pytest.approx([0.6, 0.8, -1.0]) and np.isnan(each.off[3])
    assert each.missing.tolist() == [False, False, False, True]


def test_measured__nearest__none_where_the_reading_may_be_as_foretold() -> None:
    one = np.ones(5)
    each = Measured(
        "fill", "%", -one, 0 * one, one, 0.5 * one,
        seen_low=np.array([0.2, -0.1, -np.inf, 0.4, -np.inf]),
        seen_high=np.array([0.4, 0.9, -0.5, np.inf, np.inf]),
        limit=0.0, scale=Scale("fill"),
    )  # fmt: skip
    assert each.nearest[:4] == pytest.approx([0.4, 0.0, -1.0, 0.8]) and np.isnan(each.nearest[4])
    assert [end[0] for end in each.span] == pytest.approx([0.4, 0.8])


def test_expected__words__bad_as_the_outcomes_and_chances_between_0_and_1() -> None:
    found = findings("graded")
    flash = expected(found)[1]
    assert isinstance(flash, Worded) and flash.words[2] == "grade 2" and flash.bad_from == 2
    over = np.array(["flash" in outcome for outcome in outcomes(found.readings)])
    assert ((flash.seen >= flash.bad_from) == over).all()
    assert ((flash.low >= 0) & (flash.middle <= 1) & (flash.low <= flash.high)).all()
    assert flash.middle[over].min() > flash.middle[~over].mean()
    assert flash.off == pytest.approx(over - flash.middle)


def test_expected__other_rejects__have_their_own() -> None:
    found = findings("sink")
    other = expected(found)[2]
    assert isinstance(other, Worded) and found.readings.other is not None
    assert (other.seen == found.readings.other).all()
