"""The run sheet as a PDF: the same bytes, the right paper, a box for every line, any text."""

import re
import zlib
from base64 import a85decode

import pytest
from test_sheet_page import _sheet

from shotwindow.reports.paper import MM
from shotwindow.reports.sheet_pdf import BOX, sheet_pdf


def contents(pdf: bytes) -> list[bytes]:
    """Return the drawing commands of each page."""
    streams = (s.strip() for s in re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL))
    pages = [stream for stream in streams if stream.endswith(b"~>")]  # the others are typefaces
    return [zlib.decompress(a85decode(page, adobe=True)) for page in pages]


@pytest.mark.parametrize(("paper", "size"), [("a4", (595.2756, 841.8898)), ("letter", (612, 792))])
def test_sheet_pdf__paper__as_asked_and_same_bytes(paper: str, size: tuple[float, float]) -> None:
    pdf = sheet_pdf(_sheet("map"), paper)
    box = re.search(rb"/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \]", pdf)
    assert box is not None
    assert (float(box[1]), float(box[2])) == pytest.approx(size, abs=0.01)
    assert sheet_pdf(_sheet("map"), paper) == pdf


def test_sheet_pdf__tick_boxes__are_8_mm_and_one_a_line() -> None:
    sheet = _sheet("map")
    sides = re.findall(rb"\b0 0 ([0-9.]+) ([0-9.]+) re\b", b"".join(contents(sheet_pdf(sheet))))
    boxes = [pair for pair in sides if float(pair[0]) == pytest.approx(BOX, abs=1e-3)]
    assert BOX == pytest.approx(8 * MM) and len(boxes) == len(sheet.lines)
    assert all(width == height for width, height in boxes)


def test_sheet_pdf__long_plan__has_more_pages() -> None:
    assert _pages(sheet_pdf(_sheet("cube"))) > _pages(sheet_pdf(_sheet("dial")))


def _pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type /Page\b", pdf))
