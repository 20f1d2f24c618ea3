"""The text of one cell -> the value that it means, or what is wrong with it."""

from shotwindow.doe.errors import Problem
from shotwindow.doe.quantities import NumberError, read_number
from shotwindow.doe.tables import Cell

_WHAT_KINDS_NEED = {
    "formula": "open the file in the spreadsheet and save it there, or paste the value",
    "error": "mend the formula, or type the value",
    "date": "a fraction such as 1/2 turns into a date in a spreadsheet: type 0.5",
}


class Wrong(Exception):
    """A cell that does not hold what it should; `do` is the next step, where there is one."""

    def __init__(self, expected: str, do: str = "") -> None:
        super().__init__(expected, do)
        self.expected = expected
        self.do = do

    def at(self, place: str, cell: Cell) -> Problem:
        """Return the problem of this cell at a place."""
        found = {"formula": "a formula without a stored value", "date": f"the date {cell.text}"}
        return Problem(place, found.get(cell.kind, shown(cell.text)), self.expected, self.do)


def shown(text: str) -> str:
    """Return a cell's text for a message; words in quotes, numbers bare."""
    if not text:
        return "an empty cell"
    return text if text[0].isdigit() or text[0] in "+-." else f'"{text}"'


def plain(value: float) -> str:
    """Return the shortest text that reads back as the same number.

    Examples
    --------
    >>> from shotwindow.doe.cells import plain
    >>> plain(96.0), plain(2.05), plain(1e-07)
    ('96', '2.05', '1e-07')
    """
    return repr(float(value)).removesuffix(".0")


def read_text(cell: Cell) -> str:
    """Return a cell of words."""
    if cell.kind in ("formula", "error"):
        raise Wrong("words", _WHAT_KINDS_NEED[cell.kind])
    return cell.text


def read_real(
    cell: Cell, expected: str = "a number", *, percent: bool = False, unit: str | None = None
) -> float:
    """Return a number, with its unit or percent sign dropped where that is allowed.

    Raises
    ------
    Wrong
        If the cell holds no number, or one that can be read in two ways.

    Examples
    --------
    >>> from shotwindow.doe.cells import read_real
    >>> from shotwindow.doe.tables import Cell
    >>> read_real(Cell("0,04 mm", 2, 5), unit="mm")
    0.04
    """
    if cell.kind in _WHAT_KINDS_NEED:
        raise Wrong(expected, _WHAT_KINDS_NEED[cell.kind])
    if cell.number is not None and (percent or "%" not in cell.text):
        return cell.number
    try:
        return read_number(cell.text, percent=percent, unit=unit)
    except NumberError as fault:
        if fault.readings:
            ways = " or ".join(plain(value) for value in fault.readings)
            do = f"write {ways}: a comma before three digits can be both (in .xlsx it cannot)"
            raise Wrong(expected, do) from fault
        raise Wrong(expected) from fault


def read_whole(cell: Cell, expected: str = "a whole number") -> int:
    """Return a whole number."""
    value = read_real(cell, expected)
    if value != int(value):
        raise Wrong(expected)
    return int(value)
