"""A study's rows -> a spreadsheet to fill in at the press and to hand back to `record --from`."""

import re
from collections.abc import Mapping, Sequence
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from shotwindow.doe.answers import STATUSES
from shotwindow.doe.columns import PLANNED, Layout
from shotwindow.doe.quantities import decimals
from shotwindow.doe.rows import WARM_UP, Row, row_cells
from shotwindow.doe.study import Study
from shotwindow.reports.sheet import facts, reading_rules

RUNS, ABOUT = "runs", "read first"
GREY, PALE = "DDDDDD", "EFEFEF"
TIME = rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ"
LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the first date that a zip file can hold


def workbook(study: Study, layout: Layout, rows: Sequence[Row], cautions: Sequence[str]) -> bytes:
    """Return the .xlsx file: one row a shot under the headings of runs.csv.

    What is planned is locked; what is to be filled in is open, and checks itself where it can.
    The same study gives the same bytes.
    """
    from openpyxl import Workbook

    book = Workbook()
    table = book.active
    table.title = RUNS
    _write_runs(table, study, layout, rows)
    _check_cells(table, study, layout, len(rows))
    _write_about(book.create_sheet(ABOUT), study, cautions)
    file = BytesIO()
    book.save(file)
    return timeless(file.getvalue())


def _write_runs(table: Any, study: Study, layout: Layout, rows: Sequence[Row]) -> None:
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side

    locked = {*PLANNED, *layout.settings} - {"lot"}
    rule = Border(*[Side(style="thin")] * 4)
    for column, heading in enumerate(layout.names, start=1):
        head = table.cell(1, column, heading)
        head.font, head.border = Font(bold=True), rule
        head.alignment = Alignment(wrap_text=True, horizontal="center", vertical="center")
        head.fill = PatternFill("solid", fgColor=GREY)
        table.column_dimensions[head.column_letter].width = 30 if heading == "note" else 13
    for number, row in enumerate(rows, start=2):
        values = _values(study, layout, row)
        for column, heading in enumerate(layout.names, start=1):
            cell = table.cell(number, column)
            put(cell, values[heading])
            cell.border, cell.protection = rule, Protection(locked=heading in locked)
            if heading in locked or row.kind == WARM_UP:
                cell.fill = PatternFill("solid", fgColor=PALE)
            if heading in layout.settings:
                step = study.factors[layout.settings.index(heading)].step
                cell.number_format = f"{0:.{decimals(step)}f}"
    table.freeze_panes = table.cell(2, 2)
    table.protection.sheet = True  # without a password: against slips, not against people
    table.protection.formatColumns = table.protection.formatRows = False
    table.page_setup.orientation, table.print_title_rows = "landscape", "1:1"
    table.page_setup.fitToHeight, table.sheet_properties.pageSetUpPr.fitToPage = 0, True


def _values(study: Study, layout: Layout, row: Row) -> Mapping[str, float | str]:
    """Return what stands in each cell of a row; numbers as numbers."""
    texts = row_cells(study, layout, row)
    words = {"block", "lot", "kind", "other", "status", "made_at", "by", "note", *layout.extra}
    return {name: text if name in words else _number(text) for name, text in texts.items()}


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def put(cell: Any, value: float | str) -> None:
    """Write a value; a text that begins like a formula stays a text."""
    if value != "":
        cell.value = value
    if isinstance(value, str) and value.startswith("="):
        cell.data_type = "s"


def _check_cells(table: Any, study: Study, layout: Layout, count: int) -> None:
    for heading, rule in cell_rules(study, layout).items():
        add_check(table, layout.names.index(heading) + 1, count, rule)


def cell_rules(study: Study, layout: Layout) -> dict[str, dict[str, Any]]:
    """Return, by heading, what a spreadsheet is to let into the cells below it."""
    flash = study.flash
    rules = {"status": _one_of(STATUSES)}
    if flash.measured == "grade":
        rules |= dict.fromkeys(layout.flash, _one_of("0123"))
    else:
        rules |= dict.fromkeys(layout.flash, _from_to(0, None))
    if study.fill.measured == "eye":
        rules |= dict.fromkeys(layout.fill, _from_to(0, 100))
    elif study.fill.measured == "full-or-short":
        rules |= dict.fromkeys(layout.fill, _one_of(("full", "short")))
    return rules


def add_check(table: Any, column: int, count: int, rule: dict[str, Any]) -> None:
    """Let the spreadsheet refuse what `record` would refuse; empty cells are always right."""
    from openpyxl.worksheet.datavalidation import DataValidation

    check = DataValidation(allow_blank=True, showErrorMessage=True, **rule)
    check.error = check.error or "not a value that this column can hold"
    letter = table.cell(1, column).column_letter
    check.add(f"{letter}2:{letter}{count + 1}")
    table.add_data_validation(check)


def _one_of(words: Sequence[str]) -> dict[str, Any]:
    expected = ", ".join(words)
    return {"type": "list", "formula1": f'"{",".join(words)}"', "error": f"one of: {expected}"}


def _from_to(low: float, high: float | None) -> dict[str, Any]:
    if high is None:
        rule = {"type": "decimal", "operator": "greaterThanOrEqual", "formula1": str(low)}
        return {**rule, "error": f"a number from {low} on"}
    ends = {"formula1": str(low), "formula2": str(high)}
    return {"type": "decimal", **ends, "error": f"a number from {low} to {high}"}


def _write_about(sheet: Any, study: Study, cautions: Sequence[str]) -> None:
    told = [f"{name}: {text}" for name, text in facts(study) if text]
    parts = (
        ("Safety first", cautions),
        ("How to read a shot", reading_rules(study)),
        ("This study", told),
    )
    write_lines(sheet, parts)


def write_lines(sheet: Any, parts: Sequence[tuple[str, Sequence[str]]]) -> None:
    """Write heads, each with its lines below it."""
    from openpyxl.styles import Alignment, Font

    sheet.column_dimensions["A"].width = 110
    number = 0
    for head, lines in parts:
        for place, line in enumerate((head, *lines)):
            number += 1
            cell = sheet.cell(number, 1)
            put(cell, line)
            cell.font, cell.alignment = Font(bold=place == 0), Alignment(wrap_text=True)


def timeless(data: bytes) -> bytes:
    """Return the same file without the times of its making."""
    file = BytesIO()
    with ZipFile(BytesIO(data)) as old, ZipFile(file, "w", ZIP_DEFLATED) as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename == "docProps/core.xml":
                content = re.sub(
                    rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"1980-01-01T00:00:00Z", content
                )
            new.writestr(ZipInfo(entry.filename, LONG_AGO), content, ZIP_DEFLATED)
    return file.getvalue()
