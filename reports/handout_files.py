"""A study's folder -> the handout of its plan, or the answers apart, as files in out/."""

from pathlib import Path

from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import cautions
from shotwindow.doe.runs import read_plan
from shotwindow.doe.store import disk_told, write_whole
from shotwindow.doe.study import read_study
from shotwindow.reports.handout import empty_plot, handout
from shotwindow.reports.lesson import answers_html, lesson_html
from shotwindow.reports.lesson_pdf import lesson_pdf
from shotwindow.reports.theme import picture


def write_handout(folder: Path, paper: str, *, answers: bool) -> tuple[Path, ...]:
    """Write out/handout.html and .pdf, or out/handout-answers.*; return where they are.

    Raises
    ------
    StudyError
        If there is no plan, or something is wrong in the study.
    """
    study = read_study(folder)
    said = tuple(cautions(study, find_card(study.material.name, folder)))
    lesson = handout(study, read_plan(folder), said)
    page = answers_html if answers else lesson_html
    plot = picture(empty_plot(study), "png")
    files = {
        "html": page(lesson, paper).encode(),
        "pdf": lesson_pdf(lesson, paper, answers=answers, plot=plot),
    }
    with disk_told(folder / "out"):
        (folder / "out").mkdir(exist_ok=True)
    name = "handout-answers" if answers else "handout"
    paths = {folder / "out" / f"{name}.{kind}": data for kind, data in files.items()}
    for path, data in paths.items():
        write_whole(path, data)
    return tuple(paths)
