"""Suggested shots as a plan that goes on: from where the press stands, what blocks, what is edited.

What is chosen is held by test_next_shots; here it is what becomes of it in a study's folder.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from invented_folders import shoot_open, write_study
from invented_shots import STUDIES

from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.runs import read_plan, write_plan
from shotwindow.doe.session import open_session
from shotwindow.doe.study import read_study
from shotwindow.models.next_shots import Batch
from shotwindow.reports import suggesting
from shotwindow.reports.suggesting import Suggested, edited, settings_table, suggest


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_study(tmp_path / "dial", "dial")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Suggested:
    """Return what is suggested for a study with a slow setting; to be read only."""
    return suggest(write_study(tmp_path_factory.mktemp("told") / "map", "map"), shots=3)


def test_suggest__shots__at_the_end_of_the_plan_in_the_order_of_the_batch(told: Suggested) -> None:
    made, before = told.longer.shots, told.plan.shots
    assert made[: len(before)] == before
    added = [shot for shot in made[len(before) :] if shot.kind != "warm-up"]
    assert [shot.settings for shot in added] == [shot.settings for shot in told.batch.shots]
    assert {shot.kind for shot in added} == {"next"} and len(added) == 3
    assert {shot.block for shot in added} == {before[-1].block}  # the day goes on
    # a new group is a change of the slow setting, with warm-up shots first
    melt = [before[-1].settings[1], *(shot.settings[1] for shot in added)]
    groups = [before[-1].group, *(shot.group for shot in added)]
    assert all(
        (a != b) == (g != h) for a, b, g, h in zip(melt, melt[1:], groups, groups[1:], strict=False)
    )
    assert told.minutes >= 3 * told.found.study.time.shot_min and told.still_open == 0


def test_suggest__planned_and_not_made__counted_and_not_suggested_again(folder: Path) -> None:
    first = suggest(folder, shots=2)
    write_plan(folder, first.found.study, first.longer)
    again = suggest(folder, shots=2)
    assert again.still_open == 2
    assert not {s.settings for s in again.batch.shots} & {s.settings for s in first.batch.shots}


def test_suggest__press_was_off__another_block_a_new_group_and_more_minutes(folder: Path) -> None:
    warm, cold = suggest(folder, shots=1), suggest(folder, shots=1, cold=True)
    assert warm.longer.shots[-1].group == warm.plan.shots[-1].group
    assert cold.longer.shots[-1].group > cold.plan.shots[-1].group
    assert cold.longer.shots[-1].block == "2" and warm.longer.shots[-1].block == "1"
    study = cold.found.study
    assert len(cold.longer.shots) - len(cold.plan.shots) == 1 + study.time.warm_up_shots
    time = study.time
    assert warm.minutes == time.shot_min
    shots_min = (1 + time.warm_up_shots) * time.shot_min
    assert cold.minutes == time.start_up_min + shots_min + time.clean_up_min


def test_suggest__block_names_in_use__the_next_free_one(folder: Path) -> None:
    made = suggest(folder, shots=1, cold=True)
    blocks = [replace(shot, block="3") if shot.block == "2" else shot for shot in made.longer.shots]
    write_plan(folder, made.found.study, replace(made.longer, shots=tuple(blocks)))
    shoot_open(folder)
    # two blocks, "1" and "3": the third would be "3"
    assert suggest(folder, shots=1, cold=True).longer.shots[-1].block == "4"


def test_suggest__no_shot_asked_for__refused(folder: Path) -> None:
    with pytest.raises(StudyError, match="next --shots: found 0; expected 1 or more"):
        suggest(folder, shots=0)


def test_suggest__fit_without_a_window__says_so(
    folder: Path, told: Suggested, monkeypatch: pytest.MonkeyPatch
) -> None:
    failed = replace(told.found, window=None)
    monkeypatch.setattr(suggesting, "read_findings", lambda *_, **__: failed)
    with pytest.raises(Unanswerable):
        suggest(folder, shots=1)


def test_suggest__nothing_new_left__says_so_and_suggests_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    nothing = Batch((), 0.1, 0.1, (), nothing_good=False)
    monkeypatch.setattr(suggesting, "choose_next", lambda *_, **__: nothing)
    with pytest.raises(Unanswerable, match="no new setting is left: every mark"):
        suggest(folder, shots=1)


def test_suggest__reference_under_heavy_flash_seen__refused(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(suggesting, "has_heavy_flash", lambda study, row: True)
    with pytest.raises(Unanswerable, match="no reference shot: a shot with heavy flash"):
        suggest(folder, shots=1, cold=True, reference=True)


def test_suggest__heavy_flash_recorded__nothing_as_high_is_suggested(folder: Path) -> None:
    with open_session(folder, read_study(folder)) as session:
        last = session.rows[-1]
        session.change(last.shot, {session.layout.flash[0]: "2.0"}, sure=True)
    made = suggest(folder, shots=4)
    lowest = min(
        row.settings[0] for row in made.found.rows if row.flash and (row.flash[0] or 0) == 2.0
    )
    assert max(shot.settings[0] for shot in made.batch.shots) < lowest


def test_edited__other_settings__take_the_place_of_the_suggested(told: Suggested) -> None:
    plan = edited(told, np.array([[3.5, 220.0], [4.0, 231.0]]))
    added = [s for s in plan.shots[len(told.plan.shots) :] if s.kind != "warm-up"]
    assert [s.settings for s in added] == [(3.5, 220.0), (4.0, 231.0)]
    assert added[1].group == added[0].group + 1  # another melt temperature


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([[3.55, 220.0]], 'shot 1, "pressure (bar)": found 3.55; expected a mark: 3 and steps'),
        ([[3.5, 220.0], [3.5, 220.5]], 'shot 2, "melt temperature (degC)": found 220.5'),
        ([], "the shots to make next: found no shot; expected one or more"),
        ([[9.0, 220.0]], "of further shots"),
    ],
)
def test_edited__off_the_marks_or_the_limits_or_nothing__refused(
    rows: list[list[float]], said: str, told: Suggested
) -> None:
    with pytest.raises(StudyError) as caught:
        edited(told, np.array(rows).reshape(-1, 2))
    assert said in str(caught.value)


def test_edited__all_that_is_wrong__told_at_once(told: Suggested) -> None:
    with pytest.raises(StudyError) as caught:
        edited(told, np.array([[3.55, 220.4], [3.5, 220.0]]))
    assert len(caught.value.problems) == 2


def test_settings_table__headed_as_runs_csv(told: Suggested) -> None:
    table = settings_table(told.found.study, [(3.5, 220.0), (4.0, 231.0)])
    assert table == "pressure (bar),melt temperature (degC)\n3.5,220\n4,231\n"


def test_suggest__plan_in_the_folder__is_not_written(folder: Path) -> None:
    before = (folder / "plan.json").read_bytes()
    made = suggest(folder, shots=1)
    assert (folder / "plan.json").read_bytes() == before and made.plan == read_plan(folder)
    assert STUDIES["dial"][0] == (folder / "study.toml").read_text(encoding="utf-8")
