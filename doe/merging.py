"""A run sheet and a table that was filled in -> what the table changes, or what is wrong in it."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from shotwindow.doe.cells import Wrong, plain, read_real, read_whole, shown
from shotwindow.doe.columns import Layout
from shotwindow.doe.errors import Problem
from shotwindow.doe.headings import Match, layout_of, match_columns
from shotwindow.doe.history import Sheet
from shotwindow.doe.rows import Checked, check_row, place_of, row_cells
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell, Table, fold

_Row = tuple[Cell, ...]


@dataclass(frozen=True)
class Merge:
    """What a table changes in a run sheet.

    Attributes
    ----------
    columns : tuple of str
        All headings afterwards.
    values : dict of int to dict of str to str
        By shot and heading, the text of each cell that changes.
    put_back : tuple of int
        Shots that are recorded in the sheet and wholly empty in the table; they stay recorded.
    problems : tuple of Problem
        What keeps the table from being taken.
    refused : tuple of Problem
        What keeps single rows from being taken.
    questions : tuple of Problem
        Changed readings that can be right but seldom are.
    """

    columns: tuple[str, ...]
    values: dict[int, dict[str, str]]
    put_back: tuple[int, ...]
    problems: tuple[Problem, ...]
    refused: tuple[Problem, ...]
    questions: tuple[Problem, ...]


def merge(study: Study, sheet: Sheet, table: Table, *, whole: bool) -> Merge:
    """Return what a table changes in a run sheet.

    Rows are matched by their shot, columns by their heading. An empty cell of a table of results
    changes nothing; in the run sheet itself (`whole`) it empties the cell, except where the row
    of a recorded shot is empty throughout: an old copy was saved over the sheet, and the shot
    is put back rather than lost.

    Parameters
    ----------
    study : Study
    sheet : Sheet
    table : Table
    whole : bool
        Whether the table is the run sheet itself, with every shot in it.
    """
    match = match_columns(study, table)
    if match.problems:
        return Merge(sheet.columns, {}, (), match.problems, (), ())
    layout = _joint_layout(layout_of(study, sheet.columns, "runs.csv"), match)
    task = _Task(study, sheet, table, match, layout, whole)
    rows, refused = _rows_by_shot(task)
    values: dict[int, dict[str, str]] = {}
    questions: list[Problem] = []
    put_back = tuple(shot for shot, row in rows.items() if task.is_old(shot, row))
    for shot, row in rows.items():
        problems, checked = _merged_row(task, shot, row)
        refused += problems
        if checked.row is None or problems:
            continue
        before = sheet.cells[shot]
        after = row_cells(study, layout, checked.row)
        changed = {name: text for name, text in after.items() if text != before.get(name, "")}
        if changed:
            values[shot] = changed
            questions += checked.questions
    # Where a shot's number cannot be read, its row is there and would be called lost as well.
    problems = _absent(task, rows, layout) if len(rows) == len(table.rows) else []
    return Merge(layout.names, values, put_back, tuple(problems), tuple(refused), tuple(questions))


@dataclass(frozen=True)
class _Task:
    """What is merged: the table's columns are found, the joint layout is settled."""

    study: Study
    sheet: Sheet
    table: Table
    match: Match
    layout: Layout
    whole: bool

    def cell(self, row: _Row, heading: str) -> Cell | None:
        """Return the cell of a row under a heading; None where the table has no such column."""
        position = self.match.where.get(heading)
        if position is None:
            return None
        return row[position] if position < len(row) else Cell("", row[0].row, position + 1)

    def place(self, row: _Row, heading: str) -> str:
        position = self.match.where.get(heading)
        return self.table.place(row[0].row, heading, None if position is None else position + 1)

    def is_old(self, shot: int, row: _Row) -> bool:
        """Return whether a recorded shot is empty in the run sheet, as it was in an old copy."""
        headings = (*self.layout.readings, "status")
        recorded = any(self.sheet.cells[shot].get(heading) for heading in headings)
        cells = (self.cell(row, heading) for heading in headings)
        return self.whole and recorded and not any(cell and cell.text for cell in cells)


