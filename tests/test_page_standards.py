"""Every page keeps to the HTML standard and can be used by those who see little or nothing.

The judges are the Nu checker, which is the one the standard's makers point to
(https://validator.github.io/validator/), and axe-core by Deque with all the rules that it has on:
WCAG 2.0, 2.1 and 2.2 at the levels A and AA, and its own best practices. No program finds every
fault of access; what these do find is to be none.
"""

from pathlib import Path

import pytest
from browser import PHONE, Window, open_window
from invented_shots import findings, planned, report_page, study
from page_checks import access_faults, markup_faults
from test_classroom import room
from test_set_up_files import _sheet as set_up_of
from test_sheet_page import NASTY
from test_sheet_page import _sheet as sheet_of
from test_web_page import command, name, tap_digits, warm_up
from test_web_page import planned as study_to_record

from shotwindow.doe.cautions import CAUTIONS
from shotwindow.examples.lessons.contents import read_lesson
from shotwindow.reports.class_page import class_html
from shotwindow.reports.handout import handout
from shotwindow.reports.lesson import answers_html, lesson_html
from shotwindow.reports.plan_space_figure import plan_space_exhibit
from shotwindow.reports.set_up_files import set_up_html
from shotwindow.reports.sheet_page import sheet_html

DESK = (1280, 900)
#: What is folded is not looked at, and takes no room.
UNFOLD = "for (const each of document.querySelectorAll('details')) each.open = true;"
#: What stands around outputs, in the colors of a desk that is dark or not.
NOTEBOOK = """<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Outputs</title>
<meta name="viewport" content="width=device-width">
<style>:root {{ color-scheme: light dark; }}</style></head>
<body><main><h1>Outputs</h1>{}</main></body></html>"""


def _pages() -> dict[str, str]:
    """Return every kind of page, each with what can stand in it and what cannot."""
    lessons = ("one_at_a_time", "failed_confirmation")
    drawn = plan_space_exhibit(study("cube"), planned("cube"))
    return {
        "notebook-findings": NOTEBOOK.format(findings("cube")._repr_html_()),
        "notebook-picture": NOTEBOOK.format(drawn._repr_html_()),
        **{f"report-{each}": report_page(each) for each in ("map", "cube", "dial", "full")},
        **{f"sheet-{each}": sheet_html(sheet_of(each)) for each in ("map", "cube")},
        "sheet-nasty": sheet_html(sheet_of("dial", NASTY)),
        "set-up": set_up_html(set_up_of()),
        "class": class_html(room(), CAUTIONS),
        "class-told": class_html(room(told=True), CAUTIONS),
        "set-up-nasty": set_up_html(set_up_of(title=NASTY)),
        **{f"lesson-{each}": lesson_html(read_lesson(each)) for each in lessons},
        "handout": lesson_html(handout(study("cube"), planned("cube"), CAUTIONS)),
        **{f"answers-{each}": answers_html(read_lesson(each)) for each in lessons},
    }


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("pages")
    for title, page in _pages().items():
        (folder / f"{title}.html").write_text(page, encoding="utf-8")
    return sorted(folder.iterdir())


