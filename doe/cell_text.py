"""Text of a cell of a CSV file <-> text that no spreadsheet takes for a formula.

A spreadsheet runs a cell that begins with one of ``= + - @``. An apostrophe before it, which
spreadsheets know as the mark of a text, keeps it what it was typed as.
"""

import re

_RUNS = re.compile(r"'*[=+\-@]")
_NUMBER = re.compile(r"[+\-]?[\d.,\s]+(e[+\-]?\d+)?\s*%?", re.IGNORECASE)


def held_as_text(text: str) -> str:
    """Put an apostrophe before what a spreadsheet would run; numbers stay as they are.

    Examples
    --------
    >>> from shotwindow.doe.cell_text import held_as_text
    >>> [held_as_text(t) for t in ("=1+1", "-0.5", "cold, slow", "'=x")]
    ["'=1+1", '-0.5', 'cold, slow', "''=x"]
    """
    return f"'{text}" if _RUNS.match(text) and not _NUMBER.fullmatch(text) else text


def as_typed(text: str) -> str:
    """Take the apostrophe off again.

    Examples
    --------
    >>> from shotwindow.doe.cell_text import as_typed
    >>> [as_typed(t) for t in ("'=1+1", "-0.5", "'tis cold")]
    ['=1+1', '-0.5', "'tis cold"]
    """
    return text[1:] if text.startswith("'") and _RUNS.match(text) else text
