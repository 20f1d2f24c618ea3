"""A study's folder -> its run sheets as files in out/."""

from collections.abc import Sequence
from pathlib import Path

from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import cautions
from shotwindow.doe.runs import read_runs
from shotwindow.doe.store import disk_told, write_whole
from shotwindow.doe.study import read_study
from shotwindow.reports.sheet import current_layout, run_sheet
from shotwindow.reports.sheet_page import sheet_html


def write_sheets(folder: Path, kinds: Sequence[str], paper: str) -> tuple[Path, ...]:
    """Write the run sheet as "html", "pdf" or "xlsx" and return where the files are.

    Raises
    ------
    StudyError
        If there is no plan, or something is wrong in the study or its runs.
    """
    study = read_study(folder)
    rows, layout = read_runs(folder, study), current_layout(folder, study)
    said = cautions(study, find_card(study.material.name, folder))
    sheet = run_sheet(study, layout, rows, said)
    with disk_told(folder / "out"):
        (folder / "out").mkdir(exist_ok=True)
    paths = []
    for kind in kinds:
        if kind == "html":
            data = sheet_html(sheet, paper).encode()
        elif kind == "pdf":
            from shotwindow.reports.sheet_pdf import sheet_pdf  # slow to load

            data = sheet_pdf(sheet, paper)
        else:
            from shotwindow.reports.workbook import workbook  # slow to load

            data = workbook(study, layout, rows, said)
        paths.append(folder / "out" / f"sheet.{kind}")
        write_whole(paths[-1], data)
    return tuple(paths)
