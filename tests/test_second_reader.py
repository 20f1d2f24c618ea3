"""What a second person reads is kept apart, and nothing of the study hangs on it."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import Workbook
from sheets import record, study_in, table

from shotwindow.doe.blind_lists import GRADING, draw_parts, keep_list
from shotwindow.doe.errors import StudyError
from shotwindow.doe.journal import JOURNAL, append_entry, read_journal
from shotwindow.doe.regrading import regraded
from shotwindow.doe.second_reader import SecondReader
from shotwindow.doe.session import open_session
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell
from shotwindow.reports.sheet_files import write_blind_list

FIRST = {3: "94", 4: "96", 5: "98", 6: "100", 7: "100", 8: "full"}


@pytest.fixture
def study(tmp_path: Path) -> Iterator[Study]:
    """A study that Ada recorded, with a list of all its parts."""
    made = study_in(tmp_path)
    with open_session(tmp_path, made, who="Ada") as session:
        record(session, [1, 2])
        for shot, fill in FIRST.items():
            record(session, [shot], fill=fill)
        parts = draw_parts(made, session.layout, session.rows, "fill", count=6, seed=1)
        keep_list(tmp_path, session, "fill", parts)
    yield made


def read_again(folder: Path, study: Study, who: str, texts: dict[int, str]) -> None:
    with open_session(folder, study, who=who) as session:
        reader = SecondReader(folder, session, "fill")
        for part in reader.listed.parts:
            if part.shot in texts:
                reader.take({part: reader.checked(part, Cell(texts[part.shot], 0, 0))})


def test_take__beside_the_first_readings_and_no_result_changed(
    study: Study, tmp_path: Path
) -> None:
    before = [(tmp_path / name).read_bytes() for name in (JOURNAL, "runs.csv")]
    read_again(tmp_path, study, "Ben", {3: "94", 4: "100", 5: "99,5 %", 6: "97", 7: "full"})
    assert [(tmp_path / name).read_bytes() for name in (JOURNAL, "runs.csv")] == before
    (found,) = regraded(tmp_path, study)
    assert (found.response, found.who, found.first_by, found.left) == ("fill", "Ben", ("Ada",), 1)
    pairs = {p.part.shot: (p.first, p.second, p.first_good, p.second_good) for p in found.pairs}
    assert pairs == {
        3: (94.0, 94.0, False, False),
        4: (96.0, 100.0, False, True),
        5: (98.0, 99.5, False, False),
        6: (100.0, 97.0, True, False),
        7: (100.0, "full", True, True),
    }


def test_take__read_anew__newest_counts_and_both_are_kept(study: Study, tmp_path: Path) -> None:
    read_again(tmp_path, study, "Ben", {3: "94"})
    read_again(tmp_path, study, "Ben", {3: "100"})
    read_again(tmp_path, study, "Ben", {3: "100"})
    assert [pair.second for pair in regraded(tmp_path, study)[0].pairs] == [100.0]
    assert [e.action for e in read_journal(tmp_path, GRADING)] == ["list", "grade", "grade"]


def test_take__two_persons__each_beside_the_first(study: Study, tmp_path: Path) -> None:
    read_again(tmp_path, study, "Ben", {3: "94"})
    read_again(tmp_path, study, "Cem", {3: "100", 4: "100"})
    found = {one.who: len(one.pairs) for one in regraded(tmp_path, study)}
    assert found == {"Ben": 1, "Cem": 2}


def test_regraded__first_reading_corrected_after__the_old_one_counts(
    study: Study, tmp_path: Path
) -> None:
    read_again(tmp_path, study, "Ben", {4: "100"})
    with open_session(tmp_path, study, who="Ada") as session:
        session.change(4, {"fill (%)": "100"})
    assert [pair.first for pair in regraded(tmp_path, study)[0].pairs] == [96.0]


def test_regraded__new_list__begins_anew(study: Study, tmp_path: Path) -> None:
    read_again(tmp_path, study, "Ben", {4: "100"})
    with open_session(tmp_path, study, who="Ada") as session:
        parts = draw_parts(study, session.layout, session.rows, "fill", count=4, seed=2)
        keep_list(tmp_path, session, "fill", parts)
    assert regraded(tmp_path, study) == ()


@pytest.mark.parametrize(("who", "match"), [("", "no name"), ("ADA", "a second person")])
def test_reader__nobody_or_the_first_person__refused(
    who: str, match: str, study: Study, tmp_path: Path
) -> None:
    with open_session(tmp_path, study, who=who) as session:
        with pytest.raises(StudyError, match=match):
            SecondReader(tmp_path, session, "fill")


def test_reader__no_list__says_how_to_draw_one(study: Study, tmp_path: Path) -> None:
    with open_session(tmp_path, study, who="Ben") as session:
        with pytest.raises(StudyError, match="--blind flash"):
            SecondReader(tmp_path, session, "flash")


def take_file(folder: Path, study: Study, data: bytes) -> int:
    with open_session(folder, study, who="Ben") as session:
        return len(SecondReader(folder, session, "fill").take_table("back.csv", data))


def test_take_table__filled_in_list__empty_cells_are_left(study: Study, tmp_path: Path) -> None:
    rows = [
        {"note": "cold", "Part": "4-1", "fill(%)": "95,5"},
        {"Part": "3-1", "fill(%)": ""},
        {"Part": "8-1", "fill(%)": "short"},
    ]
    assert take_file(tmp_path, study, table(rows, ";")) == 2
    (found,) = regraded(tmp_path, study)
    assert {pair.part.label: pair.second for pair in found.pairs} == {"4-1": 95.5, "8-1": "short"}
    assert found.left == 4


def test_take_table__wrong_cells__all_named_and_nothing_taken(study: Study, tmp_path: Path) -> None:
    rows = [
        {"part": "4-1", "fill (%)": "much"},
        {"part": "9-1", "fill (%)": "95"},
        {"part": "5-1", "fill (%)": "95"},
        {"part": "5-1", "fill (%)": "96"},
        {"part": "6-1", "fill (%)": "1,250"},
    ]
    with pytest.raises(StudyError) as caught:
        take_file(tmp_path, study, table(rows, ";"))
    said = [str(problem) for problem in caught.value.problems]
    assert [line.split(":")[0] for line in said] == [
        'back.csv, row 2, "fill (%)" (B2)',
        'back.csv, row 3, "part" (A3)',
        'back.csv, row 5, "part" (A5)',
        'back.csv, row 6, "fill (%)" (B6)',
    ]
    assert regraded(tmp_path, study) == ()


def test_take_table__no_such_column__said(study: Study, tmp_path: Path) -> None:
    with pytest.raises(StudyError, match=r'a column "fill \(%\)"'):
        take_file(tmp_path, study, table([{"part": "4-1", "grade": "95"}]))


def test_take_table__label_that_became_a_date__said_what_to_do(
    study: Study, tmp_path: Path
) -> None:
    from datetime import date

    book = Workbook()
    for row in (["part", "fill (%)"], [date(2025, 1, 4), 95]):
        book.active.append(row)
    file = BytesIO()
    book.save(file)
    with pytest.raises(StudyError, match="apostrophe: '7-2"):
        take_file(tmp_path, study, file.getvalue())


def test_grading_file__torn_by_a_crash__goes_on(study: Study, tmp_path: Path) -> None:
    read_again(tmp_path, study, "Ben", {3: "94"})
    with (tmp_path / GRADING).open("ab") as file:
        file.write(b'{"seq": 3, "ti')
    read_again(tmp_path, study, "Ben", {4: "95"})
    assert len(regraded(tmp_path, study)[0].pairs) == 2
    assert (tmp_path / "journal.torn").read_bytes() == b'{"seq": 3, "ti\n'


def test_grading_file__of_another_study__refused(study: Study, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    made = study_in(other)
    entry = read_journal(tmp_path, GRADING)[0]
    append_entry(other, entry, GRADING)
    append_entry(
        other, type(entry)(2, "", "Ben", "grade", 3, {3: {"fill (%)": "95"}}, entry.runs), GRADING
    )
    with pytest.raises(StudyError, match="a list of another study"):
        regraded(other, made)


def test_grading_file__journal_gone__refused(study: Study, tmp_path: Path) -> None:
    read_again(tmp_path, study, "Ben", {3: "94"})
    (tmp_path / JOURNAL).unlink()
    with pytest.raises(StudyError, match="or draw a new list"):
        regraded(tmp_path, study)
    write_blind_list(tmp_path, ["html"], "a4", "fill", count=4, seed=1)
    assert regraded(tmp_path, study) == ()
