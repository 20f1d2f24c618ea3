"""The textbook's tables on the report's page: all questions, folded, with their numbers."""

from html import unescape
from pathlib import Path

import pytest
from browser import PHONE, open_window
from invented_shots import findings, report_page

from shotwindow.reports.page_textbook import HEADS, textbook_sections
from shotwindow.reports.questions import text_rows
from shotwindow.reports.textbook import textbook


@pytest.mark.parametrize("name", ["map", "cube", "graded", "full"])
def test_report__textbook__every_question_with_its_answer_and_all_rows(name: str) -> None:
    answers = textbook(findings(name))
    section = unescape(report_page(name).split('<section id="textbook">')[1].split("</section>")[0])
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
    sections = textbook_sections(findings("map"))
    assert [name for name, _ in sections] == list(HEADS.values())
    (lesson,) = sections[-1][1]
    assert "least squares put the edges elsewhere" in lesson.asked
    assert lesson.table is not None and lesson.table.heads == ("edge", "ours", "least squares")


def test_report__folded_on_the_screen__open_on_paper(tmp_path: Path) -> None:
    page = tmp_path / "report.html"
    page.write_text(report_page("map"), encoding="utf-8")
    shown = """return [...document.querySelectorAll("#textbook details")]
        .filter((one) => one.querySelector("p").checkVisibility()).length"""
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(page.as_uri())
        assert window.driver.execute_script(shown) == 0
        window.tap("Which model can these shots carry?", "summary")
        assert window.driver.execute_script(shown) == 1
        window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        assert window.driver.execute_script(shown) == len(window.all("#textbook details"))
