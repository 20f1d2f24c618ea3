"""A run sheet -> a PDF to print, black on white, the same bytes for the same sheet.

The letters come from the typeface that the pictures use. A sign that it lacks is printed as an
empty square, so that nobody takes a text for whole that is not.
"""

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
from shotwindow.reports.sheet import GroupLine, RunSheet, ShotLine
from shotwindow.reports.sheet_page import is_wide

BOX = 8 * MM  # a tick box that a gloved hand hits
ROW = 9.4 * MM
_NOTE = 120  # signs that there is room for in a row


def sheet_pdf(sheet: RunSheet, paper: str = "a4") -> bytes:
    """Return the sheet for "a4" or "letter" paper."""
    from reportlab.platypus import PageBreak, Paragraph

    signs, looks = typeface(), _looks()
    size = paper_size(paper, wide=is_wide(sheet))

    def words(text: str, look: str, most: int = MOST) -> Any:
        return Paragraph(escape(printable(text, signs, most)), looks[look])

    width = size[0] - 2 * MARGIN
    title = f"Run sheet: {sheet.title}"
    story: list[Any] = [
        words(title, "title"),
        _facts(sheet, width, words),
        words("Safety first", "head"),
        *(words(f"- {caution}", "small") for caution in sheet.cautions),
        words("How to read a shot", "head"),
        *(words(f"- {rule}", "small") for rule in sheet.how),
        words("Shots in running order: set what stands bold in a thick frame", "head"),
        _shots(sheet, width, words),
        PageBreak(),
        words("Labels to cut out", "head"),
        _labels(sheet, width, words),
    ]
    return printed(story, size, title, _numbered)


def _looks() -> dict[str, Any]:
    from reportlab.lib.styles import ParagraphStyle

    base = ParagraphStyle("cell", fontName=PLAIN, fontSize=8.5, leading=10, alignment=1)
    left = ParagraphStyle("small", base, alignment=0)
    return {
        "cell": base,
        "same": ParagraphStyle("same", base, textColor="#555555"),
        "changed": ParagraphStyle("changed", base, fontName=BOLD, fontSize=11, leading=12),
        "shot": ParagraphStyle("shot", base, fontName=BOLD, fontSize=11, leading=12),
        "th": ParagraphStyle("th", base, fontName=BOLD, fontSize=7.5, leading=9),
        "small": left,
        "group": ParagraphStyle("group", left, fontName=BOLD, fontSize=9.5, leading=11),
        "head": ParagraphStyle(
            "head", left, fontName=BOLD, fontSize=10.5, leading=13, spaceBefore=5, spaceAfter=2
        ),
        "title": ParagraphStyle("title", left, fontName=BOLD, fontSize=14, leading=19),
    }


def _numbered(canvas: Any, page: Any) -> None:
    canvas.setFont(PLAIN, 8)
    canvas.drawRightString(page.pagesize[0] - MARGIN, MARGIN / 2, f"page {page.page}")


def _box() -> Any:
    from reportlab.graphics.shapes import Drawing, Rect

    drawing = Drawing(BOX, BOX, hAlign="CENTER")
    drawing.add(Rect(0, 0, BOX, BOX, fillColor=None, strokeWidth=1))
    return drawing


def _facts(sheet: RunSheet, width: float, words: Any) -> Any:
    """Return what identifies the job in two columns, with rules to write on."""
    from reportlab.platypus import Table

    pairs = [*sheet.facts, ("date", ""), ("made by", "")]
    pairs += [("", "")] * (len(pairs) % 2)
    rows = [
        [words(text, "small") for pair in pairs[i : i + 2] for text in pair]
        for i in range(0, len(pairs), 2)
    ]
    style = [("LINEBELOW", (column, 0), (column, -1), 0.4, "black") for column in (1, 3)]
    return Table(rows, [0.14 * width, 0.36 * width] * 2, style=[*style, *padding(1.5)])


def _shots(sheet: RunSheet, width: float, words: Any) -> Any:
    from reportlab.platypus import Table

    heads = ("done", "shot", "kind", *sheet.setting_heads, *sheet.reading_heads, "other, note")
    rows: list[list[Any]] = [[words(head, "th") for head in heads]]
    style: list[tuple[Any, ...]] = [
        ("GRID", (0, 0), (-1, -1), 0.6, "black"),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("ALIGN", (0, 0), (-1, -1), "CENTER"),
        *padding(1.5),
    ]
    for line in sheet.lines:
        at = len(rows)
        if isinstance(line, GroupLine):
            rows.append([_box(), words(line.text, "group")] + [""] * (len(heads) - 2))
            style += [
                ("SPAN", (1, at), (-1, at)),
                ("LINEABOVE", (0, at), (-1, at), 2.0, "black"),
                ("NOSPLIT", (0, at), (-1, at + 1)),  # what to set up stays with its first shot
            ]
        else:
            rows.append(_shot_cells(line, words))
            style += _shot_style(line, at)
    widths = _widths(sheet, width)
    heights = [None, *([ROW] * (len(rows) - 1))]
    return Table(rows, widths, heights, repeatRows=1, style=style)


def _shot_cells(line: ShotLine, words: Any) -> list[Any]:
    settings = [words(s.text, "changed" if s.changed else "same") for s in line.settings]
    readings = [words(text, "cell") for text in line.readings]
    shot, kind = words(str(line.shot), "shot"), words(line.kind, "cell")
    return [_box(), shot, kind, *settings, *readings, words(line.note, "small", _NOTE)]


def _shot_style(line: ShotLine, at: int) -> list[tuple[Any, ...]]:
    """Frame what changes; cross out what is not read because the shot is thrown away."""
    first = 3
    style: list[tuple[Any, ...]] = [
        ("BOX", (first + j, at), (first + j, at), 2.0, "black")
        for j, setting in enumerate(line.settings)
        if setting.changed
    ]
    if line.is_warm_up:
        start = first + len(line.settings)
        style.append(("BACKGROUND", (start, at), (start + len(line.readings) - 1, at), "#cccccc"))
    return style


def _widths(sheet: RunSheet, width: float) -> list[float]:
    """Return column widths: what is written by hand gets what the others leave."""
    fixed = [10.5 * MM, 11 * MM, 18 * MM]
    settings = [22 * MM] * len(sheet.setting_heads)
    left = width - sum(fixed) - sum(settings)
    note = max(0.25 * left, 14 * MM)
    return [
        *fixed,
        *settings,
        *[(left - note) / len(sheet.reading_heads)] * len(sheet.reading_heads),
        note,
    ]


def _labels(sheet: RunSheet, width: float, words: Any) -> Any:
    """Return a label for each part of each shot, as many across as fit."""
    from reportlab.platypus import Table

    cells: list[Any] = [
        [
            words(label, "title"),
            words(sheet.label, "small"),
            *(
                words(f"{head} {setting.text}", "small")
                for head, setting in zip(sheet.setting_heads, line.settings, strict=True)
            ),
        ]
        for line in sheet.shots
        for label in line.labels
    ]
    across = int(width / (62 * MM))
    cells += [""] * (-len(cells) % across)
    rows = [cells[i : i + across] for i in range(0, len(cells), across)] or [[""] * across]
    style = [
        ("GRID", (0, 0), (-1, -1), 0.4, "black", 0, (3, 3)),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ]
    return Table(rows, [width / across] * across, style=style)
