"""A study's folder -> its run sheets as files in out/."""

from collections.abc import Sequence
from pathlib import Path

from shotwindow.doe.blind_lists import draw_parts, keep_list
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import cautions
from shotwindow.doe.regrading import second_persons
from shotwindow.doe.runs import read_runs
from shotwindow.doe.session import open_session
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
        paths.append(_written(folder, f"sheet.{kind}", data))
    return tuple(paths)


def write_blind_list(
    folder: Path, kinds: Sequence[str], paper: str, response: str, *, count: int, seed: int
) -> tuple[tuple[Path, ...], int, tuple[str, ...]]:
    """Draw a blind list and write it.

    Parameters
    ----------
    folder : Path
    kinds : sequence of str
        "html" or "xlsx".
    paper : str
    response : str
        "fill" or "flash".
    count, seed : int
        How many parts, and what the lot goes by.

    Returns
    -------
    paths : tuple of Path
    listed : int
        Parts on the list.
    dropped : tuple of str
        Who read parts of the list before, which this one replaces.

    Raises
    ------
    StudyError
        If no part is recorded on one side of the limit, or somebody else is writing.
    """
    from shotwindow.reports.blind_sheet import blind_html, blind_sheet, blind_workbook

    study = read_study(folder)
    with open_session(folder, study) as session:
        session.take_edits()
        layout = session.layout
        before = second_persons(folder, study, layout, response)
        parts = draw_parts(study, layout, session.rows, response, count=count, seed=seed)
        listed = keep_list(folder, session, response, parts)
    sheet = blind_sheet(study, listed)
    data = {
        "html": lambda: blind_html(sheet, paper).encode(),
        "xlsx": lambda: blind_workbook(study, layout, listed, sheet),
    }
    paths = tuple(_written(folder, f"blind-{response}.{kind}", data[kind]()) for kind in kinds)
    dropped = () if second_persons(folder, study, layout, response) else before
    return paths, len(parts), dropped


def _written(folder: Path, name: str, data: bytes) -> Path:
    path = folder / "out" / name
    with disk_told(path.parent):
        path.parent.mkdir(exist_ok=True)
    write_whole(path, data)
    return path
