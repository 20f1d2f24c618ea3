"""Invented studies with invented shots, written into folders as the commands find them."""

from collections.abc import Iterable
from pathlib import Path

from invented_shots import STUDIES, planned, recorded

from shotwindow.doe.plans import Plan
from shotwindow.doe.rows import Row, row_cells
from shotwindow.doe.runs import write_plan
from shotwindow.doe.session import Session, open_session
from shotwindow.doe.study import read_study


def write_study(folder: Path, name: str) -> Path:
    """Write an invented study with its shots into a folder."""
    return write_folder(folder, STUDIES[name][0], planned(name), recorded(name))


def write_folder(folder: Path, text: str, plan: Plan, rows: Iterable[Row]) -> Path:
    """Write a study's text, its plan and its shots into a folder, as the commands would."""
    folder.mkdir()
    (folder / "study.toml").write_text(text, encoding="utf-8")
    made = read_study(folder)
    write_plan(folder, made, plan)
    with open_session(folder, made) as session:
        for row in rows:
            _accept(session, row)
    return folder


def _accept(session: Session, row: Row) -> None:
    cells = row_cells(session.study, session.layout, row)
    names = (*session.layout.fill, *session.layout.flash, "other")
    session.accept(row.shot, {n: cells[n] for n in names if cells.get(n)}, sure=True)


def shoot_open(folder: Path, fill: str = "100", bad: int = 0) -> None:
    """Record every open shot as good; the first `bad` of the fitted ones as short."""
    with open_session(folder, read_study(folder)) as session:
        while (row := session.next_shot()) is not None:
            short = bad > 0 and row.kind != "warm-up"
            bad -= short
            values = {} if row.kind == "warm-up" else {
                session.layout.fill[0]: "96" if short else fill, session.layout.flash[0]: "0.04",
            }  # fmt: skip
            session.accept(row.shot, values, sure=True)
