"""A set-up sheet -> a PDF of one page, black on white, the same bytes for the same sheet."""

from html import escape
from math import inf
from typing import Any

from shotwindow.reports.paper import (
    BOLD,
    MARGIN,
    MM,
    MOST,
    PLAIN,
    padding,
    paper_size,
    printable,
    printed,
    typeface,
)
from shotwindow.reports.set_up import SETTING_HEADS, SIGN_OFF, UNHELD, SettingLine, SetUp

MOST_SIGNS = 90  # of one fact: the sheet is one page, whatever was typed
#: Shares of the width: name, what is set, range, what the press holds, both margins.
COLUMNS = (0.15, 0.22, 0.19, 0.11, 0.165, 0.165)
#: Of the type, in percent, the largest first; what does not fit then is drawn smaller as a whole.
SIZES = range(100, 68, -2)


def set_up_pdf(sheet: SetUp, paper: str = "a4") -> bytes:
    """Return the sheet for "a4" or "letter" paper; what would not fit makes its type smaller."""
    from reportlab.platypus import KeepInFrame

    width, height = _room(paper)
    story = _story(sheet, width, type_size(sheet, paper))
    page = KeepInFrame(width, height, story, mode="shrink")
    return printed([page], paper_size(paper), f"Set-up sheet: {sheet.title}")


def type_size(sheet: SetUp, paper: str) -> int:
    """Return in which size of type the sheet fits on one page, in percent of the usual one.

    Told of the PDF, whose typeface can be measured; the page that a browser prints is set in the
    same sizes, a little tighter.
    """
    width, height = _room(paper)
    fits = (each for each in SIZES if _height(_story(sheet, width, each), width) <= height)
    return next(fits, SIZES[-1])


def _room(paper: str) -> tuple[float, float]:
    """Return width and height inside of the margins and of a frame's own padding, in points."""
    width, height = paper_size(paper)
    return width - 2 * MARGIN - 12, height - 2 * MARGIN - 12


def _height(story: list[Any], width: float) -> float:
    from reportlab.platypus import KeepInFrame

    endless = KeepInFrame(width, inf, story, mode="overflow")
    return float(endless.wrapOn(None, width, inf)[1])


def _story(sheet: SetUp, width: float, percent: int) -> list[Any]:
    from reportlab.platypus import Paragraph

    signs, looks = typeface(), _looks(percent / 100)

    def words(text: str, look: str, most: int = MOST) -> Any:
        return Paragraph(escape(printable(text, signs, most)), looks[look])

    return [
        words(f"Set-up sheet: {sheet.title}", "title", MOST_SIGNS),
        _facts(sheet, width, words),
        _status(sheet, width, words),
        words("Set", "head"),
        _settings(sheet, width, words),
        words(sheet.ranges, "text"),
        words("Start", "head"),
        *(words(f"- {line}", "text") for line in sheet.starting),
        words("A good shot", "head"),
        *(words(f"- {line}", "text") for line in sheet.good),
        words("Keep in mind", "head"),
        *(words(f"- {line}", "text") for line in sheet.minding),
        words("Safety", "head"),
        *(words(f"- {line}", "small") for line in sheet.cautions),
        _sign_off(width, words),
        words(sheet.data, "small"),
    ]


def _looks(size: float) -> dict[str, Any]:
    """Return the looks of all words, their type as large as `size` of the usual one."""
    from reportlab.lib.styles import ParagraphStyle

    def look(name: str, points: float, leading: float, font: str = PLAIN, **more: float) -> Any:
        sizes = {"fontSize": size * points, "leading": size * leading}
        return ParagraphStyle(name, fontName=font, **sizes, **more)

    return {
        "text": look("text", 8.5, 10.5),
        "bold": look("bold", 8.5, 10.5, BOLD),
        "small": look("small", 7.2, 9),
        "value": look("value", 12, 15, BOLD),
        "head": look("head", 10, 12, BOLD, spaceBefore=6 * size, spaceAfter=2 * size),
        "title": look("title", 14, 19, BOLD),
    }


def _facts(sheet: SetUp, width: float, words: Any) -> Any:
    """Return what identifies the job in two columns, with rules to write on."""
    from reportlab.platypus import Table

    pairs = [*sheet.facts, *([("", "")] * (len(sheet.facts) % 2))]

    def fact(name: str, text: str) -> tuple[Any, Any]:
        return words(name, "bold"), words(text, "text", MOST_SIGNS)

    rows = [
        [cell for pair in pairs[i : i + 2] for cell in fact(*pair)] for i in range(0, len(pairs), 2)
    ]
    style: list[Any] = [("LINEBELOW", (column, 0), (column, -1), 0.4, "black") for column in (1, 3)]
    style += [("VALIGN", (0, 0), (-1, -1), "BOTTOM")]
    return Table(rows, [0.16 * width, 0.34 * width] * 2, style=[*style, *padding(1.5)])


def _status(sheet: SetUp, width: float, words: Any) -> Any:
    from reportlab.platypus import Table

    told = [(UNHELD, sheet.warning)] if sheet.warning else []
    told.append((sheet.status, sheet.proof))
    cells = [[words(state, "value"), words(why, "text")] for state, why in told]
    style = [("BOX", (0, 0), (-1, -1), 2.0, "black"), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    widths = [0.28 * width, 0.72 * width]
    return Table(cells, widths, style=[*style, *padding(4)], spaceBefore=6)


def _settings(sheet: SetUp, width: float, words: Any) -> Any:
    """Return the table of settings; what is set stands large in a thick frame."""
    from reportlab.platypus import Table

    rows = [[words(head, "bold") for head in SETTING_HEADS]]
    rows += [_cells(line, words) for line in sheet.settings]
    style = [
        ("GRID", (0, 0), (-1, -1), 0.6, "black"),
        ("BOX", (1, 1), (1, -1), 2.0, "black"),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
    ]
    return Table(
        rows, [share * width for share in COLUMNS], style=[*style, *padding(3)], spaceAfter=3
    )


def _cells(line: SettingLine, words: Any) -> list[Any]:
    value = [words(line.value, "value"), *([words(line.beside, "text")] if line.beside else [])]
    rest = (words(text, "text") for text in (line.span, line.held, line.down, line.up))
    return [words(line.name, "bold"), value, *rest]


def _sign_off(width: float, words: Any) -> Any:
    from reportlab.platypus import Table

    rows = [[words(line, "bold"), "", words("date", "bold"), ""] for line in SIGN_OFF]
    style: list[Any] = [("LINEBELOW", (column, 0), (column, -1), 0.5, "black") for column in (1, 3)]
    style += [("VALIGN", (0, 0), (-1, -1), "BOTTOM")]
    widths = [share * width for share in (0.25, 0.45, 0.08, 0.22)]
    return Table(rows, widths, 8 * MM, style=[*style, *padding(1.5)], spaceAfter=5)
