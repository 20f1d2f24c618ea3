"""A set-up sheet -> a PDF of one page, black on white, the same bytes for the same sheet."""

from html import escape
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
from shotwindow.reports.set_up import SETTING_HEADS, SIGN_OFF, SettingLine, SetUp

MOST_SIGNS = 90  # of one fact: the sheet is one page, whatever was typed
#: Shares of the width: name, what is set, range, what the press holds, both margins.
COLUMNS = (0.15, 0.22, 0.19, 0.11, 0.165, 0.165)


def set_up_pdf(sheet: SetUp, paper: str = "a4") -> bytes:
    """Return the sheet for "a4" or "letter" paper; what would not fit makes all of it smaller."""
    from reportlab.platypus import KeepInFrame, Paragraph

    signs, looks = typeface(), _looks()
    size = paper_size(paper)

    def words(text: str, look: str, most: int = MOST) -> Any:
        return Paragraph(escape(printable(text, signs, most)), looks[look])

    width, height = size[0] - 2 * MARGIN - 12, size[1] - 2 * MARGIN - 12  # a frame's own padding
    page = KeepInFrame(width, height, _story(sheet, width, words), mode="shrink")
    return printed([page], size, f"Set-up sheet: {sheet.title}")


def _story(sheet: SetUp, width: float, words: Any) -> list[Any]:
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


def _looks() -> dict[str, Any]:
    from reportlab.lib.styles import ParagraphStyle

    text = ParagraphStyle("text", fontName=PLAIN, fontSize=8.5, leading=10.5)
    return {
        "text": text,
        "bold": ParagraphStyle("bold", text, fontName=BOLD),
        "small": ParagraphStyle("small", text, fontSize=7.2, leading=9),
        "value": ParagraphStyle("value", text, fontName=BOLD, fontSize=12, leading=15),
        "head": ParagraphStyle(
            "head", text, fontName=BOLD, fontSize=10, leading=12, spaceBefore=6, spaceAfter=2
        ),
        "title": ParagraphStyle("title", text, fontName=BOLD, fontSize=14, leading=19),
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

    cells = [[words(sheet.status, "value"), words(sheet.proof, "text")]]
    style = [("BOX", (0, 0), (-1, -1), 2.0, "black"), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    widths = [0.26 * width, 0.74 * width]
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
