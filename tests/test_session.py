import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from sheets import EYE, GRADES, MASS, edit, read, record, study_in, table, ticking

from shotwindow.doe.errors import StudyError
from shotwindow.doe.journal import JOURNAL, read_journal
from shotwindow.doe.runs import read_runs
from shotwindow.doe.session import Session, open_session
from shotwindow.doe.study import parse_study

GOOD = {"fill (%)": "96", "flash (mm)": "0"}


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    study = study_in(tmp_path)
    times = ticking()
    with open_session(tmp_path, study, who="Ada", clock=lambda: next(times)) as opened:
        yield opened


def sheet(folder: Path) -> dict[int, dict[str, str]]:
    return {int(row["shot"]): row for row in read((folder / "runs.csv").read_bytes())}


def test_accept__each_shot__in_journal_and_run_sheet_at_once(
    session: Session, tmp_path: Path
) -> None:
    for shot in range(1, 9):
        following = session.next_shot()
        assert following is not None and following.shot == shot
        record(session, [shot], fill="96,5", flash="none")
        assert read_journal(tmp_path)[-1].shot == shot
        assert sheet(tmp_path)[shot]["status"] == "ok"
    assert session.next_shot() is None
    last = sheet(tmp_path)[8]
    assert (last["fill (%)"], last["flash (mm)"], last["by"]) == ("96.5", "0", "Ada")
    assert last["made_at"].startswith("2025-03-01T")
    assert [entry.seq for entry in session.entries] == list(range(1, len(session.entries) + 1))


def test_accept__wrong_answers__all_named_and_nothing_taken(
    session: Session, tmp_path: Path
) -> None:
    before = (tmp_path / JOURNAL).read_bytes()
    with pytest.raises(StudyError) as caught:
        session.accept(3, {"fill (%)": "101"})
    places = [problem.place for problem in caught.value.problems]
    assert places == ['shot 3, "fill (%)"', 'shot 3, "flash (mm)"']
    assert (tmp_path / JOURNAL).read_bytes() == before


def test_accept__recorded_already__refused(session: Session) -> None:
    record(session, [3])
    with pytest.raises(StudyError, match=r"recorded already \(ok\)"):
        session.accept(3, GOOD)
    with pytest.raises(StudyError, match="a shot of the plan, 1 to 8"):
        session.accept(9, GOOD)


def test_accept__questionable__only_when_sure(tmp_path: Path) -> None:
    values = {"mass 1 (g)": "2.1", "mass 2 (g)": "3.9", "flash (mm)": "0"}
    with open_session(tmp_path, study_in(tmp_path, MASS)) as session:
        assert len(session.questions(3, values)) == 1
        with pytest.raises(StudyError, match="a wrong full mass"):
            session.accept(3, values)
        session.accept(3, values, sure=True)
        assert session.row(3).fill == (2.1, 3.9)


def test_undo__back_to_the_beginning(session: Session, tmp_path: Path) -> None:
    states = [session.rows]
    record(session, [1, 2, 3])
    states += [session.at(2), session.at(3), session.rows]
    session.note(3, "cold")
    states.append(session.rows)
    session.void(3, "no charge")
    for expected in reversed(states):
        assert session.undo() is not None
        assert session.rows == expected
    assert session.undo() is None
    assert {row["status"] for row in sheet(tmp_path).values()} == {""}
    assert [entry.undoes for entry in session.entries[-5:]] == [6, 5, 4, 3, 2]


def test_undo__after_undo_and_new_entry__takes_the_new_one(session: Session) -> None:
    record(session, [1, 2])
    session.undo()
    record(session, [2])
    undone = session.undo()
    assert undone is not None and undone.seq == 5
    assert [row.outcome for row in session.rows[:2]] == ["ok", "open"]


