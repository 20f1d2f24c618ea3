"""The page of a blind list: judged as other pages are, and safe whatever a title holds."""

from pathlib import Path

from browser import PHONE, open_window
from page_checks import access_faults, markup_faults
from sheets import EYE, MASS

from shotwindow.doe.blind_lists import BlindList, Part
from shotwindow.doe.study import parse_study
from shotwindow.reports.blind_sheet import blind_html, blind_sheet

LISTED = BlindList("fill", tuple(Part(s, "fill (%)", f"{s}-1") for s in range(3, 23)), 1, "")


def page(folder: Path, title: str = "Invented") -> Path:
    sheet = blind_sheet(parse_study(f"title = '{title}'\n" + EYE), LISTED)
    path = folder / "blind.html"
    path.write_text(blind_html(sheet), encoding="utf-8")
    return path


def test_blind_html__access_on_a_phone__nothing_against_it(tmp_path: Path) -> None:
    made = page(tmp_path)
    with open_window(tmp_path / "profile", PHONE) as window:
        window.open(made.as_uri())
        assert window.width_of_content() <= PHONE[0]
        assert access_faults(window) == []


def test_blind_html__markup__as_the_standard_has_it(tmp_path: Path) -> None:
    assert markup_faults([page(tmp_path)]) == []


def test_blind_html__title_with_markup__shown_as_text(tmp_path: Path) -> None:
    text = page(tmp_path, "<b>x</b>").read_text("utf-8")
    assert "<b>x</b>" not in text and "&lt;b&gt;x" in text


def test_blind_sheet__worst_of_a_shot__says_to_read_all_its_parts() -> None:
    flash = BlindList("flash", (Part(7, "flash (mm)", "7-all"),), 1, "")
    sheet = blind_sheet(parse_study(MASS), flash)
    assert any("7-all is all parts of shot 7: read the worst" in rule for rule in sheet.how)
    assert sheet.how[0].startswith("Flash") and sheet.heading == "flash (mm)"
