"""The set-up sheet on paper: one page always, the same bytes, nobody's markup obeyed."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from benchmarks.report_speed import large
from browser import open_window
from invented_shots import findings
from test_analysis import _folder
from test_sheet_page import NASTY, Seen
from test_sheet_pdf import contents

from shotwindow.cli.main import run
from shotwindow.doe.attempts import Attempt
from shotwindow.doe.cautions import CAUTIONS, cautions
from shotwindow.models.judgement import CONFIRMED, Judgement
from shotwindow.reports.attempt_verdicts import Judged
from shotwindow.reports.findings import find
from shotwindow.reports.set_up import SIGN_OFF, UNHELD, SetUp, set_up
from shotwindow.reports.set_up_files import set_up_html
from shotwindow.reports.set_up_pdf import SIZES, set_up_pdf, type_size


def _sheet(name: str = "map", **told: object) -> SetUp:
    sheet = set_up(findings(name), None, CAUTIONS)
    return SetUp(**{**vars(sheet), **told})


def _pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type /Page\b", pdf))


@pytest.mark.parametrize(("paper", "size"), [("a4", (595.2756, 841.8898)), ("letter", (612, 792))])
def test_set_up_pdf__paper__one_page_as_asked_and_same_bytes(
    paper: str, size: tuple[float, float]
) -> None:
    pdf = set_up_pdf(_sheet(), paper)
    box = re.search(rb"/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \]", pdf)
    assert box is not None
    assert (float(box[1]), float(box[2])) == pytest.approx(size, abs=0.01)
    assert _pages(pdf) == 1
    assert set_up_pdf(_sheet(), paper) == pdf


def test_set_up_pdf__more_than_fits__still_one_page() -> None:
    full = _sheet()
    crowded = replace(
        full, settings=full.settings * 4, facts=full.facts * 4, minding=full.minding * 8
    )
    assert _pages(set_up_pdf(crowded, "letter")) == 1


def _heights(pdf: bytes) -> list[float]:
    return [float(up) for up in re.findall(rb"/MediaBox \[ ?0 0 [0-9.]+ ([0-9.]+)", pdf)]


def test_set_up__eight_factors__one_page_from_a_browser_too(tmp_path: Path) -> None:
    study, rows, _ = large(3, 1)
    told = replace(study, title="Invented lid", material=replace(study.material, name="acetal"))
    found = replace(find(study, rows), study=told)
    attempt = Attempt(2, 0.95, 0.9, 0, 2, (3.0,) * 8, (), (), 0.8, 1, "molding", "")
    judgement = Judgement(CONFIRMED, 45, 0, 3, 0.953, 0.86, 0, 0, 1.0, (), 2, (0, 0))
    sheet = set_up(found, Judged(attempt, judgement, found, None, ()), cautions(told))
    assert len(sheet.settings) == 8
    with open_window(tmp_path / "profile") as window:
        for paper, height in (("a4", 842), ("letter", 792)):
            assert _pages(set_up_pdf(sheet, paper)) == 1
            page = tmp_path / f"{paper}.html"
            page.write_text(set_up_html(sheet, paper), encoding="utf-8")
            window.open(page.as_uri())
            assert _heights(window.printed()) == pytest.approx([height], abs=1), paper


def test_type_size__more_lines__smaller_type_and_tables_as_wide_as_the_page() -> None:
    few = _sheet()
    more = replace(few, settings=few.settings * 4)
    crowded = replace(more, minding=few.minding * 8)
    sizes = [type_size(sheet, "letter") for sheet in (few, more, crowded)]
    assert sizes[0] == 100 and sizes[0] > sizes[1] > sizes[2] == SIZES[-1]
    assert type_size(more, "a4") > sizes[1]  # it is longer
    # a page that is drawn smaller as a whole leaves a strip beside its tables
    scales = {
        scale
        for page in contents(set_up_pdf(more, "letter"))
        for scale in re.findall(rb"^(\S+ \S+ \S+ \S+) \S+ \S+ cm", page, re.MULTILINE)
    }
    assert scales == {b"1 0 0 1"}


def test_set_up_html__everything__is_on_it() -> None:
    sheet = _sheet()
    text = " ".join(Seen(set_up_html(sheet)).text.split())
    wanted = [sheet.status, sheet.proof, sheet.ranges, sheet.data, *sheet.starting, *sheet.good]
    wanted += [*sheet.minding, *sheet.cautions, *SIGN_OFF, *(t for f in sheet.facts for t in f)]
    wanted += [text for line in sheet.settings for text in vars(line).values()]
    assert [words for words in wanted if words not in text] == []


def test_set_up__a_setpoint_that_cannot_be_held__warned_in_the_frame() -> None:
    sheet = _sheet("coarse")
    for each, times in ((sheet, 1), (replace(sheet, warning=""), 0)):
        frame = set_up_html(each).split('<div class="status">')[1].split("</div>")[0]
        assert frame.count(f"<b>{UNHELD}</b>") == frame.count("The press cannot hold") == times
        assert "<b>NOT CONFIRMED</b>" in frame
    (warned,), (silent,) = (contents(set_up_pdf(s)) for s in (sheet, replace(sheet, warning="")))
    assert warned.count(b" Tj") > silent.count(b" Tj")


def test_set_up_html__nothing__is_loaded_or_obeyed() -> None:
    page = set_up_html(_sheet(title=NASTY), "letter")
    seen = Seen(page)
    assert not {"src", "href", "action"} & {k for _, attrs in seen.tags for k in attrs}
    assert seen.of("script") == 0 and NASTY in seen.text and "size: letter portrait" in page


def test_report_setup__a_folder__both_files_and_their_names(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = _folder(tmp_path, "dial")
    assert run(["report", folder, "--setup", "--paper", "letter"]) == 0
    out, err = capsys.readouterr()
    assert "set-up.pdf" in out and "set-up.html" in out and "set-up.pdf" in err
    assert not (tmp_path / "out" / "report.html").exists()
    page = (tmp_path / "out" / "set-up.html").read_text("utf-8")
    assert "NOT CONFIRMED" in page
    before = (tmp_path / "out" / "set-up.pdf").read_bytes()
    assert run(["report", folder, "--setup", "--paper", "letter"]) == 0
    assert (tmp_path / "out" / "set-up.pdf").read_bytes() == before


def test_report_setup__no_setpoint__exit_3_and_no_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = _folder(tmp_path, "short")
    assert run(["report", folder, "--setup"]) == 3
    assert "No set-up sheet without a setpoint" in capsys.readouterr().err
    assert not (tmp_path / "out" / "set-up.pdf").exists()
