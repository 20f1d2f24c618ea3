"""Shots whose parts are weighed later -> answers that wait in the journal until the masses come.

Such a shot is made but not recorded: its answers are drafts, and one of them is when it was made.
"""

from collections.abc import Mapping
from dataclasses import replace

from shotwindow.doe.answers import readers
from shotwindow.doe.columns import Layout
from shotwindow.doe.history import DRAFT, drafts, last_undoable
from shotwindow.doe.journal import Entry
from shotwindow.doe.records import now
from shotwindow.doe.rows import Row, part_labels
from shotwindow.doe.safety import shots_to_skip
from shotwindow.doe.session import Session
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell

_MADE = "made_at"


def waiting_shots(session: Session) -> tuple[int, ...]:
    """Return the shots that were made and wait for the balance, in running order."""
    typed = drafts(session.entries)
    return tuple(
        row.shot
        for row in session.rows
        if row.outcome == "open" and typed.get(row.shot, {}).get(_MADE)
    )


def next_to_make(session: Session) -> Row | None:
    """Return the first shot that is still to be made; None when all are made."""
    waiting = waiting_shots(session)
    return next((r for r in session.rows if r.outcome == "open" and r.shot not in waiting), None)


def put_by(session: Session, shot: int) -> None:
    """Let a shot wait for its masses; its other answers are drafts already."""
    if session.who:
        session.draft(shot, "by", session.who)
    session.draft(shot, _MADE, now())


def answers_of(session: Session, shot: int) -> dict[str, str]:
    """Return what is known of a shot that waits, with who made it and when."""
    return {heading: text for heading, text in session.typed(shot).items() if text}


def labels(study: Study, shot: int) -> str:
    """Return what to write on the parts of a shot."""
    return "   ".join(part_labels(shot, study.cavities))


def newest_put_by(session: Session) -> Entry | None:
    """Return the entry that let a shot wait, if it is newer than all that can be undone."""
    waiting, last = waiting_shots(session), last_undoable(session.entries)
    for entry in reversed(session.entries):
        if last is not None and entry.seq < last.seq:
            return None
        made = entry.values.get(entry.shot or 0, {}).get(_MADE)
        if entry.action == DRAFT and entry.shot in waiting and made:
            return entry
    return None


def take_up(session: Session, shot: int) -> None:
    """Let a shot that waits be asked for again."""
    session.draft(shot, _MADE, "")


def skip_hotter(session: Session, row: Row) -> tuple[int, ...]:
    """Skip the planned shots above a heavily flashed one, but none that is made already.

    Parameters
    ----------
    session : Session
    row : Row
        The shot as it was read, recorded or not.

    Returns
    -------
    tuple of int
        What was skipped. It is on the disk before the shot itself is, so that a crash between
        the two errs to the safe side.
    """
    rows = [row if other.shot == row.shot else other for other in session.rows]
    waiting = waiting_shots(session)
    hotter = [s for s in shots_to_skip(session.study, rows, [row.shot]) if s not in waiting]
    if hotter:
        session.skip(hotter, f"skipped: heavy flash at shot {row.shot}")
    return tuple(hotter)


def read_row(study: Study, layout: Layout, row: Row, values: Mapping[str, str]) -> Row:
    """Return a row with answers in it that were checked one by one."""
    reading = readers(study, layout)
    read = {heading: reading[heading](Cell(text, 0, 0)) for heading, text in values.items() if text}
    return replace(
        row,
        actual=tuple(_number(read.get(heading)) for heading in layout.actual),
        fill=tuple(_number_or_word(read.get(heading)) for heading in layout.fill),
        flash=tuple(_number(read.get(heading)) for heading in layout.flash),
    )


def _number(value: object) -> float | None:
    return value if isinstance(value, int | float) else None


def _number_or_word(value: object) -> float | str | None:
    return value if isinstance(value, int | float | str) else None
