"""Sheets that a real spreadsheet program wrote are read back as they were filled in."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from openpyxl import load_workbook
from sheets import EYE, study_in

from shotwindow.doe.errors import StudyError
from shotwindow.doe.runs import read_runs
from shotwindow.doe.session import open_session
from shotwindow.doe.study import parse_study
from shotwindow.doe.tables import read_table
from shotwindow.reports.sheet_files import write_sheets

pytestmark = pytest.mark.skipif(
    shutil.which("soffice") is None and os.environ.get("CI") != "true",
    reason="LibreOffice (soffice) is not installed",
)
# Separator, quote, character set (76 is UTF-8), first line, formats, language, and then: quote
# all text, detect numbers, as shown. From LibreOffice's help page on filter options for CSV.
COMMA = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,true"
SEMICOLON = "csv:Text - txt - csv (StarCalc):59,34,76,1,,0,false,true,true"
TAB = "csv:Text - txt - csv (StarCalc):9,34,76,1,,0,false,true,true"
NOTES = {3: "=2+3", 4: "+cold", 5: "-slow", 6: "@gate", 7: "<b>für</b>; a, b"}


@pytest.fixture(scope="module")
def profile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("profile")


def converted(file: Path, into: str, profile: Path, locale: str = "") -> Path:
    """Let the program open a file and save it, with the number format of a country."""
    if locale:
        settings = profile / "user" / "registrymodifications.xcu"
        settings.parent.mkdir(parents=True, exist_ok=True)
        settings.write_text(
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            '<oor:items xmlns:oor="http://openoffice.org/2001/registry">'
            '<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" '
            f'oor:op="fuse"><value>{locale}</value></prop></item></oor:items>'
        )
    out = file.parent / f"by-{into[:3]}{locale}"
    subprocess.run(
        [
            "soffice",
            f"-env:UserInstallation={profile.as_uri()}",
            "--headless",
            "--convert-to",
            into,
            "--outdir",
            str(out),
            str(file),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    return next(out.glob(f"{file.stem}*"))


def filled_sheet(folder: Path) -> Path:
    """Fill in our own sheet with numbers, words, a formula and notes like formulas."""
    study_in(folder)
    (path,) = write_sheets(folder, ["xlsx"], "a4")
    book = load_workbook(path)
    table = book["runs"]
    heads = {cell.value: cell.column for cell in table[1]}
    for row in range(4, 10):
        shot = table.cell(row, heads["shot"]).value
        table.cell(row, heads["fill (%)"], 90.5 + shot)
        table.cell(row, heads["flash (mm)"], 0.04)
        if shot in NOTES:
            cell = table.cell(row, heads["note"], NOTES[shot])
            cell.data_type = "s"
    # LibreOffice works this out and stores the value, which openpyxl does not.
    table.cell(4, heads["fill (%)"], "=90+3.5")
    book.save(path)
    return path


def assert_taken(folder: Path, file: Path) -> None:
    study = parse_study(EYE)
    with open_session(folder, study) as session:
        session.take_table(file.name, file.read_bytes())
    rows = {row.shot: row for row in read_runs(folder, study)}
    assert [rows[shot].fill[0] for shot in range(3, 9)] == [93.5, 94.5, 95.5, 96.5, 97.5, 98.5]
    assert {rows[shot].flash for shot in range(3, 9)} == {(0.04,)}
    assert {shot: rows[shot].note for shot in NOTES} == NOTES


def test_saved_as_xlsx_and_by_way_of_ods__taken(tmp_path: Path, profile: Path) -> None:
    sheet = filled_sheet(tmp_path)
    with open_session(tmp_path, parse_study(EYE)) as session, pytest.raises(StudyError) as caught:
        session.take_table(sheet.name, sheet.read_bytes())
    assert "a formula without a stored value" in str(caught.value)
    ods = converted(sheet, "ods", profile)
    assert_taken(tmp_path, converted(ods, "xlsx", profile))


def test_saved_as_xlsx__taken(tmp_path: Path, profile: Path) -> None:
    assert_taken(tmp_path, converted(filled_sheet(tmp_path), "xlsx", profile))


@pytest.mark.parametrize(
    ("locale", "form", "shown"),
    [
        ("en-US", COMMA, "94.5"),
        ("de-DE", SEMICOLON, "94,5"),
        ("fr-FR", TAB, "94,5"),
        ("de-CH", SEMICOLON, "94.5"),
    ],
)
def test_saved_as_csv__in_each_locale__taken(
    tmp_path: Path, profile: Path, locale: str, form: str, shown: str
) -> None:
    file = converted(filled_sheet(tmp_path), form, profile, locale)
    table = read_table(file.name, file.read_bytes())
    column = [cell.text for cell in table.header].index("fill (%)")
    assert table.rows[3][column].text == shown  # the locale was really used
    assert_taken(tmp_path, file)
