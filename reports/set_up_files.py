"""A study's folder -> its set-up sheet as files in out/."""

from pathlib import Path

from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import cautions
from shotwindow.doe.store import disk_told, write_whole
from shotwindow.reports.attempt_verdicts import last_judged
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.priors import MOLDING
from shotwindow.reports.set_up import SETTING_HEADS, SIGN_OFF, UNHELD, SetUp, set_up
from shotwindow.reports.set_up_pdf import set_up_pdf, type_size
from shotwindow.reports.sheet_page import PAPERS
from shotwindow.reports.templates import filled


def write_set_up(
    folder: Path, paper: str, *, seed: int, prior: str = MOLDING
) -> tuple[tuple[Path, ...], Findings]:
    """Write out/set-up.pdf and out/set-up.html; return where they are, and what they rest on.

    Raises
    ------
    StudyError
        With everything that is wrong in the study or its runs, or if no shot has a result.
    Unanswerable
        If there is no setpoint, or the attempt to confirm it cannot be judged.
    """
    found = read_findings(folder, seed=seed, prior=prior)
    said = cautions(found.study, find_card(found.study.material.name, folder))
    judged = last_judged(folder) if found.setpoint is not None else None
    sheet = set_up(found, judged, said)
    with disk_told(folder / "out"):
        (folder / "out").mkdir(exist_ok=True)
    paths = tuple(folder / "out" / f"set-up.{kind}" for kind in ("pdf", "html"))
    for path, data in zip(
        paths, (set_up_pdf(sheet, paper), set_up_html(sheet, paper).encode()), strict=True
    ):
        write_whole(path, data)
    return paths, found


def set_up_html(sheet: SetUp, paper: str = "a4") -> str:
    """Return the page for "a4" or "letter" paper."""
    return filled(
        "set_up.html",
        sheet=sheet,
        paper=PAPERS[paper],
        size=type_size(sheet, paper),
        heads=SETTING_HEADS,
        signs=SIGN_OFF,
        unheld=UNHELD,
    )
