"""Attempts to confirm: how many groups fit in the minutes, what is written, what is refused."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from invented_folders import shoot_open, write_study

from shotwindow.doe.appending import added_minutes
from shotwindow.doe.attempts import read_attempts
from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.runs import read_plan, read_runs
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import read_study
from shotwindow.models.challenge import Chance, Demand, chance_to_pass
from shotwindow.reports import confirming
from shotwindow.reports.confirming import plan_attempt, write_attempt
from shotwindow.reports.findings import Findings, read_findings

EASY = Demand(0.7, 0.9)  # 7 shots


def _told(folder: Path, line: str) -> Path:
    """Return the folder, in whose study stands one line more."""
    text = (folder / "study.toml").read_text(encoding="utf-8")
    (folder / "study.toml").write_text(f"{line}\n{text}", encoding="utf-8")
    return folder


def _with_minutes(folder: Path, minutes: float) -> Path:
    return _told(folder, f"time.budget_min = {minutes:.10g}")


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


def test_plan_attempt__minutes_that_just_suffice__one_less_and_a_group_is_lost(
    tmp_path: Path,
) -> None:
    asked = plan_attempt(write_study(tmp_path / "ample", "map"), replace(EASY, groups=3))
    time = asked.found.study.time
    assert asked.minutes > 3 * time.shot_min
    needed = asked.minutes + time.start_up_min + time.clean_up_min
    for minutes, groups in ((needed + 0.01, 3), (needed - 0.01, 2)):
        folder = _with_minutes(write_study(tmp_path / f"{groups}", "map"), minutes)
        assert plan_attempt(folder, EASY).attempt.groups == groups


def test_plan_attempt__what_was_asked__is_what_is_found_shot_and_kept(tmp_path: Path) -> None:
    folder, demand = write_study(tmp_path / "map", "map"), Demand(0.8, 0.6, failures=1, groups=2)
    made = plan_attempt(folder, demand, seed=4, prior="weak")
    attempt, challenge = made.attempt, made.challenge
    found = read_findings(folder, seed=4, prior="weak")
    for one, other in zip(made.found.surfaces.each, found.surfaces.each, strict=True):
        assert (one.coefficients == other.coefficients).all()
    assert (attempt.seed, attempt.prior, attempt.fingerprint) == (4, "weak", found.fingerprint)
    assert demand == Demand(attempt.reliability, attempt.confidence, attempt.failures, 2)
    assert len(made.risks) == 2 and made.risks[1].share == 0.8

    assert found.setpoint is not None and attempt.setpoint == found.setpoint.settings
    at_corners = challenge.settings[challenge.corner].tolist()
    assert [list(corner) for corner in attempt.corners] == at_corners and len(at_corners) >= 2
    rng = generator(4, "chance to pass", 0)
    chance = chance_to_pass(found.goodness, challenge, demand, lot="", rng=rng)
    assert made.chance == chance and attempt.chance == chance.both

    before = read_plan(folder)
    added = made.longer.shots[len(before.shots) :]
    assert made.longer.shots[: len(before.shots)] == before.shots
    fitted = [shot for shot in added if shot.kind != "warm-up"]
    assert attempt.shots == tuple(shot.shot for shot in fitted)
    assert [shot.settings for shot in fitted] == [tuple(s) for s in challenge.settings.tolist()]
    # each group of the challenge is heated up to, also where the last shot before was as hot
    groups = {shot.group for shot in added}
    assert len(groups) == challenge.group[-1] and min(groups) > before.shots[-1].group
    assert {shot.group for shot in added if shot.kind == "warm-up"} == groups
    assert made.minutes == added_minutes(found.study, before, made.longer) > 0


def test_plan_attempt__nothing_demanded__what_the_study_asks_for_with_nine_in_ten(
    tmp_path: Path,
) -> None:
    folder = _told(write_study(tmp_path / "dial", "dial"), "good_from = 0.8")
    attempt = plan_attempt(folder).attempt
    assert (attempt.reliability, attempt.confidence, attempt.failures) == (0.8, 0.9, 0)


def test_plan_attempt__setpoint_at_a_corner_of_its_ranges__no_corner_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_study(tmp_path / "map", "map")
    found = read_findings(folder)
    assert found.setpoint is not None
    own = np.array(found.setpoint.settings)
    there = own + np.array([[0.0, 0.0], [0.1, 0.0], [0.0, 1.0], [0.1, 1.0]])
    monkeypatch.setattr(confirming, "worst_corners", lambda *_: there)
    corners = np.array(plan_attempt(folder, EASY).attempt.corners)
    assert corners[np.lexsort(corners.T)] == pytest.approx(there[1:])


def test_plan_attempt__lot_of_the_study__its_chance_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, lots = _told(write_study(tmp_path / "dial", "dial"), 'material.lot = "L7"'), []

    def told(*args: Any, lot: str, rng: np.random.Generator) -> Chance:
        lots.append(lot)
        return chance_to_pass(*args, lot=lot, rng=rng)

    monkeypatch.setattr(confirming, "chance_to_pass", told)
    plan_attempt(folder, EASY)
    assert lots == ["L7"]


def test_plan_attempt__a_further_one__numbered_and_the_first_is_kept(tmp_path: Path) -> None:
    folder = write_study(tmp_path / "dial", "dial")
    first = plan_attempt(folder, EASY)
    write_attempt(folder, first)
    shoot_open(folder)
    second = plan_attempt(folder, EASY)
    assert (first.attempt.number, second.attempt.number) == (1, 2)
    assert min(second.attempt.shots) > max(first.attempt.shots)
    rng = generator(1, "chance to pass", 1)  # not the luck of the first
    found = second.found
    assert second.chance == chance_to_pass(found.goodness, second.challenge, EASY, lot="", rng=rng)
    write_attempt(folder, second)
    assert read_attempts(folder) == (first.attempt, second.attempt)
    assert {s.block for s in second.longer.shots if s.shot in second.attempt.shots} == {"confirm 2"}


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


@pytest.mark.parametrize(
    ("gone", "told"),
    [
        ({"window": None}, "the fit that failed"),
        ({"setpoint": None}, "There is no setpoint to confirm"),
        ({"ranges": None}, "There is no setpoint to confirm"),
    ],
)
def test_plan_attempt__not_even_likely_in_the_window__says_why(
    gone: dict[str, Any], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_study(tmp_path / "dial", "dial")

    def poor(*args: Path, **words: object) -> Findings:
        return replace(read_findings(*args), **gone)

    monkeypatch.setattr(confirming, "read_findings", poor)
    monkeypatch.setattr(confirming, "fit_failed", lambda found: "the fit that failed")
    with pytest.raises(Unanswerable, match=told):
        plan_attempt(folder, EASY)


def test_plan_attempt__settings_that_are_refused_by_now__refused(tmp_path: Path) -> None:
    folder = _told(write_study(tmp_path / "dial", "dial"), 'material.name = "PVC"')
    with pytest.raises(StudyError, match="confirm: found PVC"):
        plan_attempt(folder, EASY)
