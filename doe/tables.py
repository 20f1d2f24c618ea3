"""Bytes of a .csv or .xlsx file -> text cells, each with the place where a spreadsheet shows it.

Nothing is guessed about what a cell means: `0,85` stays the text `0,85`. What is settled here is
only how the file is written: separator, byte order mark, ``sep=`` line, quoted line breaks, blank
rows, percent formats, formulas without a stored value and dates that were typed as fractions.
"""

import csv
import io
from dataclasses import dataclass
from itertools import islice

from shotwindow.doe.cell_text import as_typed
from shotwindow.doe.errors import StudyError

_SEPARATORS = (";", "\t", ",")
_KEY_ROWS = 20  # a title may stand above the header, a whole page may not


@dataclass(frozen=True)
class Cell:
    """One cell as a spreadsheet shows it.

    Attributes
    ----------
    text : str
        The text, without spaces around it; "" for an empty cell.
    row, column : int
        As numbered by a spreadsheet, from 1.
    kind : str
        "text", "number" (a spreadsheet's own number), "date", "formula" (without a stored value)
        or "error" (such as #DIV/0!).
    number : float or None
        The value where `kind` is "number".
    """

    text: str
    row: int
    column: int
    kind: str = "text"
    number: float | None = None


@dataclass(frozen=True)
class Table:
    """A header and the rows below it that are not empty.

    Attributes
    ----------
    file, sheet : str
        Names for messages; `sheet` is "" for a CSV file.
    header : tuple of Cell
    rows : tuple of tuple of Cell
        A row may be shorter than the header, or longer where cells stand beside the table.
    """

    file: str
    sheet: str
    header: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]

    @property
    def name(self) -> str:
        """File and sheet as messages name them."""
        return f'{self.file}, sheet "{self.sheet}"' if self.sheet else self.file

    def place(self, row: int, heading: str, column: int | None = None) -> str:
        """Return where a cell stands, for instance ``runs.csv, row 7, "flash (mm)" (K7)``."""
        letters = f" ({column_letters(column)}{row})" if column is not None else ""
        return f'{self.name}, row {row}, "{heading}"{letters}'


def column_letters(column: int) -> str:
    """Return the letters of a spreadsheet's column.

    Examples
    --------
    >>> from shotwindow.doe.tables import column_letters
    >>> column_letters(1), column_letters(28)
    ('A', 'AB')
    """
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def fold(text: str) -> str:
    r"""Return a text for comparing: one space between words, small letters.

    Examples
    --------
    >>> from shotwindow.doe.tables import fold
    >>> fold("  No\u00a0 Part ")
    'no part'
    """
    return " ".join(text.split()).casefold()


def read_table(file: str, data: bytes, key: str = "shot") -> Table:
    r"""Return the table in the bytes of a .csv or .xlsx file.

    Parameters
    ----------
    file : str
        Name of the file, for messages.
    data : bytes
    key : str, optional
        A heading that the table has: lines above the row that holds it are passed over, and of
        several sheets the one with it is taken. Where no row holds it, the first row that is not
        empty is the header.

    Raises
    ------
    StudyError
        If the file is no table that can be read.

    Examples
    --------
    >>> from shotwindow.doe.tables import read_table
    >>> table = read_table("runs.csv", b"sep=;\r\nshot;flash (mm)\r\n\r\n7;0,04\r\n")
    >>> [cell.text for cell in table.rows[0]], table.rows[0][1].row
    (['7', '0,04'], 3)
    """
    if data.startswith(b"PK\x03\x04"):
        from shotwindow.doe.spreadsheet import read_sheets  # only where there is one: it is slow

        sheets = read_sheets(file, data)
        title = _chosen_sheet(file, sheets, key)
        return _table(file, title, sheets[title], key)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise StudyError.one(
            file, "a spreadsheet of the old .xls kind", ".csv or .xlsx", "save it as .xlsx"
        )
    return _read_csv(file, data, key)


def _header_row(rows: list[list[Cell]], key: str) -> int | None:
    """Index of the row with the key, or of the first row with anything in it."""
    filled = [i for i, row in enumerate(rows) if any(cell.text for cell in row)]
    with_key = (
        i for i in filled[:_KEY_ROWS] if any(fold(cell.text) == fold(key) for cell in rows[i])
    )
    return next(with_key, filled[0] if filled else None)


def _table(file: str, sheet: str, rows: list[list[Cell]], key: str) -> Table:
    top = _header_row(rows, key)
    if top is None:
        raise StudyError.one(file, "nothing in it", f'a table with a column "{key}"')
    below = (tuple(_trimmed(row)) for row in rows[top + 1 :])
    return Table(file, sheet, tuple(_trimmed(rows[top])), tuple(row for row in below if row))


def _trimmed(row: list[Cell]) -> list[Cell]:
    while row and not row[-1].text:
        row = row[:-1]
    return row


def _chosen_sheet(file: str, sheets: dict[str, list[list[Cell]]], key: str) -> str:
    with_key = []
    for title, rows in sheets.items():
        top = _header_row(rows, key)
        if top is not None and any(fold(cell.text) == fold(key) for cell in rows[top]):
            with_key.append(title)
    if len(with_key) > 1 and "runs" not in with_key:
        raise StudyError.one(
            file,
            f'a column "{key}" in {len(with_key)} sheets: {", ".join(with_key)}',
            "one sheet with it",
            'name the sheet to be read "runs", or save it alone',
        )
    return "runs" if "runs" in with_key else (with_key or list(sheets))[0]


def _read_csv(file: str, data: bytes, key: str) -> Table:
    text = _decoded(file, data)
    first, _, rest = text.partition("\n")
    told = first.strip().strip('"')
    if told.lower().startswith("sep=") and len(told) <= 5:
        # A spreadsheet obeys this line and does not show it, so that row 1 is the next one.
        return _table(file, "", _split(file, rest, told[4:] or "\t"), key)
    separator = max(_SEPARATORS, key=lambda mark: _splits(text, mark, key))
    return _table(file, "", _split(file, text, separator), key)


def _splits(text: str, separator: str, key: str) -> tuple[bool, int]:
    """Return how well a separator fits: whether the key is found, and the cells of its row."""
    records = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        top = list(islice(records, _KEY_ROWS))
    except csv.Error:  # said by `_split`, with its place, if no other separator fits
        return False, 0
    found = [record for record in top if any(fold(t) == fold(key) for t in record)]
    return bool(found), max(map(len, found or top), default=0)


def _decoded(file: str, data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    else:
        encodings = ["utf-8-sig", "cp1252"]  # the second is what older spreadsheets write
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise StudyError.one(file, "bytes that are no text", "a .csv or .xlsx file")


def _split(file: str, text: str, separator: str) -> list[list[Cell]]:
    """Split into cells; a quoted line break stays inside its cell, as in a spreadsheet."""
    rows: list[list[Cell]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for number, record in enumerate(reader, start=1):
            rows.append(
                [Cell(as_typed(_clean(t)), number, j) for j, t in enumerate(record, start=1)]
            )
    except csv.Error as fault:
        raise StudyError.one(
            f"{file}, row {len(rows) + 1}",
            f"text that is not well quoted ({fault})",
            'a text with quotes in it stands in quotes, and each inner quote is doubled ("")',
        ) from fault
    return rows


def _clean(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()
