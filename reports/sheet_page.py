"""A run sheet -> one HTML page that prints from any browser, black on white."""

from shotwindow.reports.sheet import RunSheet
from shotwindow.reports.templates import filled

PAPERS = {"a4": "A4", "letter": "letter"}
#: From so many columns on the sheet is printed across.
WIDE_FROM = 7


def is_wide(sheet: RunSheet) -> bool:
    """Return whether a sheet needs its paper across."""
    return len(sheet.setting_heads) + len(sheet.reading_heads) >= WIDE_FROM


def sheet_html(sheet: RunSheet, paper: str = "a4") -> str:
    """Return the page for "a4" or "letter" paper."""
    return filled("sheet.html", sheet=sheet, paper=PAPERS[paper], wide=is_wide(sheet))
