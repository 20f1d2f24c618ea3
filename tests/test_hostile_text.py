"""Text that a user typed does no harm and stays whole: markup, quotes, emoji, any script.

In pages every sign of it is there, as text; on paper, what cannot be printed is seen to be missing.
"""

import re
import zlib
from base64 import a85decode
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from browser import PHONE, Window, open_window
from invented_shots import findings, planned, report_page
from sheets import EYE
from test_set_up_files import _pages
from test_set_up_files import _sheet as set_up_of
from test_sheet_page import Seen
from test_sheet_page import _sheet as sheet_of
from test_web_page import command, name, warm_up
from test_web_page import planned as study_to_record

from shotwindow.doe.runs import read_runs
from shotwindow.doe.study import Held, Study
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import CUT
from shotwindow.reports.page import report_html
from shotwindow.reports.paper import MISSING, printable, typeface
from shotwindow.reports.set_up import SetUp, set_up
from shotwindow.reports.set_up_files import set_up_html
from shotwindow.reports.set_up_pdf import set_up_pdf
from shotwindow.reports.sheet import RunSheet, facts
from shotwindow.reports.sheet_page import sheet_html
from shotwindow.reports.sheet_pdf import sheet_pdf

MARKUP = "</title></script><script>document.title = 'taken'</script><img src=x onerror=x>"
QUOTES = "\"double\" 'single' `back` \\ {{ 7 * 7 }} {% raw %} %s $& "
RIGHT_TO_LEFT = "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627 \u202e"
EMOJI = "\U0001f600 \U0001f468\u200d\U0001f527 "
#: No space in it, so that it cannot be broken where words end.
LONG = "x" * 10_000
HOSTILE = EMOJI + RIGHT_TO_LEFT + MARKUP + QUOTES + LONG


def _study(made: Study) -> Study:
    """Return a study with such text wherever a user may write what they like."""
    return replace(
        made,
        title=HOSTILE,
        mold=replace(made.mold, name=HOSTILE, revision=HOSTILE),
        press=replace(made.press, name=HOSTILE),
        material=replace(made.material, name=HOSTILE, grade=HOSTILE, lot=HOSTILE),
        held=(Held("cushion", HOSTILE, ""),),
    )


def _findings() -> Findings:
    found = findings("map")
    worst = replace(found.rows[3], note=HOSTILE, by=HOSTILE, other=HOSTILE, lot=HOSTILE)
    return replace(found, study=_study(found.study), rows=(*found.rows[:3], worst, *found.rows[4:]))


def _run_sheet() -> RunSheet:
    sheet, study = sheet_of("map"), _study(findings("map").study)
    shot = replace(sheet.shots[3], note=HOSTILE)
    lines = tuple(shot if line is sheet.shots[3] else line for line in sheet.lines)
    return replace(sheet, title=HOSTILE, facts=facts(study), lines=lines)


def _set_up() -> SetUp:
    return set_up(_findings(), None, ("Hot nozzle.",))


@lru_cache
def _report() -> str:
    return report_html(_findings(), planned("map"), ())


PAGES: dict[str, Callable[[], str]] = {
    "report": _report,
    "run sheet": lambda: sheet_html(_run_sheet()),
    "set-up sheet": lambda: set_up_html(_set_up()),
}
PLAIN: dict[str, Callable[[], str]] = {
    "report": lambda: report_page("map"),
    "run sheet": lambda: sheet_html(sheet_of("map")),
    "set-up sheet": lambda: set_up_html(set_up_of()),
}


@pytest.mark.parametrize("kind", PAGES)
def test_page__hostile_text__is_whole_and_adds_no_tag(kind: str) -> None:
    seen, plain = Seen(PAGES[kind]()), Seen(PLAIN[kind]())
    # the title of the page and its heading, and what names mold and press
    assert seen.text.count(HOSTILE) >= 4
    kinds = {tag for tag, _ in seen.tags}
    assert kinds <= {tag for tag, _ in plain.tags} and "img" not in kinds
    assert sum(t == "script" for t, _ in seen.tags) == sum(t == "script" for t, _ in plain.tags)
    handlers = [name for _, attrs in seen.tags for name in attrs if name.startswith("on")]
    assert handlers == []


