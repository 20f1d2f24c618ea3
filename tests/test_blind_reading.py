"""`sheet --blind`, `record --blind` and `surfaces`: the whole way of a grading check."""

import json
from io import BytesIO
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result
from invented_folders import write_study
from openpyxl import load_workbook
from sheets import EYE, GRADES, record, study_in

from shotwindow.cli.main import shotwindow
from shotwindow.doe.blind_lists import GRADING
from shotwindow.doe.errors import StudyError
from shotwindow.doe.journal import read_journal
from shotwindow.doe.session import open_session

SCHEMA = Path(__file__).parent / "reference" / "schemas" / "surfaces.json"
FLASH = {3: "0", 4: "1", 5: "2", 6: "0", 7: "2", 8: "2"}


def call(*words: object, typed: str = "") -> Result:
    result = CliRunner().invoke(shotwindow, [str(word) for word in words], input=typed)
    if result.exception and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A study graded by Ada: three parts within the limit, three over it."""
    with open_session(tmp_path, study_in(tmp_path, GRADES), who="Ada") as session:
        for shot in (1, 2):
            session.accept(shot, {})
        for shot, grade in FLASH.items():
            session.accept(shot, {"fill (%)": "100", "flash (grade)": grade})
    return tmp_path


def listed(folder: Path) -> list[int]:
    """Shots in the order of the list."""
    places = read_journal(folder, GRADING)[0].values
    return sorted(places, key=lambda shot: int(places[shot]["flash (grade)"]))


def test_sheet_blind__labels_only__no_first_reading(folder: Path) -> None:
    made = call("sheet", folder, "--blind", "flash", "--xlsx", "--html", "--parts", 6)
    page = (folder / "out" / "blind-flash.html").read_text("utf-8")
    body = page[page.index("<tbody>") :]
    assert [body.count(f">{shot}-1<") for shot in FLASH] == [1] * 6
    assert body.count('class="reading"></td>') == 6
    assert "blind-flash.html" in made.stdout and "--blind flash --by NAME" in made.stderr
    table = load_workbook(BytesIO((folder / "out" / "blind-flash.xlsx").read_bytes())).active
    rows = list(table.iter_rows(min_row=2, values_only=True))
    assert [row[1] for row in rows] == [f"{shot}-1" for shot in listed(folder)]
    assert {row[2:] for row in rows} == {(None, None)}
    assert table["B2"].number_format == "@"  # a spreadsheet would make a date of 7-1
    assert not table["C2"].protection.locked and table["B2"].protection.locked
    assert table.data_validations.dataValidation[0].formula1 == '"0,1,2,3"'


def test_sheet_blind__again__same_bytes_and_one_entry(folder: Path) -> None:
    data = []
    for _ in range(2):
        call("sheet", folder, "--blind", "flash", "--xlsx", "--html")
        data.append([path.read_bytes() for path in sorted((folder / "out").iterdir())])
    assert data[0] == data[1]
    assert len(read_journal(folder, GRADING)) == 1


def test_sheet_blind__few_parts_pdf_or_one_sided__said(folder: Path) -> None:
    assert "Only 6 parts" in call("sheet", folder, "--blind", "flash").stderr
    assert call("sheet", folder, "--blind", "flash", "--pdf").exit_code == 2
    with pytest.raises(StudyError, match="no short part"):
        call("sheet", folder, "--blind", "fill")


def test_record_blind__asked_in_order_resumed_and_judged(folder: Path) -> None:
    call("sheet", folder, "--blind", "flash")
    order = listed(folder)
    first = call("record", folder, "--blind", "flash", "--by", "Ben", typed="?\n0\n9\n1\nu\n2\nq\n")
    asked = [f"Part {shot}-1   ({place} of 6)" for place, shot in enumerate(order, start=1)]
    assert asked[0] in first.stderr and asked[1] in first.stderr and asked[3] not in first.stderr
    assert "found 9; expected a grade" in first.stderr
    assert "2 of 6 parts are read" in first.stdout and "Grading check" not in first.stdout
    kept = [(e.shot, e.values[e.shot or 0]) for e in read_journal(folder, GRADING)[1:]]
    assert [(shot, cells["flash (grade)"]) for shot, cells in kept] == [
        (order[0], "0"),
        (order[1], "1"),
        (order[1], "2"),
    ]
    grades = [FLASH[shot] for shot in order]
    rest = "".join(f"{grade}\n" for grade in grades[2:])
    again = call("record", folder, "--blind", "flash", "--by", "Ben", typed=rest)
    assert asked[0] not in again.stderr and asked[2] in again.stderr
    same = [("0" in "01") == (grades[0] in "01"), ("2" in "01") == (grades[1] in "01")]
    assert f"Blind, both put {4 + sum(same)} of 6 parts" in again.stdout


def test_sheet_blind__new_list_after_one_that_was_read__said(folder: Path) -> None:
    call("sheet", folder, "--blind", "flash")
    call("record", folder, "--blind", "flash", "--by", "Ben", typed="0\n1\n")
    assert "A new list" not in call("sheet", folder, "--blind", "flash").stderr
    again = call("sheet", folder, "--blind", "flash", "--parts", 4).stderr
    assert "A new list: what Ben read of the list before is kept, but counts no more." in again
    assert "A new list" not in call("sheet", folder, "--blind", "flash", "--seed", 2).stderr


def test_record_blind__from_a_file__verdict_as_json(folder: Path) -> None:
    call("sheet", folder, "--blind", "flash")
    source = folder / "back.csv"
    lines = ["part;flash (grade)", *(f"{shot}-1;{grade}" for shot, grade in FLASH.items())]
    source.write_text("\n".join(lines), encoding="utf-8")
    made = call("record", folder, "--blind", "flash", "--by", "Ben", "--from", source, "--json")
    (check,) = json.loads(made.stdout)["grading"]
    assert (check["agreed"], check["parts"], check["kappa"]) == (6, 6, 1.0)
    # Clopper and Pearson where all agree: 0.025^(1/6)
    assert check["low"] == pytest.approx(0.025 ** (1 / 6), abs=1e-6) and check["high"] == 1.0


def test_record_blind__beside_what_does_not_fit__wrong_usage(folder: Path) -> None:
    for option in ("--web", "--weigh", "--actual"):
        assert call("record", folder, "--blind", "flash", "--by", "Ben", option).exit_code == 2


def test_surfaces__grading_check_shown_and_nothing_else_changed(tmp_path: Path) -> None:
    folder = write_study(tmp_path / "graded", "graded")
    before = [call("surfaces", folder).stdout, json.loads(call("window", folder, "--json").stdout)]
    call("sheet", folder, "--blind", "flash", "--parts", 8)
    assert call("surfaces", folder).stdout == before[0]  # a list alone says nothing yet
    places = read_journal(folder, GRADING)[0].values
    typed = "1\n" * sum(map(len, places.values()))
    call("record", folder, "--blind", "flash", "--by", "Ben", typed=typed)
    after = call("surfaces", folder).stdout
    assert "Grading check of flash: Ben" in after and "Grading check" not in before[0]
    assert "Read again blind" in after
    document = json.loads(call("surfaces", folder, "--json").stdout)
    jsonschema.validate(document, json.loads(SCHEMA.read_text("utf-8")))
    assert [check["by"] for check in document["grading"]] == ["Ben"]
    window = json.loads(call("window", folder, "--json").stdout)
    assert [note for note in window.pop("notes") if "blind" in note]
    before[1].pop("notes")
    assert window == before[1]


def test_record_blind__eye__numbers_in_every_way_of_writing(tmp_path: Path) -> None:
    with open_session(tmp_path, study_in(tmp_path, EYE), who="Ada") as session:
        for shot, fill in {3: "96", 4: "100"}.items():
            record(session, [shot], fill=fill)
    call("sheet", tmp_path, "--blind", "fill")
    call("record", tmp_path, "--blind", "fill", "--by", "Ben", typed="95,5 %\nfull\n")
    values = [e.values for e in read_journal(tmp_path, GRADING)[1:]]
    assert [text for v in values for cells in v.values() for text in cells.values()] == [
        "95.5",
        "full",
    ]
