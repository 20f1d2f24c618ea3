"""What is found in a study hangs together, and comes out the same each time."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings, planned, recorded, study

from shotwindow.doe.errors import StudyError
from shotwindow.reports.findings import find
from shotwindow.reports.outcomes import outcomes


def test_find__same_seed__same_numbers() -> None:
    once, again = (find(study("dial"), recorded("dial"), seed=3) for _ in range(2))
    assert once.window is not None and again.window is not None
    assert np.array_equal(
        once.window.probability_good, again.window.probability_good, equal_nan=True
    )
    assert once.setpoint == again.setpoint and once.edges == again.edges


def test_find__another_seed__other_draws() -> None:
    one = find(study("dial"), recorded("dial"), seed=3)
    other = find(study("dial"), recorded("dial"), seed=4)
    assert not np.array_equal(one.surfaces.fill.coefficients, other.surfaces.fill.coefficients)


def test_find__no_shot__is_told() -> None:
    with pytest.raises(StudyError, match="no shot with a result"):
        find(study("dial"), ())


def test_best_settings__setpoint__are_its_settings() -> None:
    found = findings("map")
    assert found.setpoint is not None
    assert found.best_settings == found.setpoint.settings


def test_best_settings__no_setpoint__are_those_with_most_good_shots() -> None:
    found = findings("strict")
    assert found.setpoint is None and found.window is not None and found.best is not None
    assert found.window.probability_good[found.best] == np.nanmax(found.window.probability_good)


def test_outcomes__each_kind__as_read() -> None:
    found = findings("sink")
    seen = dict(zip(found.readings.shot.tolist(), outcomes(found.readings), strict=True))
    for row in found.rows:
        if not row.is_fitted:
            continue
        short, flashed = min(row.fill) < 100, (row.flash[0] or 0) > 0.105  # type: ignore[type-var, operator]
        expected = "short and flash" if short and flashed else "short" if short else "flash"
        if not short and not flashed:
            expected = "other reject" if row.other else "good"
        assert seen[row.shot] == expected, row
    assert {"good", "short", "flash"} <= set(seen.values())


def test_outcomes__grade_over_the_limit__is_flash() -> None:
    found = findings("graded")
    grades = found.readings.flash_grade
    assert grades is not None
    flashed = np.char.find(outcomes(found.readings), "flash") >= 0
    assert np.array_equal(flashed, (grades > 1).any(axis=1)) and flashed.any()


def test_planned__warm_up_shots__are_in_no_reading() -> None:
    kinds = {shot.shot: shot.kind for shot in planned("map").shots}
    assert "warm-up" in kinds.values()
    assert all(kinds[shot] != "warm-up" for shot in findings("map").readings.shot.tolist())


def test_outcomes__short_and_flashed_at_once__is_neither_alone() -> None:
    readings = findings("dial").readings
    assert readings.flash_low is not None
    both = replace(
        readings,
        fill_high=np.full_like(readings.fill_high, 95.0),
        flash_low=np.full_like(readings.flash_low, 0.2),
    )
    assert set(outcomes(both).tolist()) == {"short and flash"}
