"""Bytes of an .xlsx file -> the text cells of each of its sheets, as the spreadsheet shows them."""

import io
from datetime import date, datetime
from typing import Any

from shotwindow.doe.errors import StudyError
from shotwindow.doe.tables import Cell


def read_sheets(file: str, data: bytes) -> dict[str, list[list[Cell]]]:
    """Return the cells of every sheet, row by row from row 1.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    data : bytes

    Raises
    ------
    StudyError
        If the bytes are no spreadsheet.
    """
    import warnings
    from zipfile import BadZipFile

    from openpyxl import load_workbook

    try:
        with warnings.catch_warnings():
            # It warns of buttons, drop-down lists and the like, which a table of results may have.
            warnings.simplefilter("ignore")
            # Twice: what each cell shows, and what was typed into it. Only the pair tells an empty
            # cell from a formula whose value was never stored.
            shown = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            typed = load_workbook(io.BytesIO(data), read_only=True, data_only=False)
            return {sheet.title: _rows(sheet, typed[sheet.title]) for sheet in shown.worksheets}
    except (BadZipFile, KeyError, ValueError, OSError, SyntaxError) as fault:
        raise StudyError.one(
            file, "a file that cannot be read as a spreadsheet", ".csv or .xlsx", "save it again"
        ) from fault


def _rows(shown: Any, typed: Any) -> list[list[Cell]]:
    for sheet in (shown, typed):
        sheet.reset_dimensions()  # some programs store a size that is too small
    pairs = zip(shown.iter_rows(), typed.iter_rows(), strict=True)
    return [
        [_cell(*pair, number, j) for j, pair in enumerate(zip(*rows, strict=True), start=1)]
        for number, rows in enumerate(pairs, start=1)
    ]


def _cell(shown: Any, typed: Any, row: int, column: int) -> Cell:
    """One cell; `shown` holds the stored value of a formula and `typed` the formula itself."""
    value = shown.value
    if value is None:
        formula = typed.value is not None
        return Cell("a formula", row, column, "formula") if formula else Cell("", row, column)
    if isinstance(value, bool):
        return Cell(str(value).upper(), row, column)
    if isinstance(value, int | float):
        # What shows as 95 % is stored as 0.95; people mean what they see.
        percent = "%" in (shown.number_format or "")
        number = float(f"{value * 100:.12g}") if percent else float(value)
        return Cell(f"{number:.12g}" + ("%" if percent else ""), row, column, "number", number)
    if isinstance(value, str):
        kind = "error" if shown.data_type == "e" else "text"
        return Cell(value.replace("\r\n", "\n").strip(), row, column, kind)
    return Cell(_date_text(value), row, column, "date")


def _date_text(value: object) -> str:
    if isinstance(value, datetime):
        whole_day = value.hour == value.minute == value.second == 0
        return value.date().isoformat() if whole_day else value.isoformat(timespec="seconds")
    return value.isoformat() if isinstance(value, date) else str(value)
