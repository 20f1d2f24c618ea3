"""Cells that somebody changes -> the checked text that goes to the journal, or what is wrong."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from shotwindow.doe.answers import readers
from shotwindow.doe.cells import Wrong
from shotwindow.doe.columns import Layout
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.headings import layout_of
from shotwindow.doe.history import Sheet, Values, with_values
from shotwindow.doe.records import RUNS_FILE, rows_of
from shotwindow.doe.rows import Checked, Row, check_row, place_of, row_cells
from shotwindow.doe.safety import has_heavy_flash, shots_to_skip
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell


@dataclass(frozen=True)
class Saved:
    """What an action left behind.

    Attributes
    ----------
    values : mapping of int to mapping of str to str
        By shot and heading, the text of each cell that changed.
    skipped : tuple of int
        Planned shots that were set to "skipped" because of heavy flash.
    questions : tuple of Problem
        Readings that were taken and can be right but seldom are.
    refused : tuple of Problem
        What kept single rows of a table from being taken.
    put_back : tuple of int
        Recorded shots that were empty in runs.csv.
    edited : mapping of int to mapping of str to str
        Cells that somebody had changed in runs.csv by hand, which were taken first.
    """

    values: Values
    skipped: tuple[int, ...] = ()
    questions: tuple[Problem, ...] = ()
    refused: tuple[Problem, ...] = ()
    put_back: tuple[int, ...] = ()
    edited: Values = field(default_factory=dict)


def find_row(rows: Sequence[Row], shot: int) -> Row:
    """Return the row of a shot, or say which shots there are."""
    for row in rows:
        if row.shot == shot:
            return row
    expected = f"a shot of the plan, {rows[0].shot} to {rows[-1].shot}"
    raise StudyError.one(f"shot {shot}", "no such shot", expected)


def check_open(rows: Iterable[Row]) -> None:
    """Raise a StudyError that names every row that is recorded already."""
    problems = [
        Problem(
            f"shot {row.shot}",
            f"a shot that is recorded already ({row.outcome})",
            "one that is not",
            "change it, or undo",
        )
        for row in rows
        if row.outcome != "open"
    ]
    if problems:
        raise StudyError(problems)


def check_answer(study: Study, layout: Layout, shot: int, heading: str, text: str) -> None:
    """Raise a StudyError if one answer does not hold what it should; "" is always right."""
    cell = Cell(printable(text), 0, 0)
    try:
        if cell.text:
            readers(study, layout)[heading](cell)
    except Wrong as wrong:
        raise StudyError([wrong.at(place_of(shot, heading), cell)]) from wrong


def checked_with(study: Study, sheet: Sheet, shot: int, changed: Mapping[str, str]) -> Checked:
    """Return a shot's row with some cells changed, checked."""
    cells = {**sheet.cells[shot], **changed}
    placed = {name: Cell(printable(text), 0, 0) for name, text in cells.items()}
    layout = layout_of(study, sheet.columns, RUNS_FILE)
    return check_row(study, layout, placed, partial(place_of, shot))


def checked_values(study: Study, sheet: Sheet, changed: Values, *, sure: bool) -> Values:
    """Return the cells that really change, as text in its shortest form.

    Raises
    ------
    StudyError
        With all that is wrong, or that is questionable if nobody is `sure`.
    """
    layout = layout_of(study, sheet.columns, RUNS_FILE)
    values: dict[int, dict[str, str]] = {}
    problems: list[Problem] = []
    for shot, cells in changed.items():
        checked = checked_with(study, sheet, shot, cells)
        problems += checked.problems + (() if sure else checked.questions)
        if checked.row is not None:
            before = sheet.cells[shot]
            after = row_cells(study, layout, checked.row)
            values[shot] = {name: t for name, t in after.items() if t != before.get(name, "")}
    if problems:
        raise StudyError(problems)
    return values


def skips_after(study: Study, sheet: Sheet, values: Values, columns: tuple[str, ...]) -> Values:
    """Return the cells that set shots to "skipped" since one among the changed has heavy flash."""
    after = with_values(sheet, values, columns)
    flashed = _heavily_flashed(study, after, values) - _heavily_flashed(study, sheet, values)
    if not flashed:
        return {}
    rows = rows_of(study, after)
    skips = shots_to_skip(study, rows, flashed)
    notes = {row.shot: row.note for row in rows}
    return {
        shot: {
            "status": "skipped",
            "note": joined(notes[shot], f"skipped: heavy flash at shot {flashed}"),
        }
        for shot, flashed in skips.items()
    }


def _heavily_flashed(study: Study, sheet: Sheet, shots: Iterable[int]) -> set[int]:
    part = Sheet(sheet.columns, {shot: sheet.cells[shot] for shot in shots})
    return {row.shot for row in rows_of(study, part) if has_heavy_flash(study, row)}


def joined(note: str, more: str) -> str:
    """Return a note with something added.

    Examples
    --------
    >>> from shotwindow.doe.saving import joined
    >>> joined("", "cold"), joined("cold", "slow")
    ('cold', 'cold; slow')
    """
    return "; ".join(text for text in (note, printable(more)) if text)


def printable(text: str) -> str:
    """Return typed text without what a text file cannot hold."""
    return text.encode("utf-8", "replace").decode().replace("\0", "").strip()
