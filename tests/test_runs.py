from dataclasses import replace
from pathlib import Path

import pytest
from sheets import EYE, SETTINGS, edit, plan, read, record, study_in, table

from shotwindow.doe.columns import columns
from shotwindow.doe.errors import StudyError
from shotwindow.doe.journal import read_journal
from shotwindow.doe.runs import read_plan, read_runs, write_plan
from shotwindow.doe.session import open_session
from shotwindow.doe.study import parse_study


def test_write_plan__run_sheet_and_plan__read_back_the_same(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    assert read_plan(tmp_path) == plan()
    rows = read_runs(tmp_path, study)
    assert tuple(row.settings for row in rows) == tuple(SETTINGS)
    assert [row.shot for row in rows] == list(range(1, 9))
    assert {row.outcome for row in rows} == {"open"}
    sheet = read((tmp_path / "runs.csv").read_bytes())
    assert tuple(sheet[0]) == columns(study)
    assert sheet[4]["pressure (bar)"] == "4.5"
    assert (tmp_path / "runs.csv").read_bytes().endswith(b"\r\n")


def test_write_plan__nothing_recorded__may_be_planned_anew(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    write_plan(tmp_path, study, plan(SETTINGS[:5]))
    assert len(read_runs(tmp_path, study)) == 5
    assert [entry.action for entry in read_journal(tmp_path)] == ["plan", "plan"]


def test_write_plan__over_recorded_shots__refused_and_nothing_lost(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [1, 2, 3])
    before = [(tmp_path / name).read_bytes() for name in ("runs.csv", "plan.json", "journal.jsonl")]
    other = plan([(3.1, 210.0), *SETTINGS[1:]])
    for changed in (other, plan(SETTINGS[:2])):
        with pytest.raises(StudyError, match="recorded shots"):
            write_plan(tmp_path, study, changed)
    after = [(tmp_path / name).read_bytes() for name in ("runs.csv", "plan.json", "journal.jsonl")]
    assert after == before


def test_write_plan__recorded_by_hand_only__refused_too(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    edit(tmp_path, 3, {"fill (%)": "96", "flash (mm)": "0"})
    with pytest.raises(StudyError, match=r"recorded shots \(3\)"):
        write_plan(tmp_path, study, plan([(3.1, 210.0)] * 3))


def test_write_plan__grown_without_a_journal__begins_with_the_old_plan(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    (tmp_path / "journal.jsonl").unlink()
    edit(tmp_path, 3, {"fill (%)": "96", "flash (mm)": "0"})
    write_plan(tmp_path, study, plan([*SETTINGS, (3.2, 230.0)]))
    assert [entry.action for entry in read_journal(tmp_path)] == ["plan", "edit", "plan"]
    assert read_runs(tmp_path, study)[2].outcome == "ok"


def test_write_plan__grown__recorded_shots_kept(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [1, 2, 3])
        session.skip([4], "no time")
        row = {"shot": "3", "fill (%)": "96", "flash (mm)": "0", "photo": "a.jpg"}
        session.take_table("mine.csv", table([row]))
    before = read_runs(tmp_path, study)
    assert before[2].extra == ("a.jpg",)
    write_plan(tmp_path, study, plan([*SETTINGS, (3.2, 230.0)]))
    after = read_runs(tmp_path, study)
    assert after[:8] == before
    assert after[8].settings == (3.2, 230.0)
    assert read_plan(tmp_path).shots[8].settings == (3.2, 230.0)


def test_read_runs__without_a_journal__plan_and_run_sheet_suffice(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [1, 2, 3])
    before = read_runs(tmp_path, study)
    (tmp_path / "journal.jsonl").unlink()
    assert read_runs(tmp_path, study) == before
    with open_session(tmp_path, study) as session:
        session.take_edits()
        record(session, [4])
    assert read_runs(tmp_path, study)[:3] == before[:3]
    actions = [entry.action for entry in read_journal(tmp_path)]
    assert actions == ["plan", "edit", "accept"]


def test_read_runs__without_a_run_sheet__made_again_from_the_journal(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [1, 2, 3])
    data = (tmp_path / "runs.csv").read_bytes()
    before = read_runs(tmp_path, study)
    (tmp_path / "runs.csv").unlink()
    assert read_runs(tmp_path, study) == before
    with open_session(tmp_path, study) as session:
        session.take_edits()
    assert (tmp_path / "runs.csv").read_bytes() == data


def test_read_runs__edited_by_hand__counts_or_names_every_cell(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    edit(tmp_path, 3, {"fill (%)": "96,5", "flash (mm)": "none"})
    assert read_runs(tmp_path, study)[2].fill == (96.5,)
    edit(tmp_path, 4, {"fill (%)": "much"})
    edit(tmp_path, 5, {"status": "void"})
    with pytest.raises(StudyError) as caught:
        read_runs(tmp_path, study)
    assert len(caught.value.problems) == 3


def test_read_runs__no_plan__what_to_do(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="run `shotwindow plan"):
        read_runs(tmp_path, parse_study(EYE))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[factors.melt_temperature]", "[factors.mold_temperature]", "the factors of the plan"),
        ('unit = "bar"', 'unit = "psi"', "the factors of the plan"),
        ("[mold]", '[fill]\nmeasured = "full-or-short"\n[mold]', "the readings of the plan"),
        ("[mold]", '[flash]\nmeasured = "grade"\n[mold]', "the readings of the plan"),
    ],
    ids=["factor", "unit", "fill", "flash"],
)
def test_read_runs__study_changed_after_the_plan__said(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    study_in(tmp_path)
    assert old in EYE
    changed = parse_study(EYE.replace(old, new, 1))
    with pytest.raises(StudyError, match=said):
        read_runs(tmp_path, changed)


@pytest.mark.parametrize("text", ["", "{}", '{"schema": 1, "shots": [1]}', "[]", '{"schema": 9}'])
def test_read_plan__no_plan_in_the_file__said(tmp_path: Path, text: str) -> None:
    (tmp_path / "plan.json").write_text(text)
    with pytest.raises(StudyError, match=r"plan\.json: found"):
        read_plan(tmp_path)


def test_write_plan__kind_and_model_and_seed__stored(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    other = replace(plan(), kind="factorial", model="interactions", seed=7)
    write_plan(tmp_path, study, other)
    assert read_plan(tmp_path) == other
