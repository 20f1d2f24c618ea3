"""A question with its answer -> lines of 80 columns, a JSON document, and text for a page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite
from textwrap import wrap
from typing import Any

from shotwindow.reports.words import WIDTH, paragraph

Cell = str | float | int | None
UNTOLD = "-"
DIGITS = 4  # significant, of a number
INDENT = 4
_LEAST_NAME = 14  # columns for the first cell of a row, however wide the others are


@dataclass(frozen=True)
class Question:
    """What somebody asks of the readings, and what a textbook's table answers.

    Attributes
    ----------
    asked : str
    said : tuple of str
        The answer in sentences; where there is no table, why not.
    heads : tuple of str
    rows : tuple of tuple
        Text and bare numbers; None for what these readings do not tell.
    digits : mapping of str to int
        Significant digits by head, where `DIGITS` of them are not enough.
    """

    asked: str
    said: tuple[str, ...]
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[Cell, ...], ...] = ()
    digits: Mapping[str, int] = field(default_factory=dict)


def number(value: float | None) -> float | None:
    """Return a number, or None where it is none.

    Examples
    --------
    >>> from shotwindow.reports.questions import number
    >>> number(2.0), number(float("nan")), number(None)
    (2.0, None, None)
    """
    return None if value is None or not isfinite(value) else float(value)


def cell_text(cell: Cell, head: str = "", digits: int = DIGITS) -> str:
    """Return a cell as it is read; probabilities have heads that begin with "p".

    Examples
    --------
    >>> from shotwindow.reports.questions import cell_text
    >>> cell_text(0.00012, "p"), cell_text(12.3456), cell_text(None), cell_text(7)
    ('<0.001', '12.35', '-', '7')
    """
    if cell is None:
        return UNTOLD
    if isinstance(cell, str | int):
        return str(cell)
    if head == "p" or head.startswith("p "):
        return "<0.001" if cell < 0.001 else f"{cell:.3f}"
    text = f"{cell:.{digits}g}"
    return "0" if text in ("-0", "0") else text


def text_rows(question: Question) -> tuple[tuple[str, ...], ...]:
    """Return the rows as text."""
    return tuple(
        tuple(
            cell_text(cell, head, question.digits.get(head, DIGITS))
            for cell, head in zip(row, question.heads, strict=True)
        )
        for row in question.rows
    )


def question_lines(question: Question) -> list[str]:
    """Return a question with its answer and table, 80 columns wide."""
    lines = paragraph(question.asked, 2)
    for sentence in question.said:
        lines += paragraph(sentence, INDENT)
    if question.rows:
        lines += _table_lines(question.heads, text_rows(question))
    return lines


def _table_lines(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Lay out a table: the first cell is wrapped, all others stand to the right."""
    widths = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]
    room = WIDTH - INDENT - sum(width + 2 for width in widths[1:])
    widths[0] = min(widths[0], max(room, _LEAST_NAME))
    lines = []
    for row in (heads, *rows):
        first, *more = wrap(row[0], widths[0], break_on_hyphens=False) or [""]
        others = zip(row[1:], widths[1:], strict=True)
        rest = "".join(f"  {cell:>{width}}" for cell, width in others)
        lines.append(" " * INDENT + (first.ljust(widths[0]) + rest).rstrip())
        lines += [" " * (INDENT + 2) + line for line in more]
    return lines


def question_document(question: Question) -> dict[str, Any]:
    """Return the same as JSON, numbers bare."""
    return {
        "question": question.asked,
        "answer": list(question.said),
        "heads": list(question.heads),
        "rows": [list(row) for row in question.rows],
    }
