"""What a notebook shows: right on a light and on a dark ground, harmless, and the same in words."""

from base64 import b64decode
from dataclasses import replace
from io import StringIO
from pathlib import Path

import pytest
from browser import TABLET, open_window
from invented_folders import write_study
from invented_shots import findings, planned, study
from IPython.core.formatters import DisplayFormatter
from test_hostile_text import HOSTILE
from test_sheet_page import Seen

from shotwindow.reports.attempt_words import planned_lines
from shotwindow.reports.compare_words import compare_lines
from shotwindow.reports.comparing import compare
from shotwindow.reports.confirming import plan_attempt
from shotwindow.reports.effect_figure import effect_exhibit
from shotwindow.reports.next_words import next_lines
from shotwindow.reports.page_pictures import Exhibit
from shotwindow.reports.planned import plan_lines, tell
from shotwindow.reports.suggesting import suggest
from shotwindow.reports.words import window_lines

#: Text and ground of a notebook in its light and in its dark look. That they are so is common
#: practice, no source; what is shown must take any.
LOOKS = {"light": ("rgb(33, 33, 33)", "#fff"), "dark": ("rgb(238, 238, 238)", "#111")}


def _shown(value: object) -> dict[str, str]:
    """Return what IPython itself would hand to a notebook, by kind."""
    formats, _ = DisplayFormatter().format(value)  # type: ignore[no-untyped-call]
    return dict(formats)


def _exhibit() -> Exhibit:
    made = effect_exhibit(findings("map"))
    assert made is not None
    return made


def test_findings__in_a_notebook__page_and_plain_words() -> None:
    found = findings("map")
    shown = _shown(found)
    assert set(shown) == {"text/html", "text/plain"}
    assert shown["text/plain"] == "\n".join(window_lines(found))
    seen = Seen(shown["text/html"])
    assert "Invented clip" in seen.text and found.setpoint is not None
    pressure = found.study.factors[0].text(found.setpoint.settings[0])
    assert f"{pressure} bar gauge" in seen.text
    for part in ("What each setting does", "Keep in mind", "Edges of the window"):
        assert part in seen.text


def test_picture__in_a_notebook__a_whole_svg_with_its_words() -> None:
    for shown in (findings("map"), _exhibit()):
        ((_, attrs),) = [t for t in Seen(_shown(shown)["text/html"]).tags if t[0] == "img"]
        kind, _, data = (attrs["src"] or "").partition(",")
        assert kind == "data:image/svg+xml;base64"
        drawn = b64decode(data, validate=True).decode()
        assert drawn.startswith("<?xml") and drawn.rstrip().endswith("</svg>")
        assert len(attrs["alt"] or "") > 100


@pytest.mark.parametrize("name", ["short", "full"])
def test_findings__without_setpoint_or_edge__still_shown(name: str) -> None:
    found = replace(findings(name), setpoint=None, ranges=None, edges=(), curves=())
    text = Seen(_shown(found)["text/html"]).text
    assert "Edges of the window" not in text and "Keep in mind" in text


def test_findings__fit_failed__no_picture() -> None:
    found = replace(
        findings("map"), window=None, setpoint=None, ranges=None, edges=(), curves=(), limits=()
    )
    seen = Seen(_shown(found)["text/html"])
    assert "img" not in {tag for tag, _ in seen.tags} and "Keep in mind" in seen.text


def test_findings__hostile_title__whole_and_adds_no_tag() -> None:
    plain = findings("map")
    found = replace(plain, study=replace(plain.study, title=HOSTILE))
    seen = Seen(_shown(found)["text/html"])
    assert HOSTILE in seen.text
    usual = [tag for tag, _ in Seen(_shown(plain)["text/html"]).tags]
    assert [tag for tag, _ in seen.tags] == usual and "script" not in usual


@pytest.mark.parametrize("look", LOOKS)
def test_findings__in_either_look__text_and_lines_take_its_color(look: str, tmp_path: Path) -> None:
    color, ground = LOOKS[look]
    page = StringIO()
    page.write(
        f"<!DOCTYPE html><title>x</title><body style='color: {color}; background: {ground}'>"
    )
    for value in (findings("map"), _exhibit()):
        page.write(_shown(value)["text/html"])
    path = tmp_path / "page.html"
    path.write_text(page.getvalue(), encoding="utf-8")
    script = """
        return [...document.querySelectorAll(".shotwindow *:not(style)")].flatMap(e => {
            const s = getComputedStyle(e);
            const lines = ["Top", "Left"].filter(
                side => parseFloat(s[`border${side}Width`])).map(side => s[`border${side}Color`]);
            return [s.color, ...lines];
        })"""
    grounds = """
        return [...document.querySelectorAll(".shotwindow, .shotwindow *")].filter(
            e => getComputedStyle(e).backgroundColor != "rgba(0, 0, 0, 0)").map(e => e.tagName)"""
    with open_window(tmp_path / "profile", TABLET) as window:
        window.open(path.as_uri())
        assert set(window.driver.execute_script(script)) == {color}
        assert set(window.driver.execute_script(grounds)) == {"FIGURE"}
        loaded = "return [...document.images].map(i => i.complete && i.naturalWidth > 300)"
        assert window.driver.execute_script(loaded) == [True, True]
        assert window.width_of_content() == TABLET[0]
        assert window.errors() == [] and window.requests() == [path.as_uri()]


def test_steps_in_between__in_a_notebook__what_their_commands_print(tmp_path: Path) -> None:
    folder = write_study(tmp_path / "dial", "dial")
    told = tell(study("dial"), planned("dial"))
    suggested, attempt = suggest(folder, shots=1), plan_attempt(folder)
    compared = compare(folder, folder)
    for value, lines in (
        (told, plan_lines(told)),
        (suggested, next_lines(suggested)),
        (attempt, planned_lines(attempt)),
        (compared, compare_lines(compared)),
    ):
        assert _shown(value) == {"text/plain": "\n".join(lines)}
        assert len(lines) > 5
