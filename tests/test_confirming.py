"""Attempts to confirm: how many groups fit in the minutes, what is written, what is refused."""

from pathlib import Path

import pytest
from invented_folders import write_study

from shotwindow.doe.attempts import read_attempts
from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.runs import read_runs
from shotwindow.doe.study import read_study
from shotwindow.models.challenge import Demand
from shotwindow.reports.confirming import plan_attempt, write_attempt

EASY = Demand(0.7, 0.9)  # 7 shots


def _with_minutes(folder: Path, minutes: int) -> Path:
    text = (folder / "study.toml").read_text(encoding="utf-8")
    (folder / "study.toml").write_text(f"time.budget_min = {minutes}\n{text}", encoding="utf-8")
    return folder


def test_plan_attempt__slow_setting_and_time__three_groups_that_the_corners_part(
    tmp_path: Path,
) -> None:
    made = plan_attempt(write_study(tmp_path / "map", "map"), EASY)
    assert made.attempt.groups == 3 and made.challenge.shots_by_group == (3, 2, 2)
    assert made.challenge.reheated == ()
    at = [s.settings for s in made.longer.shots if s.shot in made.attempt.shots]
    melt = [settings[1] for settings in at]
    own = made.attempt.setpoint[1]
    left = [i for i, value in enumerate(melt) if value != own]
    # the melt temperature leaves the setpoint's twice or more, and comes back
    assert melt[0] == own and any(value == own for value in melt[left[0] :])


@pytest.mark.parametrize(("minutes", "groups"), [(240, 3), (150, 2), (120, 1)])
def test_plan_attempt__fewer_minutes__fewer_groups(
    minutes: int, groups: int, tmp_path: Path
) -> None:
    made = plan_attempt(_with_minutes(write_study(tmp_path / "map", "map"), minutes), EASY)
    assert made.attempt.groups == groups
    if groups > 1:
        time = made.found.study.time
        assert made.minutes + time.start_up_min + time.clean_up_min <= minutes


@pytest.mark.parametrize(("minutes", "groups"), [(60, 3), (150, 3), (240, 1)])
def test_plan_attempt__groups_asked_for__whatever_the_minutes(
    minutes: int, groups: int, tmp_path: Path
) -> None:
    folder = _with_minutes(write_study(tmp_path / "map", "map"), minutes)
    assert plan_attempt(folder, Demand(0.7, 0.9, groups=groups)).attempt.groups == groups


def test_plan_attempt__no_slow_setting__one_group(tmp_path: Path) -> None:
    made = plan_attempt(write_study(tmp_path / "dial", "dial"), EASY)
    assert made.attempt.groups == 1
    for risk in made.risks:
        assert risk.as_planned == pytest.approx(risk.alone)


def test_write_attempt__rows_and_what_they_are_to_show(tmp_path: Path) -> None:
    folder = write_study(tmp_path / "dial", "dial")
    made = plan_attempt(folder, EASY)
    before = read_runs(folder, read_study(folder))
    assert not read_attempts(folder)
    write_attempt(folder, made)
    assert read_attempts(folder) == (made.attempt,)
    rows = read_runs(folder, read_study(folder))
    assert rows[: len(before)] == before
    added = rows[len(before) :]
    assert {row.block for row in added} == {"confirm 1"}
    assert tuple(row.shot for row in added if row.kind == "confirm") == made.attempt.shots


@pytest.mark.parametrize(
    "demand", [Demand(1.0, 0.9), Demand(0.9, 0.0), Demand(0.9, 0.9, -1), Demand(0.9, 0.9, 0, 0)]
)
def test_plan_attempt__a_demand_that_no_shots_show__refused(demand: Demand, tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="confirm"):
        plan_attempt(write_study(tmp_path / "dial", "dial"), demand)


@pytest.mark.parametrize("name", ["short", "coarse"])
def test_plan_attempt__nothing_to_confirm__says_why(name: str, tmp_path: Path) -> None:
    with pytest.raises(Unanswerable, match="There is no setpoint to confirm"):
        plan_attempt(write_study(tmp_path / name, name), EASY)
