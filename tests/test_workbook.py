"""The spreadsheet: the headings of runs.csv, what is planned locked, and back without a loss."""

from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from invented_shots import STUDIES, planned, recorded, study
from openpyxl import load_workbook

from shotwindow.doe.columns import columns, standard_layout
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_runs, write_plan
from shotwindow.doe.session import open_session
from shotwindow.reports.workbook import workbook


def _book(name: str, rows: tuple[Row, ...]) -> Any:
    made = study(name)
    return load_workbook(BytesIO(workbook(made, standard_layout(made), rows, ["Hot."])))


def test_workbook__headings__are_those_of_runs_csv() -> None:
    table = _book("cube", recorded("cube"))["runs"]
    assert tuple(cell.value for cell in table[1]) == columns(study("cube"))
    assert table.max_row == len(recorded("cube")) + 1


def test_workbook__planned_cells__are_locked_and_the_others_open() -> None:
    table = _book("map", recorded("map"))["runs"]
    heads = [cell.value for cell in table[1]]
    locked = {head for head, cell in zip(heads, table[3], strict=True) if cell.protection.locked}
    assert table.protection.sheet
    assert locked == {"shot", "block", "group", "kind", "pressure (bar)", "melt temperature (degC)"}


def test_workbook__values__are_numbers_as_on_the_dial() -> None:
    table = _book("dial", recorded("dial"))["runs"]
    heads = [cell.value for cell in table[1]]
    cell = table.cell(3, heads.index("pressure (psi)") + 1)
    assert cell.value == recorded("dial")[1].settings[0] and cell.number_format == "0"


def test_workbook__checks__refuse_what_record_would_refuse() -> None:
    checks = _book("graded", recorded("graded"))["runs"].data_validations.dataValidation
    lists = {check.formula1 for check in checks if check.type == "list"}
    assert '"0,1,2,3"' in lists and '"ok,void,no part,skipped"' in lists
    assert any(check.type == "decimal" and check.formula2 == "100" for check in checks)
    assert all(check.allow_blank for check in checks)


def test_workbook__note_like_a_formula__stays_text() -> None:
    rows = list(recorded("dial"))
    rows[2] = replace(rows[2], note='=HYPERLINK("http://x")')
    table = _book("dial", tuple(rows))["runs"]
    cell = table.cell(4, [c.value for c in table[1]].index("note") + 1)
    assert cell.data_type == "s" and cell.value.startswith("=HYPERLINK")


def test_workbook__same_rows__same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    made, rows = study("dial"), recorded("dial")
    first = workbook(made, standard_layout(made), rows, [])
    import time

    monkeypatch.setattr(time, "time", lambda: 2e9)
    assert workbook(made, standard_layout(made), rows, []) == first
    assert load_workbook(BytesIO(first)).properties.modified.year == 1980


def test_workbook__filled_in__is_taken_back_by_record(tmp_path: Path) -> None:
    made = study("map")
    (tmp_path / "study.toml").write_text(STUDIES["map"][0])
    write_plan(tmp_path, made, planned("map"))
    empty = read_runs(tmp_path, made)
    book = load_workbook(BytesIO(workbook(made, standard_layout(made), empty, [])))
    table = book["runs"]
    heads = [cell.value for cell in table[1]]
    for number in range(2, table.max_row + 1):
        table.cell(number, heads.index("status") + 1).value = "ok"
        if table.cell(number, heads.index("kind") + 1).value != "warm-up":
            table.cell(number, heads.index("fill (%)") + 1).value = 96
            table.cell(number, heads.index("flash (mm)") + 1).value = 0.04
    file = BytesIO()
    book.save(file)
    with open_session(tmp_path, made) as session:
        session.take_table("filled.xlsx", file.getvalue())
    taken = [row for row in read_runs(tmp_path, made) if row.kind != "warm-up"]
    assert all(row.fill == (96.0,) and row.flash == (0.04,) for row in taken)
