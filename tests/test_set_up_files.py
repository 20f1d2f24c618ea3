"""The set-up sheet on paper: one page always, the same bytes, nobody's markup obeyed."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from invented_shots import findings
from test_analysis import _folder
from test_sheet_page import NASTY, Seen

from shotwindow.cli.main import run
from shotwindow.doe.cautions import CAUTIONS
from shotwindow.reports.set_up import SIGN_OFF, SetUp, set_up
from shotwindow.reports.set_up_files import set_up_html
from shotwindow.reports.set_up_pdf import set_up_pdf


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


def test_set_up_html__everything__is_on_it() -> None:
    sheet = _sheet()
    text = " ".join(Seen(set_up_html(sheet)).text.split())
    wanted = [sheet.status, sheet.proof, sheet.ranges, sheet.data, *sheet.starting, *sheet.good]
    wanted += [*sheet.minding, *sheet.cautions, *SIGN_OFF, *(t for f in sheet.facts for t in f)]
    wanted += [text for line in sheet.settings for text in vars(line).values()]
    assert [words for words in wanted if words not in text] == []


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
