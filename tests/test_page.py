"""The report: everything in it, nothing loaded, no user's markup obeyed, and the same each time."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from invented_folders import write_study
from invented_shots import STUDIES, findings, planned, recorded, report_page, study
from test_sheet_page import NASTY, Seen

from shotwindow.cli.main import run
from shotwindow.doe.cautions import CAUTIONS
from shotwindow.doe.runs import write_plan
from shotwindow.doe.session import open_session
from shotwindow.reports.glossary import WORDS, glossary
from shotwindow.reports.growth_figure import growth_exhibit
from shotwindow.reports.live_map import live_map
from shotwindow.reports.notes import notes
from shotwindow.reports.page import report_html, write_report
from shotwindow.reports.page_readings import reading_table
from shotwindow.reports.page_tables import setpoint_table
from shotwindow.reports.verdicts import verdict


def _plain(page: str) -> str:
    return " ".join(Seen(page).text.split())


def test_report_html__everything_promised__is_there() -> None:
    found, text = findings("map"), _plain(report_page("map"))
    assert verdict(found) in text
    assert all(note in text for note in notes(found)) and all(c in text for c in CAUTIONS)
    for head in ("Where to run", "How sure are we", "The plan", "The readings", "How it was found"):
        assert head in text
    assert "f" * 64 in text and "numpy" in text and "Believed before any shot" in text
    assert "edge at" in text and "melt pressure" in text


def test_report_html__every_shot__has_its_row() -> None:
    table = (
        report_page("map").split("Every shot in running order</caption>")[1].split("</table>")[0]
    )
    assert table.count("<tr>") == 1 + len(recorded("map"))


def test_reading_table__six_cavities__four_stay_on_one_line() -> None:
    found = findings("cube")
    row = replace(found.rows[-1], fill=(1.0, 2.5, 3.0, "no part", 5.0, None))
    (cells,) = reading_table(replace(found, rows=(row,))).rows
    assert cells[3 + len(row.settings)] == "1,\xa02.5,\xa03,\xa0no part, 5,\xa0"


def test_report_html__picture__has_words_and_numbers() -> None:
    seen = Seen(report_page("map"))
    images = [a for tag, a in seen.tags if tag == "div" and a.get("role") == "img"]
    words = [(image["aria-label"] or "").split(" ")[0] for image in images]
    assert words == [
        "Map",
        "Ruler",
        "Ruler",
        "Intervals",
        "Lines",
        "Sizes",
        "Where",
        "The",
        "What",
        "What",
    ]
    for caption in ("The rulers in numbers", "Effects in numbers"):
        assert caption in seen.text
    assert "The picture in numbers" in seen.text


def test_report_html__several_cavities__one_picture_more() -> None:
    assert "Cavities in numbers" in report_page(
        "cube"
    ) and "Cavities in numbers" not in report_page("map")


def test_report_html__nothing__is_loaded_from_anywhere() -> None:
    page = report_page("map")
    assert "default-src 'none'" in page and "@import" not in page
    for tag, attrs in Seen(page).tags:
        assert tag not in ("link", "iframe", "object", "base"), tag
        for name, value in attrs.items():
            if name in ("src", "href", "xlink:href", "action"):
                assert (value or "").startswith("#"), (tag, name, value)
    assert not re.search(r"url\((?!#)", page)
    made = live_map(findings("map"))
    assert made is not None and f"script-src '{made.guard}'" in page
    scripts = re.findall(r"<script([^>]*)>(.*?)</script>", page, re.DOTALL)
    assert scripts == [(' type="application/json" id="live-data"', made.data), ("", made.script)]


def test_report_html__map_to_move_about_in__a_button_each_way_and_a_ruler_a_factor() -> None:
    seen = Seen(report_page("map"))
    names = [a["aria-label"] for tag, a in seen.tags if tag == "button" and "aria-label" in a]
    assert names == [
        f"{name}, one mark {way}"
        for name in ("pressure", "melt temperature")
        for way in ("down", "up")
    ]
    assert sum(tag == "canvas" for tag, _ in seen.tags) == 1 + 2
    assert all(a.get("aria-label") for tag, a in seen.tags if tag == "canvas")


def test_report_html__headings_and_ids__are_in_order_and_single() -> None:
    seen = Seen(report_page("map"))
    levels = [int(tag[1]) for tag, _ in seen.tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(b - a <= 1 for a, b in zip(levels, levels[1:], strict=False))
    ids = [attrs["id"] for _, attrs in seen.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    links = {(a["href"] or "")[1:] for tag, a in seen.tags if tag == "a"}
    assert links <= set(ids)


def test_report_html__light_dark_and_print__are_styled() -> None:
    assert "prefers-color-scheme: dark" in report_page("map") and "@media print" in report_page(
        "map"
    )


@pytest.mark.parametrize("name", ["strict", "full", "sink", "graded"])
def test_report_html__other_studies__are_told_too(name: str) -> None:
    assert verdict(findings(name)) in _plain(report_page(name))


def test_report_html__fit_that_failed__has_no_picture() -> None:
    found = replace(
        findings("dial"), window=None, setpoint=None, ranges=None, edges=(), narrow=None
    )
    poor = replace(found.surfaces.fill.diagnostics, effective=3.0)
    fill = replace(found.surfaces.fill, diagnostics=poor)
    found = replace(found, surfaces=replace(found.surfaces, fill=fill))
    page = report_html(found, planned("dial"), ())
    assert "did not converge" in page and "NOT CONVERGED" in page
    assert page.count("<svg") == 2 and 'id="plan-time-' in page  # the plan alone is drawn
    assert "<script" not in page


def test_report_html__users_markup__is_shown_and_intact() -> None:
    found = findings("dial")
    rows = (replace(found.rows[0], note=NASTY), *found.rows[1:])
    titled = replace(found, rows=rows, study=replace(found.study, title="<b>x</b> & co"))
    page = report_html(titled, planned("dial"), ())
    seen = Seen(page)
    assert "<script>alert" not in page and "<b>x</b>" not in page
    assert "<b>x</b> & co" in seen.text and NASTY.strip() in seen.text


def test_report_html__same_study__same_page_and_small() -> None:
    assert report_html(findings("map"), planned("map"), CAUTIONS) == report_page("map")
    assert len(report_page("map")) < 3_000_000


def test_write_report__a_folder__one_file(tmp_path: Path) -> None:
    made = study("dial")
    (tmp_path / "study.toml").write_text(STUDIES["dial"][0])
    write_plan(tmp_path, made, planned("dial"))
    with open_session(tmp_path, made) as session:
        for row in recorded("dial"):
            if row.kind == "warm-up":
                session.accept(row.shot, {})
            else:
                cells = {"fill (%)": f"{row.fill[0]:g}", "flash (mm)": f"{row.flash[0]:g}"}
                session.accept(row.shot, cells, keep_hot=True)
    path, found = write_report(tmp_path, seed=1)
    assert path == tmp_path / "out" / "report.html"
    assert found.fingerprint in path.read_text("utf-8")


def test_report_html__shape_of_the_window__parts_limits_curves_and_stricter_demands() -> None:
    page = " ".join(report_page("map").split())
    assert "The likely window is in one piece. Of the tried settings outside of it" in page
    assert "95 % of shots good" in page and "Edges of pressure (bar gauge) over the other" in page
    assert "was preferred" not in page and "Edges of pressure" not in report_page("dial")


def test_report_html__growth_asked_for__its_picture_with_words_and_numbers() -> None:
    found, plain = findings("map"), report_page("map")
    made = growth_exhibit(found)
    assert made is not None and made.title not in plain
    page = report_html(found, planned("map"), CAUTIONS, growth=True)
    section = page[page.index('<section id="sure">') : page.index('<section id="effects">')]
    assert made.title in section and made.said in section and made.alt in section
    assert f"<caption>{made.table.caption}</caption>" in section
    assert section.count('<th scope="row">') == len(made.table.rows)
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))  # of its maps, too


def test_report__growth_of_a_single_setting__says_why_it_is_not_there(tmp_path: Path) -> None:
    folder = write_study(tmp_path / "cap", "dial")
    assert run(["report", str(folder), "--growth"]) == 0
    words = "How the window grew with the shots cannot be drawn"
    assert words in (folder / "out" / "report.html").read_text("utf-8")
    assert words not in report_page("dial")


def test_report__growth_with_setup__is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["report", str(tmp_path), "--setup", "--growth"]) == 2
    assert "--growth is for the report" in capsys.readouterr().err


def test_report_html__a_single_setting__nothing_said_of_others_or_of_a_map() -> None:
    one, two = _plain(report_page("dial")), _plain(report_page("map"))
    of_several = (
        "A map to move about in",
        "the arrow keys or a click",
        "a panel for each pair of settings",
        "the others kept in the middle",
        "combination of marks within",
        "of every setting together",
        "Moved most: fill and flash by pressure",
    )
    assert [words for words in of_several if words not in two] == []
    assert [words for words in of_several if words in one] == []
    for words in (
        "A ruler to move about in Move the setting by one mark with - and +; everything",
        "(12 factorial), in running order, upward, pressure at 6 values",
        "The setting turned up; the numbers hold",
        "Every mark within the range lies in the window that it is named after",
    ):
        assert words in one


def _explained(name: str) -> list[str]:
    words = report_page(name).split('<section id="words">')[1].split("</section>")[0]
    return re.findall(r"<dt>(.*?)</dt>", words)


def test_report_html__words_explained__those_that_the_page_uses() -> None:
    full = _explained("cube")
    assert full == [word.replace("'", "&#39;") for word, _, _ in WORDS]
    assert {word for word in full if word not in _explained("dial")} == {
        "balance",  # of several cavities
        "Lenth&#39;s margin",  # of several effects
    }


def test_report_html__a_word_within_packed_numbers__is_no_word() -> None:
    packed = '<script>"R2 VIF"</script><svg><path id="p draws"/></svg><p id="window">edges</p>'
    assert [word for word, _ in glossary(packed, "90 %")] == ["edge"]


def test_setpoint_table__range_of_one_mark__told_as_one_setting() -> None:
    found = findings("map")
    assert found.ranges is not None
    low = found.ranges.low
    table = setpoint_table(replace(found, ranges=replace(found.ranges, high=low)))
    assert table is not None
    factors = found.study.factors
    ends = [f"{f.text(float(f.marks[m]))} (1 mark)" for f, m in zip(factors, low, strict=True)]
    assert [row[3] for row in table.rows] == ends
