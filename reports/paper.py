"""What all sheets of paper share: sizes, the typeface, and words as far as it can print them."""

import unicodedata
from io import BytesIO
from pathlib import Path
from typing import Any

from shotwindow.reports.naming import shortened

MM = 72 / 25.4
MARGIN = 11 * MM
PLAIN, BOLD = "Sheet", "SheetBold"
MISSING = "\u25a1"
MOST = 1200  # signs of one text on paper; the HTML page has all of it
#: Classes of Unicode for what runs from right to left, and for signs that nobody sees.
_UNSET = frozenset("R AL AN RLE RLO RLI LRE LRO LRI PDF PDI FSI BN".split())


def paper_size(paper: str, *, wide: bool = False) -> tuple[float, float]:
    """Return width and height of "a4" or "letter" paper in points.

    Examples
    --------
    >>> from shotwindow.reports.paper import paper_size
    >>> paper_size("letter"), paper_size("letter", wide=True)
    ((612.0, 792.0), (792.0, 612.0))
    """
    from reportlab.lib.pagesizes import A4, LETTER

    width, height = {"a4": A4, "letter": LETTER}[paper]
    return (height, width) if wide else (width, height)


def typeface() -> frozenset[int]:
    """Make the typeface of the pictures known, plain and bold, and return the signs that it has."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    plain = TTFont(PLAIN, folder / "DejaVuSans.ttf")
    pdfmetrics.registerFont(plain)
    pdfmetrics.registerFont(TTFont(BOLD, folder / "DejaVuSans-Bold.ttf"))
    return frozenset(plain.face.charToGlyph)


def printable(text: str, signs: frozenset[int], most: int = MOST) -> str:
    """Return a text as it can be printed: what cannot be is an empty square, what is cut says so.

    Letters that run from right to left become squares too, although the typeface has some: they
    would be set backwards, and nobody should take a text for right that is not.

    Examples
    --------
    >>> from shotwindow.reports.paper import printable
    >>> signs = frozenset(range(32, 127))
    >>> printable("ring 3 \U0001f600", signs), printable("x" * 30, signs, 10)
    ('ring 3 \u25a1', 'xxxx [...]')
    """
    known = (c if c.isspace() or _prints(c, signs) else MISSING for c in shortened(text, most))
    return "".join(known)


def _prints(sign: str, signs: frozenset[int]) -> bool:
    return ord(sign) in signs and unicodedata.bidirectional(sign) not in _UNSET


def padding(points: float) -> list[tuple[Any, ...]]:
    """Return the style of a table whose cells have so much room around their words."""
    sides = ("LEFT", "RIGHT", "TOP", "BOTTOM")
    return [(f"{side}PADDING", (0, 0), (-1, -1), points) for side in sides]


def printed(story: list[Any], size: tuple[float, float], title: str, page_end: Any = None) -> bytes:
    """Return a story as the bytes of a PDF; the same story gives the same.

    Parameters
    ----------
    page_end : callable, optional
        Draws on each page what is beside the story, such as its number.
    """
    from reportlab.platypus import SimpleDocTemplate

    file = BytesIO()
    page = SimpleDocTemplate(
        file,
        pagesize=size,
        title=title,
        invariant=1,  # no date and no random name in the file
        **dict.fromkeys(("leftMargin", "rightMargin", "topMargin", "bottomMargin"), MARGIN),
    )
    ends = {"onFirstPage": page_end, "onLaterPages": page_end} if page_end else {}
    page.build(story, **ends)
    return file.getvalue()
