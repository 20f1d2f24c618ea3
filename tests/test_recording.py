import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from openpyxl import Workbook
from sheets import EYE, MASS, edit, read, record, study_in, table

from shotwindow.cli.main import shotwindow
from shotwindow.doe.errors import StudyError
from shotwindow.doe.journal import read_journal
from shotwindow.doe.runs import read_runs
from shotwindow.doe.session import open_session


def call(*words: object, typed: str = "") -> Result:
    result = CliRunner().invoke(shotwindow, [str(word) for word in words], input=typed)
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def statuses(folder: Path) -> list[str]:
    return [row["status"] for row in read((folder / "runs.csv").read_bytes())]


def test_record__piped_answers__saved_and_resumed(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    first = call("record", tmp_path, "--by", "Ada", typed="\n\n96,5\nnone\n\n95\n")
    assert "5 of 8" not in first.stdout
    assert statuses(tmp_path)[:4] == ["ok", "ok", "ok", ""]
    again = call("record", tmp_path, typed="\n0.04\nsink\nq\n")
    # The answer that was given before the pipe ended is offered and taken with Enter.
    assert "Fill in % (100 is full) [95]:" in again.stderr
    row = read_runs(tmp_path, study)[3]
    assert (row.fill, row.flash, row.other) == ((95.0,), (0.04,), "sink")
    assert "4 of 8 shots are recorded." in again.stdout


def test_record__what_to_set__only_what_changes(tmp_path: Path) -> None:
    study_in(tmp_path)
    said = call("record", tmp_path, typed="\n\n96\n0\n\n96\n0\n\n96\n0\n\nq\n").stderr
    parts = re.split(r"\nShot (?=\d+ of)", said)
    assert "Set pressure to 3 bar\n" in parts[1]
    assert "Set melt temperature to 210 degC, and if it was elsewhere, let it soak 15" in parts[1]
    assert "Leave everything as it is." in parts[2]
    assert "Make the shot and set it aside" in parts[2]
    assert "Set pressure to 4 bar (it was 3)" in parts[4]
    assert "melt temperature" not in parts[4]
    assert "Set melt temperature to 230 degC (it was 210), then let it soak 14 min" in parts[6]


def test_record__result_of_a_warm_up__said_to_be_left_out(tmp_path: Path) -> None:
    study_in(tmp_path)
    said = call("record", tmp_path, typed="98 none\nq\n").stderr
    assert said.count('A warm-up shot has no results, so "98 none" is not taken.') == 1
    assert "is not taken" not in call("record", tmp_path, typed="\nq\n").stderr


def test_record__cautions_come_first(tmp_path: Path) -> None:
    study_in(tmp_path)
    said = call("record", tmp_path).stderr
    assert "face shield" in said.split("Shot 1")[0]


def test_record__wrong_answer__asked_again(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    result = call("record", tmp_path, typed="\n\n960\n\n96\n0\n\n")
    assert "found 960; expected percent from 1 to 100" in result.stderr
    assert "A reading is needed here" in result.stderr
    assert read_runs(tmp_path, study)[2].fill == (96.0,)


def test_record__undo_within_a_shot_and_of_a_shot(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    call("record", tmp_path, typed="\n\n96\n0\nu\nu\n97\n0.02\n\n")
    row = read_runs(tmp_path, study)[2]
    assert (row.fill, row.flash) == ((97.0,), (0.02,))
    call("record", tmp_path, typed="u\n")
    assert statuses(tmp_path)[:3] == ["ok", "ok", ""]


def test_record__key_and_number_together__as_apart(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    call("record", tmp_path, typed="\n\n96\n0\n\nn3\ncold\nV3\nwet\n\n")
    assert (read_runs(tmp_path, study)[2].outcome, read_runs(tmp_path, study)[2].note) == (
        "void",
        "cold; wet",
    )


def test_record__void_then_again(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    call("record", tmp_path, typed="\n\nv\nno charge\ny\n96\n0\n\nv 3\n\nv 3\nwet\n\n")
    row = read_runs(tmp_path, study)[2]
    assert (row.outcome, row.note) == ("void", "no charge; wet")


def test_record__no_part_skip_note_change_back(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    typed = "\n\np\nx\nno time\n96\n0\n\nn 5\ncold\nc 5\n95\n\n\nb 4\nb\nc 3\n?\nq\n"
    said = call("record", tmp_path, typed=typed).stderr
    rows = read_runs(tmp_path, study)
    assert [row.outcome for row in rows[:6]] == ["ok", "ok", "no part", "open", "ok", "open"]
    assert (rows[4].fill, rows[4].note) == ((95.0,), "cold")
    assert "for instance b 7" in said
    assert "Shot 3 has no readings to correct" in said
    assert "v 5" in said


def test_record__questionable_mass__asked_and_refused_or_taken(tmp_path: Path) -> None:
    study = study_in(tmp_path, MASS)
    call("record", tmp_path, typed="\n\n2.1\n3.9\n0\n\nn\n2.0\n\n\n\n1.9\n4.2\n0\n\ny\n")
    rows = read_runs(tmp_path, study)
    assert [row.fill for row in rows[2:4]] == [(2.0, 3.9), (1.9, 4.2)]


@pytest.mark.parametrize(
    ("answer", "status"), [("", "skipped"), ("n", "skipped"), ("y", "")], ids=["enter", "no", "yes"]
)
def test_record__heavy_flash__skips_unless_confirmed(
    tmp_path: Path, answer: str, status: str
) -> None:
    study_in(tmp_path)
    result = call("record", tmp_path, typed=f"\n\n100\n0.6\n\n{answer}\n")
    assert "Make shots 4-8 all the same?" in result.stderr
    assert statuses(tmp_path)[3:] == [status] * 5


def test_record__heavy_flash_and_gone__stays_skipped(tmp_path: Path) -> None:
    study_in(tmp_path)
    call("record", tmp_path, typed="\n\n100\n0.6\n\n")
    assert statuses(tmp_path)[3:] == ["skipped"] * 5


def test_record__actual_settings__asked_until_the_end_once_begun(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    call("record", tmp_path, "--actual", typed="\n\n3,05\n\n96\n0\n\n")
    call("record", tmp_path, typed="\n211\n97\n0\n\n")
    rows = read_runs(tmp_path, study)
    assert [row.actual for row in rows[2:4]] == [(3.05, 210.0), (4.0, 211.0)]


def test_record__edited_run_sheet__shown_or_refused(tmp_path: Path) -> None:
    study_in(tmp_path)
    edit(tmp_path, 3, {"fill (%)": "96", "flash (mm)": "0"})
    assert "shot 3: fill (%) 96, flash (mm) 0" in call("record", tmp_path).stderr
    edit(tmp_path, 4, {"fill (%)": "much"})
    with pytest.raises(StudyError, match="much"):
        call("record", tmp_path)


def test_record__all_recorded__says_what_comes_next(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, range(1, 9))
    result = call("record", tmp_path, typed="\n")
    assert "8 of 8 shots are recorded." in result.stdout
    assert "shotwindow window" in result.stderr


def test_record__json__summary_only_on_stdout(tmp_path: Path) -> None:
    study_in(tmp_path)
    result = call("record", tmp_path, "--json", typed="\n\n96\n0\n\np\n")
    summary = json.loads(result.stdout)
    assert summary["shots"]["ok"] == [1, 2, 3]
    assert summary["shots"]["no part"] == [4]
    assert summary["next"] == 5


ROWS = [
    {"shot": "4", "fill (%)": "97", "flash (mm)": "0"},
    {"shot": "5", "fill (%)": "970", "flash (mm)": "0"},
]


def test_record_from__all_or_nothing_then_good_rows(tmp_path: Path) -> None:
    study_in(tmp_path)
    source = tmp_path / "results.csv"
    source.write_bytes(table(ROWS, ";"))
    with pytest.raises(StudyError, match=r"results.csv, row 3"):
        call("record", tmp_path, "--from", source)
    assert set(statuses(tmp_path)) == {""}
    result = call("record", tmp_path, "--from", source, "--take-good", "--json")
    summary = json.loads(result.stdout)
    assert (summary["taken"], len(summary["left_out"])) == ([4], 1)
    assert "Taken from results.csv: shot 4." in result.stderr
    assert "left out: results.csv, row 3" in result.stderr
    assert read_journal(tmp_path)[-1].action == "import"
    again = call("record", tmp_path, "--from", source, "--take-good")
    assert "Nothing taken from results.csv: apart from what was left out" in again.stderr


def test_record_from__sheet_not_filled_in__not_called_recorded(tmp_path: Path) -> None:
    study_in(tmp_path)
    source = tmp_path / "results.csv"
    source.write_bytes(table([{"shot": "4", "fill (%)": "", "flash (mm)": ""}], ";"))
    said = call("record", tmp_path, "--from", source).stderr
    assert "Nothing taken from results.csv: it is empty, or recorded already." in said


def test_record_from__spreadsheet__corrections_shown(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [3])
    book = Workbook()
    cells: list[list[Any]] = [["shot", "fill (%)", "flash (mm)"], [3, 0.95, 0], [4, 0.97, 0.02]]
    for row in cells:
        book.active.append(row)
    book.active["B2"].number_format = book.active["B3"].number_format = "0%"
    book.save(tmp_path / "results.xlsx")
    result = call("record", tmp_path, "--from", tmp_path / "results.xlsx")
    assert "shot 3, fill (%): 96 became 95" in result.stderr
    rows = read_runs(tmp_path, study)
    assert (rows[2].fill, rows[3].fill) == ((95.0,), (97.0,))


def test_record__take_good_without_a_file__wrong_usage(tmp_path: Path) -> None:
    study_in(tmp_path)
    assert call("record", tmp_path, "--take-good").exit_code == 2


def test_record__another_is_recording__told_what_to_do(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        with pytest.raises(StudyError, match="go on in that window"):
            call("record", tmp_path)
        record(session, [1])
    assert statuses(tmp_path)[0] == "ok"


def test_history__each_change_before_and_after(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study, who="Ada") as session:
        record(session, [3, 4])
        session.change(3, {"fill (%)": "95"})
        session.undo()
    text = call("history", tmp_path, "--shot", "3").stdout
    assert "change shot 3 by Ada" in text
    assert "shot 3, fill (%): 96 -> 95" in text
    assert "undo of entry 4 shot 3 by Ada" in text
    assert "shot 4" not in text
    listed = json.loads(call("history", tmp_path, "--json").stdout)["entries"]
    assert [entry["action"] for entry in listed] == ["plan", "accept", "accept", "change", "undo"]
    assert listed[3]["changes"] == [
        {"shot": 3, "column": "fill (%)", "before": "96", "after": "95"}
    ]


def test_history__answers_that_were_typed__shown_before_their_shot_is_accepted(
    tmp_path: Path,
) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study, who="Ada") as session:
        session.draft(3, "fill (%)", "95")
        session.draft(3, "fill (%)", "")
        session.draft(4, "fill (%)", "96")
    text = call("history", tmp_path, "--shot", "3").stdout
    assert "draft shot 3 by Ada\n        shot 3, fill (%): typed 95" in text
    assert "shot 3, fill (%): typed nothing" in text and "shot 4" not in text
    listed = json.loads(call("history", tmp_path, "--json").stdout)["entries"]
    assert [entry["typed"] for entry in listed[1:]] == [
        {"3": {"fill (%)": "95"}},
        {"3": {"fill (%)": ""}},
        {"4": {"fill (%)": "96"}},
    ]


def test_history_at__the_run_sheet_of_then(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [3])
        then = (tmp_path / "runs.csv").read_bytes()
        record(session, [4])
    assert call("history", tmp_path, "--at", "2").stdout_bytes == then.replace(b"\r\n", b"\n")
    rows = json.loads(call("history", tmp_path, "--at", "2", "--json").stdout)["rows"]
    assert [row["status"] for row in rows] == ["", "", "ok", "", "", "", "", ""]
    with pytest.raises(StudyError, match="an entry from 1 to 3"):
        call("history", tmp_path, "--at", "9")


def test_help__every_option_of_both_commands() -> None:
    assert "--take-good" in call("record", "--help").stdout
    assert "--at ENTRY" in call("history", "--help").stdout


def test_record__material_that_cannot_bear_it__refused_before_the_first_shot(
    tmp_path: Path,
) -> None:
    """Acetal at 230 degC; polyplastics.com, Duracon, cautions in molding: 10 min at the most."""
    study_in(tmp_path, 'material.name = "acetal"\npress.barrel_g = 40\n' + EYE)
    with pytest.raises(StudyError, match="acetal"):
        call("record", tmp_path, typed="\n")
    assert statuses(tmp_path)[0] == ""


def test_record__drying_not_recorded__asked(tmp_path: Path) -> None:
    study_in(tmp_path, 'material.name = "PETG"\n' + EYE)
    assert "PETG without drying" in call("record", tmp_path).stderr.split("Shot 1")[0]
