"""A lesson -> its handout, or the answers apart, as a PDF, black on white, the same bytes."""

from html import escape
from io import BytesIO
from typing import Any

from shotwindow.reports.lesson import Lesson
from shotwindow.reports.page_pictures import Table as Rows
from shotwindow.reports.paper import (
    BOLD,
    MARGIN,
    MM,
    PLAIN,
    padding,
    paper_size,
    printable,
    printed,
    typeface,
)

LINE = 8 * MM  # room for a line of handwriting


def lesson_pdf(
    lesson: Lesson, paper: str = "a4", *, answers: bool = False, plot: bytes = b""
) -> bytes:
    """Return the handout for "a4" or "letter" paper, or with `answers` what belongs to it.

    Parameters
    ----------
    plot : bytes, optional
        The picture of its last part as a PNG file: a PDF cannot hold those of the page.
    """
    from reportlab.platypus import KeepTogether, Paragraph

    signs, looks = typeface(), _looks()
    size = paper_size(paper)
    width = size[0] - 2 * MARGIN

    def words(text: str, look: str) -> Any:
        return Paragraph(escape(printable(text, signs)), looks[look])

    title = f"{'Answers: ' if answers else ''}{lesson.title}"
    story = [words(title, "title")]
    if answers:
        story.append(words("For the instructor. Keep it apart from the handout.", "text"))
    else:
        story += _handed_out(lesson, plot, width, words)
    head = [words("Questions", "head")]  # on the page of the first one
    for number, question in enumerate(lesson.questions, 1):
        asked = words(f"{number}. {question.asked}", "text")
        below = words(question.answer, "answer") if answers else _lines(question.lines, width)
        story.append(KeepTogether([*head, asked, below]))
        head = []
    return printed([*story, words(lesson.source, "small")], size, title)


def _handed_out(lesson: Lesson, plot: bytes, width: float, words: Any) -> list[Any]:
    story = [
        words(f"Afterwards you can {lesson.goal} Time: about {lesson.minutes} minutes.", "text"),
        words("name ______________________  team ______________________  date ________", "text"),
    ]
    for part in lesson.parts:
        story.append(words(part.heading, "head"))
        story += [words(text, "text") for text in part.words]
        if part.table is not None:
            story.append(_table(part.table, words))
        if part.picture is not None and plot:
            story += [_image(plot, width), words(part.picture.alt, "small")]
    return story


def _image(plot: bytes, width: float) -> Any:
    from reportlab.lib.utils import ImageReader
    from reportlab.platypus import Image

    across, up = ImageReader(BytesIO(plot)).getSize()
    return Image(BytesIO(plot), width, width * up / across)


def _lines(count: int, width: float) -> Any:
    from reportlab.platypus import Table

    below = [("LINEBELOW", (0, 0), (-1, -1), 0.4, "black")]
    return Table([[""]] * count, [width], LINE, style=below, spaceAfter=5)


def _table(rows: Rows, words: Any) -> Any:
    from reportlab.platypus import Table

    cells = [[words(head, "th") for head in rows.heads]]
    cells += [[words(text, "cell") for text in row] for row in rows.rows]
    style = [("GRID", (0, 0), (-1, -1), 0.5, "black"), *padding(2)]
    return Table(cells, repeatRows=1, style=style, spaceBefore=3, spaceAfter=3)


def _looks() -> dict[str, Any]:
    from reportlab.lib.styles import ParagraphStyle

    text = ParagraphStyle("text", fontName=PLAIN, fontSize=9.5, leading=12.5, spaceAfter=3)
    return {
        "text": text,
        "small": ParagraphStyle("small", text, fontSize=7.5, leading=9.5),
        "answer": ParagraphStyle("answer", text, leftIndent=5 * MM, spaceAfter=6),
        "cell": ParagraphStyle("cell", text, fontSize=8.5, leading=10.5, spaceAfter=0),
        "th": ParagraphStyle("th", text, fontName=BOLD, fontSize=8, leading=9.5, spaceAfter=0),
        "head": ParagraphStyle(
            "head", text, fontName=BOLD, fontSize=11, leading=14, spaceBefore=6, keepWithNext=1
        ),
        "title": ParagraphStyle("title", text, fontName=BOLD, fontSize=14, leading=18),
    }
