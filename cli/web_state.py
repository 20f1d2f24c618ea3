"""The session, as it stands -> everything that the page shows."""

from collections.abc import Sequence
from typing import Any

from shotwindow.cli.later import labels, newest_put_by, waiting_shots
from shotwindow.cli.web_bench import Bench, newest_about, typed_answers
from shotwindow.cli.web_fields import field_for
from shotwindow.cli.wording import entry_text, moves_to, shot_title
from shotwindow.doe.history import last_undoable
from shotwindow.doe.rows import WARM_UP, Row, row_cells
from shotwindow.doe.session import Session


def state_fields(bench: Bench, focus: int | None, soak_left_s: int) -> dict[str, Any]:
    """Return what the page shows, as JSON holds it.

    Parameters
    ----------
    bench : Bench
    focus : int or None
        An earlier shot that the page has open.
    soak_left_s : int
        Seconds that the press still soaks.
    """
    session = bench.session
    made = [row for row in session.rows if row.outcome != "open"]
    return {
        "title": session.study.title,
        "recorded": len(made),
        "total": len(session.rows),
        "shot": None if _is_all_made(bench) else _shot_fields(bench, soak_left_s),
        "focus": _focus_fields(session, focus),
        "waiting": [
            {"shot": shot, "labels": labels(session.study, shot)} for shot in waiting_shots(session)
        ],
        "done": [_done_fields(session, row) for row in reversed(made)],
        "undo": _undo_fields(session),
        "actual": bench.actual,
        "news": bench.news,
    }


def _is_all_made(bench: Bench) -> bool:
    row = bench.at_press
    if row is None:
        return True
    waits = row.shot in waiting_shots(bench.session)
    return waits or bench.session.row(row.shot).outcome != "open"


def _shot_fields(bench: Bench, soak_left_s: int) -> dict[str, Any]:
    """Return the shot that is to be made: what to set for it, and what is asked about it."""
    session, row = bench.session, bench.at_press
    assert row is not None
    study, rows = session.study, session.rows
    left = [r for r in rows if r.kind == WARM_UP and r.outcome == "open" and r.group == row.group]
    moves = moves_to(study, row, bench.before)
    soaks = bench.soak_min > 0 and (soak_left_s > 0 or not bench.soaks)
    first = bench.before is None
    layout = session.layout
    headings = (*(layout.actual if bench.actual else ()), *layout.readings, "other")
    return {
        "shot": row.shot,
        "seen": newest_about(session, row.shot),
        "title": shot_title(row, len(left), rows[-1].shot),
        "moves": [
            {
                "name": move.factor.name.replace("_", " "),
                "value": move.factor.text(move.value),
                "unit": move.factor.unit,
                "remark": move.remark,
            }
            for move in moves
        ],
        "held": [f"{held.name.replace('_', ' ')} {held.text}" for held in study.held]
        if first
        else [],
        "soak": {"minutes": bench.soak_min, "left_s": soak_left_s, "runs": bench.soaks}
        if soaks
        else None,
        "stood": bench.stood,
        "warm_up": row.kind == WARM_UP,
        "fields": [] if row.kind == WARM_UP else _open_fields(session, row, headings),
    }


def _open_fields(session: Session, row: Row, headings: Sequence[str]) -> list[dict[str, Any]]:
    typed = typed_answers(session, row.shot)
    more = [heading for heading in typed if heading not in headings]  # entered before a change
    study, layout = session.study, session.layout
    return [field_for(study, layout, row, h, typed.get(h, "")) for h in (*more, *headings)]


def _focus_fields(session: Session, shot: int | None) -> dict[str, Any] | None:
    """Return an earlier shot with what can be weighed or corrected."""
    row = next((row for row in session.rows if row.shot == shot), None)
    if row is None:
        return None
    study, layout = session.study, session.layout
    fields: list[dict[str, Any]] = []
    waits = row.shot in waiting_shots(session)
    if waits:
        fields = _open_fields(session, row, (*layout.readings, "other"))
    elif row.outcome == "ok" and row.kind != WARM_UP:
        cells = row_cells(study, layout, row)
        asked = (*(name for name in layout.actual if cells[name]), *layout.readings, "other")
        fields = [field_for(study, layout, row, name, cells[name]) for name in asked]
    return {
        "shot": row.shot,
        "seen": newest_about(session, row.shot),
        "labels": labels(study, row.shot) if waits else "",
        "outcome": row.outcome,
        "fields": fields,
    }


def _done_fields(session: Session, row: Row) -> dict[str, Any]:
    layout = session.layout
    cells = row_cells(session.study, layout, row)
    read = [
        f"{name} {cells[name]}" for name in (*layout.actual, *layout.readings) if cells.get(name)
    ]
    outcome = "warm-up" if row.kind == WARM_UP and row.outcome == "ok" else row.outcome
    return {
        "shot": row.shot,
        "seen": newest_about(session, row.shot),
        "outcome": outcome,
        "text": "; ".join([*read, *([f"rejected: {row.other}"] if row.other else [])]),
        "note": row.note,
        "by": row.by,
    }


def _undo_fields(session: Session) -> dict[str, Any] | None:
    waits = newest_put_by(session)
    entry = waits or last_undoable(session.entries)
    if entry is None:
        return None
    text = f"waiting of shot {entry.shot}" if waits else entry_text(entry)
    return {"seq": entry.seq, "text": text}