def test_at__every_entry__the_rows_as_they_were(session: Session) -> None:
    seen = [session.rows]
    for act in (
        lambda: session.accept(3, GOOD),
        lambda: session.change(3, {"fill (%)": "95"}),
        lambda: session.void(3, "no charge"),
        lambda: session.reopen([3]),
        lambda: session.no_part(3),
        lambda: session.skip([4, 5], "no time"),
        lambda: session.undo(),
    ):
        act()
        seen.append(session.rows)
    assert [session.at(seq) for seq in range(1, len(seen) + 1)] == seen


def test_void__needs_a_reason(session: Session) -> None:
    record(session, [3])
    with pytest.raises(StudyError, match="say in the note why"):
        session.void(3, " ")
    session.void(3, "no charge")
    row = session.row(3)
    assert (row.outcome, row.note, row.fill) == ("void", "no charge", (96.0,))


def test_void__shot_that_was_spoiled__made_but_not_fitted(session: Session) -> None:
    session.void(3, "no charge")
    assert session.row(3).made_at
    following = session.next_shot()
    assert following is not None and following.shot == 1


def test_reopen__void_shot__to_be_made_again_with_the_reason_kept(session: Session) -> None:
    record(session, [3])
    session.void(3, "no charge")
    session.reopen([3])
    assert (session.row(3).outcome, session.row(3).note) == ("open", "no charge")
    record(session, [3], fill="97")
    assert session.row(3).fill == (97.0,)


def test_no_part__data_without_readings(session: Session) -> None:
    session.no_part(3, "stuck in the nozzle")
    assert session.row(3).is_fitted
    assert session.row(3).note == "stuck in the nozzle"


def test_change__recorded_cells(session: Session, tmp_path: Path) -> None:
    record(session, [3])
    saved = session.change(3, {"fill (%)": "95 %", "lot": "B 77", "actual pressure (bar)": "3,05"})
    assert saved.values == {3: {"fill (%)": "95", "lot": "B 77", "actual pressure (bar)": "3.05"}}
    assert session.row(3).actual == (3.05, None)
    entries = len(session.entries)
    session.change(3, {"fill (%)": "95.0"})
    assert len(session.entries) == entries  # nothing changed


def test_note__added_not_replaced_and_any_text(session: Session, tmp_path: Path) -> None:
    session.note(3, 'gate "left", cold\nslow')
    session.note(3, "odd \udcff byte")
    assert sheet(tmp_path)[3]["note"] == 'gate "left", cold\nslow; odd ? byte'
    assert read_runs(tmp_path, session.study) == session.rows