def _joint_layout(before: Layout, match: Match) -> Layout:
    """Return the table's way of reading fill and flash, with the user's own columns of both."""
    new = match.layout
    short = new.short_cavities or before.short_cavities and before.fill == new.fill
    extra = tuple(dict.fromkeys(before.extra + new.extra))
    return Layout(new.settings, new.fill, new.flash, short, extra)


def _rows_by_shot(task: _Task) -> tuple[dict[int, _Row], list[Problem]]:
    """Return the table's rows by shot, with rows left out that belong to none."""
    rows: dict[int, _Row] = {}
    problems = []
    last = max(task.sheet.cells)
    for row in task.table.rows:
        cell = task.cell(row, "shot") or row[0]
        place = task.place(row, "shot")
        try:
            shot = read_whole(cell, f"a shot of the plan, 1 to {last}")
        except Wrong as wrong:
            problems.append(wrong.at(place, cell))
            continue
        if shot not in task.sheet.cells:
            expected = f"a shot of the plan, 1 to {last}"
            problems.append(Problem(place, str(shot), expected, "add shots with `shotwindow next`"))
        elif shot in rows:
            found = f"shot {shot} again (also in row {rows[shot][0].row})"
            problems.append(Problem(place, found, "each shot once", "remove one of the two rows"))
        else:
            rows[shot] = row
    return rows, problems


def _merged_row(task: _Task, shot: int, row: _Row) -> tuple[list[Problem], Checked]:
    """Lay a table's row over the sheet's row and check both together."""
    before = task.sheet.cells[shot]
    problems = _stray_cells(task, row) + _planned_problems(task, before, row)
    keep_empty = task.whole and not task.is_old(shot, row)
    cells = {name: Cell(text, row[0].row, 0) for name, text in before.items()}
    for heading in task.match.where:
        cell = task.cell(row, heading)
        if cell is not None and heading not in _planned(task) and (cell.text or keep_empty):
            cells[heading] = cell
    checked = check_row(task.study, task.layout, cells, partial(task.place, row))
    return problems + list(checked.problems), checked


def _planned(task: _Task) -> tuple[str, ...]:
    # The lot is not among them: what was really fed is known only at the press.
    return ("shot", "block", "group", "kind", *task.layout.settings)


def _planned_problems(task: _Task, before: Mapping[str, str], row: _Row) -> list[Problem]:
    """Name the planned cells that say something else than the plan."""
    problems = []
    for heading in _planned(task):
        cell = task.cell(row, heading)
        if cell is None or not cell.text or _same(cell, before.get(heading, "")):
            continue
        do = "put the planned value back"
        if heading in task.layout.settings:
            do += f'; what was really set belongs under "actual {heading}"'
        place = task.place(row, heading)
        problems.append(
            Problem(place, shown(cell.text), f"{before.get(heading, '')} as planned", do)
        )
    return problems


def _same(cell: Cell, planned: str) -> bool:
    if fold(cell.text) == fold(planned):
        return True
    try:
        # As text: a number that was calculated in a spreadsheet may end in dust.
        return plain(round(read_real(cell), 9)) == plain(round(float(planned), 9))
    except (Wrong, ValueError):
        return False


def _stray_cells(task: _Task, row: _Row) -> list[Problem]:
    """Name filled cells that stand under no heading; a decimal comma may have split one in two."""
    known = set(task.match.where.values())
    return [
        Problem(
            task.table.place(cell.row, "no heading", cell.column),
            shown(cell.text),
            "nothing beside the table",
            "give the column a heading; a number with a decimal comma needs quotes, or ; between"
            " the columns",
        )
        for position, cell in enumerate(row)
        if cell.text and position not in known
    ]


def _absent(task: _Task, rows: Mapping[int, _Row], layout: Layout) -> list[Problem]:
    """Name shots that the run sheet lost, or whose readings do not fit a table's new columns."""
    problems: list[Problem] = []
    for shot, cells in task.sheet.cells.items():
        if shot in rows:
            continue
        if task.whole:
            do = 'put the row back; a shot that is not to be made has the status "skipped"'
            found = f"no row for shot {shot}"
            problems.append(Problem(task.table.name, found, "a row for every shot", do))
            continue
        placed = {name: Cell(text, 0, 0) for name, text in cells.items()}
        checked = check_row(task.study, layout, placed, partial(place_of, shot))
        problems += checked.problems
    return problems
