"""Journal entries -> the run sheet at any of them, what each changed, and what is half typed."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from shotwindow.doe.cell_text import held_as_text
from shotwindow.doe.journal import Entry

PLAN, DRAFT, UNDO, NOTE = "plan", "draft", "undo", "note"

#: By shot and heading, the text of each cell that changes.
Values = Mapping[int, Mapping[str, str]]


@dataclass(frozen=True)
class Sheet:
    """A run sheet as text.

    Attributes
    ----------
    columns : tuple of str
        Headings in the order of the file.
    cells : mapping of int to mapping of str to str
        By shot, in running order, and by heading.
    """

    columns: tuple[str, ...]
    cells: Mapping[int, Mapping[str, str]]


@dataclass(frozen=True)
class Change:
    """One cell that an entry changed, before and after."""

    entry: Entry
    shot: int
    column: str
    before: str
    after: str


def replay(entries: Sequence[Entry]) -> Sheet:
    """Return the run sheet after the last of some entries, taken from the first one on.

    A plan sets out which shots there are; every other entry changes cells of theirs.
    """
    sheet = Sheet((), {})
    for entry in entries:
        if entry.action != DRAFT:
            sheet = with_values(sheet, entry.values, entry.columns, plan=entry.action == PLAN)
    return sheet


def with_values(
    sheet: Sheet,
    values: Values,
    columns: tuple[str, ...] | None = None,
    *,
    plan: bool = False,
) -> Sheet:
    """Return a sheet with some of its cells changed, or with all its shots planned anew."""
    cells = {} if plan else dict(sheet.cells)
    for shot, changed in values.items():
        cells[shot] = {**cells.get(shot, {}), **changed}
    return Sheet(columns or sheet.columns, dict(sorted(cells.items())))


def render(sheet: Sheet) -> bytes:
    r"""Return a sheet as the bytes of a CSV file (RFC 4180, UTF-8).

    Examples
    --------
    >>> from shotwindow.doe.history import Sheet, render
    >>> render(Sheet(("shot", "note"), {7: {"shot": "7", "note": "cold, slow"}}))
    b'shot,note\r\n7,"cold, slow"\r\n'
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(sheet.columns)
    for cells in sheet.cells.values():
        writer.writerow([held_as_text(cells.get(name, "")) for name in sheet.columns])
    return text.getvalue().encode()


def changes(entries: Sequence[Entry]) -> Iterator[Change]:
    """Return every cell that some entries changed, one by one; plans and drafts are left out."""
    sheet = Sheet((), {})
    for entry in entries:
        if entry.action == DRAFT:
            continue
        if entry.action != PLAN:
            for shot, changed in entry.values.items():
                for column, after in changed.items():
                    before = sheet.cells.get(shot, {}).get(column, "")
                    yield Change(entry, shot, column, before, after)
        sheet = with_values(sheet, entry.values, entry.columns, plan=entry.action == PLAN)


def drafts(entries: Sequence[Entry]) -> dict[int, dict[str, str]]:
    """Return the answers that were given for shots not yet accepted, by shot and heading."""
    typed: dict[int, dict[str, str]] = {}
    for entry in entries:
        for shot, values in entry.values.items():
            if entry.action == DRAFT:
                typed.setdefault(shot, {}).update(values)
            elif entry.action != NOTE:
                typed.pop(shot, None)
    return typed


def last_undoable(entries: Sequence[Entry]) -> Entry | None:
    """Return the newest entry that can be taken back and has not been, or None."""
    undone = {entry.undoes for entry in entries if entry.undoes is not None}
    for entry in reversed(entries):
        if entry.action == PLAN:
            return None
        if entry.action not in (DRAFT, UNDO) and entry.seq not in undone:
            return entry
    return None


def taken_back(entry: Entry, before: Sheet) -> dict[int, dict[str, str]]:
    """Return what the cells that an entry changed held in the sheet before it."""
    return {
        shot: {column: before.cells[shot].get(column, "") for column in values}
        for shot, values in entry.values.items()
    }