def test_draft__kept_over_a_restart_and_not_in_the_run_sheet(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    before = (tmp_path / "runs.csv").read_bytes()
    with open_session(tmp_path, study) as session:
        session.draft(3, "fill (%)", "96")
        with pytest.raises(StudyError, match="shows as flash"):
            session.draft(3, "fill (%)", "960")
    assert (tmp_path / "runs.csv").read_bytes() == before
    with open_session(tmp_path, study) as session:
        assert session.typed(3) == {"fill (%)": "96"}
        session.accept(3, {**session.typed(3), "flash (mm)": "0"})
        assert session.typed(3) == {}
        assert session.undo() is not None
        assert session.row(3).outcome == "open"


def test_change__shot_that_is_not_planned__said(session: Session) -> None:
    for ask in (session.questions, session.change):
        with pytest.raises(StudyError, match="a shot of the plan, 1 to 8"):
            ask(9, GOOD)


def test_accept__recorded_by_hand_meanwhile__not_written_over(
    session: Session, tmp_path: Path
) -> None:
    edit(tmp_path, 3, {"fill (%)": "91", "flash (mm)": "0"})
    with pytest.raises(StudyError, match="recorded already"):
        session.accept(3, GOOD)
    assert session.row(3).fill == (91.0,)


def outcomes(session: Session) -> list[str]:
    return [row.outcome for row in session.rows]


@pytest.mark.parametrize(
    ("text", "flash"), [(EYE, {"flash (mm)": "0.5"}), (GRADES, {"flash (grade)": "3"})]
)
def test_accept__heavy_flash__later_shots_as_high_are_skipped(
    text: str, flash: dict[str, str], tmp_path: Path
) -> None:
    with open_session(tmp_path, study_in(tmp_path, text)) as session:
        # Shot 4 is at 4.0 bar and 210 degC; 5, 7 and 8 are nowhere lower, 6 has less pressure.
        saved = session.accept(4, {"fill (%)": "full", **flash})
        assert saved.skipped == (5, 7, 8)
        skipped = ["open", "open", "open", "ok", "skipped", "open", "skipped", "skipped"]
        assert outcomes(session) == skipped
        assert session.row(7).note == "skipped: heavy flash at shot 4"
        session.reopen([7])
        assert session.row(7).outcome == "open"
        session.undo()
        session.undo()
        assert set(outcomes(session)) == {"open"}


def test_accept__heavy_flash_overruled__nothing_skipped(session: Session) -> None:
    saved = session.accept(4, {"fill (%)": "full", "flash (mm)": "0.5"}, keep_hot=True)
    assert saved.skipped == ()
    assert outcomes(session).count("open") == 7


def test_note__on_a_heavily_flashed_shot__skips_nothing_again(session: Session) -> None:
    saved = session.accept(4, {"fill (%)": "full", "flash (mm)": "0.5"})
    session.reopen(saved.skipped)
    session.note(4, "left gate")
    assert outcomes(session).count("skipped") == 0


def test_accept__flash_below_heavy__nothing_skipped(session: Session) -> None:
    assert session.accept(4, {"fill (%)": "full", "flash (mm)": "0.48"}).skipped == ()


def test_take_table__all_or_nothing_and_good_rows(session: Session, tmp_path: Path) -> None:
    record(session, [3])
    rows = [
        {"shot": "4", "fill (%)": "97", "flash (mm)": "0"},
        {"shot": "5", "fill (%)": "970", "flash (mm)": "0"},
        {"shot": "6", "fill (%)": "", "flash (mm)": ""},
    ]
    before = session.rows
    with pytest.raises(StudyError, match=r'mine.csv, row 3, "fill \(%\)" \(B3\): found 970'):
        session.take_table("mine.csv", table(rows))
    assert session.rows == before
    saved = session.take_table("mine.csv", table(rows, ";"), take_good=True)
    assert list(saved.values) == [4]
    assert len(saved.refused) == 1
    assert [row.outcome for row in session.rows[2:6]] == ["ok", "ok", "open", "open"]
    assert session.entries[-1].action == "import"
    again = session.take_table("mine.csv", table(rows[:1]))
    assert again.values == {}


def test_take_table__heavy_flash__open_shots_as_high_are_skipped(session: Session) -> None:
    rows = [{"shot": "4", "fill (%)": "full", "flash (mm)": "0.6"}]
    assert session.take_table("mine.csv", table(rows)).skipped == (5, 7, 8)


def test_take_table__own_column__undone_again(session: Session, tmp_path: Path) -> None:
    before = (tmp_path / "runs.csv").read_bytes()
    session.take_table("mine.csv", table([{"shot": "4", **GOOD, "photo": "a.jpg"}]))
    assert sheet(tmp_path)[4]["photo"] == "a.jpg"
    session.undo()
    assert (tmp_path / "runs.csv").read_bytes() == before


def test_take_edits__by_hand__shown_journalled_and_kept(session: Session, tmp_path: Path) -> None:
    record(session, [3])
    edit(tmp_path, 3, {"fill (%)": "95,5 %"})
    edit(tmp_path, 4, {"fill (%)": "97", "flash (mm)": "0.5", "note": "by hand"})
    saved = session.take_edits()
    assert saved.values == {
        3: {"fill (%)": "95.5"},
        4: {"fill (%)": "97", "flash (mm)": "0.5", "note": "by hand"},
    }
    assert saved.skipped == (5, 7, 8)
    assert [entry.action for entry in session.entries[-2:]] == ["edit", "skip"]
    assert session.row(4).note == "by hand"
    assert session.take_edits().values == {}


def test_take_edits__wrong__named_and_the_file_left_alone(session: Session, tmp_path: Path) -> None:
    edit(tmp_path, 3, {"fill (%)": "much"})
    edit(tmp_path, 4, {"pressure (bar)": "4.2"})
    data = (tmp_path / "runs.csv").read_bytes()
    with pytest.raises(StudyError) as caught:
        session.accept(5, GOOD)
    assert len(caught.value.problems) == 3  # the reading, the flash that lacks, the setting
    assert (tmp_path / "runs.csv").read_bytes() == data
    assert session.row(5).outcome == "open"


def test_accept__edited_meanwhile__both_kept(session: Session, tmp_path: Path) -> None:
    edit(tmp_path, 4, {"note": "by hand"})
    saved = session.accept(3, GOOD)
    assert saved.edited == {4: {"note": "by hand"}}
    assert sheet(tmp_path)[4]["note"] == "by hand"
    assert sheet(tmp_path)[3]["status"] == "ok"


def test_take_edits__old_copy_saved_over_it__nothing_lost(session: Session, tmp_path: Path) -> None:
    old = (tmp_path / "runs.csv").read_bytes()
    record(session, [1, 2, 3])
    (tmp_path / "runs.csv").write_bytes(old)
    session.take_edits()
    assert [row["status"] for row in sheet(tmp_path).values()][:4] == ["ok", "ok", "ok", ""]
    (tmp_path / "runs.csv").write_bytes(old.replace(b",,\r\n", b",,of today\r\n", 1))
    saved = session.take_edits()
    assert saved.put_back == (1, 2, 3)
    assert sheet(tmp_path)[3]["status"] == "ok"
    assert sheet(tmp_path)[1]["note"] == "of today"


def test_session__crash_between_journal_and_run_sheet__caught_up(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [1, 2])
        behind = (tmp_path / "runs.csv").read_bytes()
        record(session, [3])
        behind_too = (tmp_path / "runs.csv").read_bytes()
        session.change(3, {"fill (%)": "95"})
    ahead = (tmp_path / "runs.csv").read_bytes()
    (tmp_path / "runs.csv").write_bytes(behind_too)
    assert read_runs(tmp_path, study)[2].fill == (95.0,)
    (tmp_path / "runs.csv").write_bytes(behind)
    assert read_runs(tmp_path, study)[2].outcome == "ok"
    with open_session(tmp_path, study) as session:
        session.take_edits()
    assert (tmp_path / "runs.csv").read_bytes() == ahead


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_accept__failing_disk__said_and_nothing_half(
    step: str, session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record(session, [3])
    data = (tmp_path / "runs.csv").read_bytes()

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, refuse)
    with pytest.raises(StudyError, match="No space left on device") as caught:
        session.accept(4, GOOD)
    monkeypatch.undo()
    assert (tmp_path / "runs.csv").read_bytes() == data
    if step == "replace":
        assert "what was entered is safe in the journal" in str(caught.value)
    # With the journal full the shot is not taken; with only runs.csv refused it is safe.
    assert session.row(4).outcome == ("open" if step == "fsync" else "ok")
    record(session, [5])
    assert read_runs(tmp_path, session.study) == session.rows
    assert len(read_journal(tmp_path)) == len(session.entries)


def test_open_session__twice__second_refused_and_nothing_lost(
    session: Session, tmp_path: Path
) -> None:
    record(session, [3])
    with pytest.raises(StudyError, match="one at a time"):
        with open_session(tmp_path, parse_study(EYE)):
            pass
    record(session, [4])
    assert [row.outcome for row in session.rows[2:4]] == ["ok", "ok"]


def test_open_session__torn_line__kept_aside(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [3])
        assert session.torn is None
    with (tmp_path / JOURNAL).open("ab") as journal:
        journal.write(b'{"seq": 3, "time": "2025')
    with open_session(tmp_path, study) as session:
        assert session.torn == '{"seq": 3, "time": "2025'
        assert session.row(3).outcome == "ok"
        record(session, [4])
    assert len(read_journal(tmp_path)) == 3
