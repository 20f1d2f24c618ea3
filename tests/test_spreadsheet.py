import io
import zipfile
from datetime import datetime, time
from typing import Any

import pytest
from openpyxl import Workbook

from shotwindow.doe.errors import StudyError
from shotwindow.doe.tables import Cell, read_table


def saved(book: Workbook) -> bytes:
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def cell_of(value: Any, number_format: str = "General") -> Cell:
    book = Workbook()
    sheet = book.active
    sheet.append(["shot", "fill (%)"])
    sheet.append([1, value])
    sheet["B2"].number_format = number_format
    return read_table("runs.xlsx", saved(book)).rows[0][1]


@pytest.mark.parametrize(
    ("value", "number_format", "text", "kind"),
    [
        (96, "General", "96", "number"),
        (2.05, "0.00", "2.05", "number"),
        (0.57, "0%", "57%", "number"),
        ("0,85", "General", "0,85", "text"),
        ("\u00a095 %\u00a0", "General", "95 %", "text"),
        (True, "General", "TRUE", "text"),
        (datetime(2025, 2, 1), "d-mmm", "2025-02-01", "date"),
        (datetime(2025, 2, 1, 9, 30), "yyyy-mm-dd hh:mm", "2025-02-01T09:30:00", "date"),
        (time(1, 2), "h:mm", "01:02:00", "date"),
        ("=A2*2", "General", "a formula", "formula"),
        ("#DIV/0!", "General", "#DIV/0!", "error"),
    ],
)
def test_read_sheets__each_kind_of_cell(
    value: Any, number_format: str, text: str, kind: str
) -> None:
    cell = cell_of(value, number_format)
    assert (cell.text, cell.kind) == (text, kind)


def test_read_sheets__percent_format__number_as_shown() -> None:
    assert cell_of(0.57, "0.0%").number == 57.0  # 0.57 * 100 is 56.99999999999999


def test_read_sheets__formatted_empty_rows__left_out() -> None:
    book = Workbook()
    sheet = book.active
    sheet.append(["shot", "fill (%)"])
    sheet.append([1, 96])
    sheet["B30"].number_format = "0.00"
    sheet["A31"] = " "
    sheet["A32"] = 2
    rows = read_table("runs.xlsx", saved(book)).rows
    assert [row[0].row for row in rows] == [2, 32]


def test_read_sheets__several_sheets__the_one_with_shots() -> None:
    book = Workbook()
    book.active.append(["read me first"])
    book.create_sheet("results").append(["shot", "fill (%)"])
    table = read_table("mine.xlsx", saved(book))
    assert table.sheet == "results"
    assert table.place(7, "fill (%)", 2) == 'mine.xlsx, sheet "results", row 7, "fill (%)" (B7)'


def test_read_sheets__two_with_shots__runs_or_a_question() -> None:
    book = Workbook()
    book.active.append(["shot"])
    book.create_sheet("second").append(["shot"])
    with pytest.raises(StudyError, match="Sheet, second"):
        read_table("mine.xlsx", saved(book))
    book["second"].title = "runs"
    assert read_table("mine.xlsx", saved(book)).sheet == "runs"


def test_read_sheets__size_stored_too_small__all_cells() -> None:
    # Some programs store a <dimension> of one cell; trusting it would lose every reading.
    book = Workbook()
    book.active.append(["shot", "fill (%)"])
    book.active.append([1, 96])
    before, after = io.BytesIO(saved(book)), io.BytesIO()
    with zipfile.ZipFile(before) as old, zipfile.ZipFile(after, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b'ref="A1:B2"', b'ref="A1"'))
    assert len(read_table("runs.xlsx", after.getvalue()).rows[0]) == 2


def test_read_sheets__zip_of_something_else__said() -> None:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as box:
        box.writestr("a.txt", "a")
    with pytest.raises(StudyError, match="cannot be read as a spreadsheet"):
        read_table("runs.xlsx", data.getvalue())
