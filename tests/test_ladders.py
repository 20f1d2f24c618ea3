import numpy as np
import pytest
from molds import study

from shotwindow.doe.errors import StudyError
from shotwindow.doe.ladders import bracket, ladder_draft
from shotwindow.doe.plans import make_plan
from shotwindow.doe.study import parse_study


def test_ladder_draft__two_temperatures__cold_first_and_pressure_rising() -> None:
    settings = ladder_draft(study(4), None).settings
    assert settings[:, 1].tolist() == [205.0] * 8 + [235.0] * 8
    for half in (settings[:8], settings[8:]):
        assert (np.diff(half[:, 0]) > 0).all()
        assert (half[0, 0], half[-1, 0]) == (3.0, 5.0)
    assert (settings[:, 2:] == [45.0, 7.0]).all()


@pytest.mark.parametrize(("shots", "temperatures"), [(2, 1), (5, 1), (9, 2), (12, 2)])
def test_ladder_draft__given_shots__met_exactly(shots: int, temperatures: int) -> None:
    settings = ladder_draft(study(4), shots).settings
    assert len(settings) == shots
    assert len(np.unique(settings[:, 1])) == temperatures


def test_ladder__running_order__as_drafted() -> None:
    plan = make_plan(study(4), kind="ladder", shots=10, seed=3)
    np.testing.assert_array_equal(plan.settings(), ladder_draft(study(4), 10).settings)
    assert [shot.group for shot in plan.fitted()] == [1] * 5 + [2] * 5


def test_ladder_draft__no_pressure__told() -> None:
    other = parse_study('[factors.injection_time]\nunit = "s"\nlow = 1\nhigh = 5\nstep = 1\n')
    with pytest.raises(StudyError, match="no factor that acts as pressure"):
        ladder_draft(other, None)
    with pytest.raises(StudyError, match="found 1; expected 2 or more"):
        ladder_draft(study(1), 1)


def test_ladder_draft__rule_forbids_a_rung__told() -> None:
    rule = '[[avoid]]\nmelt_temperature = ">= 230"\npressure = "> 4.5"'
    with pytest.raises(StudyError, match="plan ladder: found 2 of 16 shots"):
        ladder_draft(study(2, more=rule), None)


def test_bracket__two_temperatures__holds_both_edges_at_both() -> None:
    rungs = np.array([3.0, 3.5, 4.0, 4.5, 5.0])
    pressure, melt = np.tile(rungs, 2), np.repeat([205.0, 235.0], 5)
    full = np.concatenate([rungs >= 4.5, rungs >= 3.5])
    flashed = np.concatenate([rungs >= 5.0, rungs >= 4.5])
    found = bracket(pressure, melt, full, flashed)
    assert (found.low, found.high) == (3.0, 5.0)
    assert found.short_seen
    assert found.flash_seen


def test_bracket__flash_never_seen_when_cold__end_of_the_ladder() -> None:
    rungs = np.array([3.0, 4.0, 5.0])
    pressure, melt = np.tile(rungs, 2), np.repeat([205.0, 235.0], 3)
    full = np.concatenate([rungs >= 5.0, rungs >= 3.0])
    flashed = np.concatenate([rungs > 5.0, rungs >= 4.0])
    found = bracket(pressure, melt, full, flashed)
    assert (found.low, found.short_seen) == (3.0, False)
    assert (found.high, found.flash_seen) == (5.0, False)