@pytest.mark.parametrize("kind", PAGES)
def test_page__hostile_text_in_a_browser__nothing_runs_and_no_page_is_too_wide(
    kind: str, tmp_path: Path
) -> None:
    page = tmp_path / "page.html"
    page.write_text(PAGES[kind](), encoding="utf-8")
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(page.as_uri())
        assert "taken" not in window.driver.title[:10]
        whole = "return document.body.textContent.includes(arguments[0])"
        assert window.driver.execute_script(whole, HOSTILE)
        assert window.width_of_content() == PHONE[0]
        assert window.errors() == [] and window.requests() == [page.as_uri()]


def _type(window: Window, text: str) -> None:
    """Type as a person does; the driver itself cannot type emoji."""
    window.driver.execute_script(
        """arguments[0].value = arguments[1];
        arguments[0].dispatchEvent(new Event("input", { bubbles: true }));""",
        window.wait_for("textarea"),
        text,
    )


def test_record_page__hostile_title_and_note__are_text(tmp_path: Path) -> None:
    folder = tmp_path / "study"
    folder.mkdir()
    study = study_to_record(folder)
    quoted = HOSTILE.replace("\\", "\\\\").replace('"', '\\"')
    (folder / "study.toml").write_text(f'title = "{quoted}"\n{EYE}', encoding="utf-8")
    note = HOSTILE[:500].strip()  # as much as the page takes
    with command(folder) as (address, _), open_window(tmp_path / "profile", PHONE) as window:
        window.open(address)
        name(window, "<b>Ada</b>")
        warm_up(window)
        window.wait_for("h2", "Fill in %")
        for step in ("More", "Note on shot"):
            window.tap(step)
        _type(window, note)
        window.tap("Save")
        window.wait_for("h2", "Fill in %")
        text = window.driver.execute_script("return document.body.textContent")
        assert HOSTILE in text
        assert "taken" not in window.driver.title[:10] and not window.all("main b > b, img")
        assert window.width_of_content() == PHONE[0]
        assert window.errors() == []
        assert all(asked.startswith(address) for asked in window.requests())
    assert read_runs(folder, study)[2].note == note


def _signs(pdf: bytes) -> set[str]:
    """Return the signs that the typefaces in a PDF were cut down to, by their own tables."""
    found: set[str] = set()
    for stream in re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        packed = stream.strip()
        try:
            raw = a85decode(packed, adobe=True) if packed.endswith(b"~>") else packed
            text = zlib.decompress(raw).decode("latin-1")
        except (ValueError, zlib.error):
            continue
        if "beginbfrange" in text or "beginbfchar" in text:
            for codes in re.findall(r"<([0-9A-Fa-f]{4})>", text):
                found.add(chr(int(codes, 16)))
    return found


SHEETS: dict[str, Any] = {
    "run sheet": lambda paper: sheet_pdf(_run_sheet(), paper),
    "set-up sheet": lambda paper: set_up_pdf(_set_up(), paper),
}


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("kind", SHEETS)
def test_pdf__hostile_text__printed_with_squares(kind: str, paper: str) -> None:
    pdf = SHEETS[kind](paper)
    signs = _signs(pdf)
    assert MISSING in signs and {"<", "x", "["} <= signs
    assert not signs & set(RIGHT_TO_LEFT.replace(" ", "") + "\U0001f468\u200d\U0001f527")
    assert SHEETS[kind](paper) == pdf
    assert _pages(pdf) <= (1 if kind == "set-up sheet" else 8)


def test_printable__each_sign_that_is_missing__a_square_and_what_is_cut_says_so() -> None:
    signs = typeface()
    foreign = "\u05e9\u05dc \U0001f527 \u202eab"
    assert printable(foreign, signs) == f"{MISSING * 2} {MISSING} {MISSING}ab"
    assert printable("5 \u00b5m \u2265 \u00f6", signs) == "5 \u00b5m \u2265 \u00f6"
    assert printable("x" * 40, signs, 20) == "x" * (20 - len(CUT)) + CUT
    assert printable("x" * 20, signs, 20) == "x" * 20