def _stands(window: Window, path: Path) -> Path:
    """Write the page as its scripts have made it."""
    whole = window.driver.execute_script("return document.documentElement.outerHTML")
    path.write_text("<!DOCTYPE html>" + whole, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def report_after(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the report as its script has made it."""
    folder = tmp_path_factory.mktemp("after")
    page = folder / "report.html"
    page.write_text(report_page("map"), encoding="utf-8")
    with open_window(folder / "profile", PHONE) as window:
        window.open(page.as_uri())
        window.wait_for("#live")
        return _stands(window, folder / "report-after.html")


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Path], list[str]]:
    """Return the recording page as it stood at each step, and what axe-core had against it."""
    folder = tmp_path_factory.mktemp("recorded")
    (folder / "study").mkdir()
    study_to_record(folder / "study")
    faults: list[str] = []
    seen: list[Path] = []

    def look(window: Window) -> None:
        seen.append(_stands(window, folder / f"step-{len(seen)}.html"))
        for dark in (False, True):
            window.resize(PHONE, dark=dark)
            faults.extend(f"step {len(seen)}: {fault}" for fault in access_faults(window))

    with command(folder / "study") as (address, _), open_window(folder / "p", PHONE) as window:
        window.open(address)
        window.wait_for("input")
        look(window)
        name(window, "Ada")
        window.wait_for("h2", "Shot 1 of 5")
        look(window)
        warm_up(window)
        window.wait_for("h2", "Fill in %")
        look(window)
        tap_digits(window, "96")
        window.tap("Enter")
        look(window)
        window.tap("No flash")
        window.wait_for("button", "Save shot 3")
        look(window)
    return seen, faults


def test_pages__as_written_and_as_scripts_make_them__no_error_of_markup(
    pages: list[Path], report_after: Path, recorded: tuple[list[Path], list[str]]
) -> None:
    """All in one go: the checker takes longer to start than to read."""
    assert len(recorded[0]) == 5
    assert markup_faults([*pages, report_after, *recorded[0]]) == []


def test_record_page__at_each_step__no_fault_of_access(
    recorded: tuple[list[Path], list[str]],
) -> None:
    assert recorded[1] == []


def test_pages__phone_and_dark_desk__no_fault_of_access_and_no_sideways_scrolling(
    pages: list[Path], tmp_path: Path
) -> None:
    faults: dict[str, list[str]] = {}
    with open_window(tmp_path / "profile", PHONE) as window:
        for size, dark in ((PHONE, False), (DESK, True)):
            window.resize(size, dark=dark)
            for page in pages:
                window.open(page.as_uri())
                window.driver.execute_script(UNFOLD)
                found = access_faults(window)
                if window.width_of_content() > size[0]:
                    found.append(f"{window.width_of_content()} wide on {size[0]}")
                faults[f"{page.stem} {'dark' if dark else 'light'}"] = found
    assert len(faults) == 2 * len(pages)
    assert {where: found for where, found in faults.items() if found} == {}


def test_report__on_a_phone__pictures_move_sideways_and_keep_letters_that_can_be_read(
    pages: list[Path], tmp_path: Path
) -> None:
    (report,) = (page for page in pages if page.stem == "report-map")
    script = """return [...document.querySelectorAll(".drawn")].map(
        e => [e.clientWidth, e.querySelector("svg").getBoundingClientRect().width, e.tabIndex])"""
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(report.as_uri())
        for room, drawn, tab in window.driver.execute_script(script):
            # drawn 619 points wide, so that letters have about as many pixels as points
            assert room < PHONE[0] and drawn >= 600 and tab == 0
        window.resize(DESK, dark=False)
        for room, drawn, _ in window.driver.execute_script(script):
            assert drawn == room > 600


def test_report__on_a_phone__words_stand_above_what_they_mean(
    pages: list[Path], tmp_path: Path
) -> None:
    (report,) = (page for page in pages if page.stem == "report-map")
    script = """return [...document.querySelectorAll("dd")].map(
        e => e.clientWidth / document.body.clientWidth)"""
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(report.as_uri())
        shares = window.driver.execute_script(script)
    assert len(shares) > 20 and min(shares) > 0.8


def test_report__table_wider_than_its_box__a_shade_where_it_goes_on(
    pages: list[Path], tmp_path: Path
) -> None:
    (report,) = (page for page in pages if page.stem == "report-cube")
    script = """return [...document.querySelectorAll(".scroll")].map((e) => [
        e.scrollWidth > e.clientWidth, getComputedStyle(e).backgroundAttachment])"""
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(report.as_uri())
        window.driver.execute_script(UNFOLD)
        boxes = window.driver.execute_script(script)
        media = {"media": "print"}
        window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", media)
        paper = window.driver.execute_script(script)
    assert sum(wide for wide, _ in boxes) > 3
    # what moves along covers the shades that stay at the rims
    assert {told for _, told in boxes} == {"local, local, scroll, scroll"}
    assert {told for _, told in paper} == {"scroll"}
