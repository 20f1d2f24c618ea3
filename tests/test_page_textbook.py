"""The textbook's tables on the report's page: all questions, folded, with their numbers."""

from html import unescape
from pathlib import Path

import pytest
from browser import PHONE, Window, open_window
from invented_shots import findings, report_page

from shotwindow.reports.page_textbook import HEADS, textbook_sections
from shotwindow.reports.questions import text_rows
from shotwindow.reports.textbook import textbook


@pytest.mark.parametrize("name", ["map", "cube", "graded", "full"])
def test_report__textbook__every_question_with_its_answer_and_all_rows(name: str) -> None:
    answers = textbook(findings(name))
    section = unescape(report_page(name).split('<section id="textbook"')[1].split("</section>")[0])
    asked = [question for each in answers.values() for question in each]
    assert section.count("<details>") == section.count("<summary>") == len(asked) > 2
    rows = sum(len(question.rows) for question in asked)
    assert section.count("<tr>") == rows + sum(bool(question.rows) for question in asked)
    for question in asked:
        assert f"<summary>{question.asked}</summary>" in section
        assert all(f"<p>{words}</p>" in section for words in question.said)
        for row in text_rows(question):
            assert all(f">{cell}</t" in section for cell in row)


def test_textbook_sections__lesson_about_clipping__comes_last() -> None:
    sections = textbook_sections(textbook(findings("map")))
    assert [name for name, _ in sections] == list(HEADS.values())
    (lesson,) = sections[-1][1]
    assert "least squares put the edges elsewhere" in lesson.asked
    assert lesson.table is not None and lesson.table.heads == ("edge", "ours", "least squares")


SHOWN = """return [...document.querySelectorAll("details")]
    .filter((one) => (one.querySelector("p, table")).checkVisibility()).length"""


def _on(window: Window, medium: str) -> int:
    """Return how many folded parts show what they hold, on the screen or on paper."""
    window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": medium})
    return int(window.driver.execute_script(SHOWN))


def test_report__on_paper__what_was_unfolded_or_all_of_it(tmp_path: Path) -> None:
    page = tmp_path / "report.html"
    page.write_text(report_page("map"), encoding="utf-8")
    heads = "return [...document.querySelectorAll('#textbook h3')].filter(e => e.checkVisibility())"
    line = "return document.querySelector('.printed').checkVisibility()"
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(page.as_uri())
        ask = window.driver.execute_script
        assert (_on(window, "screen"), ask(line)) == (0, False)
        assert (_on(window, "print"), ask(line)) == (0, True)
        assert not ask("return document.querySelector('#textbook').checkVisibility()")
        _on(window, "screen")
        window.tap("Which model can these shots carry?", "summary")
        assert (_on(window, "screen"), _on(window, "print")) == (1, 1)
        assert [head.text for head in ask(heads)] == ["Fill"]  # none over nothing
        _on(window, "screen")
        window.driver.find_element("id", "folded").click()
        assert _on(window, "screen") == 1
        assert (_on(window, "print"), ask(line)) == (len(window.all("details")), False)
        assert ask("return document.querySelector('#folded').checkVisibility()") is False


def test_report__numbers_of_each_picture__folded_under_what_they_are() -> None:
    for name in ("map", "cube"):
        page = report_page(name)
        assert page.count('<details class="numbers">') == page.count('class="drawn"') - (
            len(findings(name).study.factors) - 1  # the rulers share one table
        )
