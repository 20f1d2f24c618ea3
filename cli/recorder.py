"""What `record` and `history` do and print."""

import json
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from shotwindow.cli.asking import take_shots, weigh_shots
from shotwindow.cli.commands import report_edits
from shotwindow.cli.console import hint, say, show
from shotwindow.cli.keyboard import Screen, has_keys
from shotwindow.cli.so_far import SoFar
from shotwindow.cli.taking import Desk
from shotwindow.cli.wording import shots_text
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import cautions
from shotwindow.doe.errors import StudyError
from shotwindow.doe.guards import passed
from shotwindow.doe.history import DRAFT, Change, Values, changes, render, replay
from shotwindow.doe.journal import JOURNAL, Entry
from shotwindow.doe.rows import Row
from shotwindow.doe.saving import Saved
from shotwindow.doe.session import Session

_SCHEMA = 1


def record_shots(session: Session, folder: Path, *, actual: bool, plain: bool, weigh: bool) -> None:
    """Say the cautions and ask for shots; go on with actual settings where they were begun.

    Parameters
    ----------
    session : Session
    folder : Path
    actual : bool
        Ask for actual settings.
    plain : bool
        Plain lines even at a terminal that could do more.
    weigh : bool
        Ask only for the masses of shots that wait for the balance.
    """
    if session.torn is not None:
        say("A crash tore the last line of the journal; it was never saved, and is put aside.")
    screen = Screen(by_key=has_keys() and not plain)
    if weigh:
        report_first_edits(session)
        weigh_shots(Desk(session, screen))
        return
    say_guards(session, folder)
    report_first_edits(session)
    say("Type ? at any question for the keys.")
    begun = has_actual(session)
    card = find_card(session.study.material.name, folder)
    so_far = SoFar(folder) if sys.stdin.isatty() else None
    try:
        take_shots(Desk(session, screen, actual or begun, card, so_far))
    finally:
        if so_far is not None:
            so_far.stop()


def say_guards(session: Session, folder: Path) -> tuple[str, ...]:
    """Say the cautions and what must be known before the next shot, and return both.

    Raises
    ------
    StudyError
        If what is still to be shot is refused.
    """
    study = session.study
    card = find_card(study.material.name, folder)
    told = cautions(study, card)
    for caution in told:
        say(f"- {caution}")
    ahead = [row.settings for row in session.rows if row.outcome == "open"]
    guards = tuple(map(str, passed("record", study, card, ahead))) if ahead else ()
    for guard in guards:
        say(guard, kind="warning")
    return (*told, *guards)


def record_from_file(session: Session, source: Path, *, take_good: bool) -> Saved:
    """Take a filled-in sheet back and say what it changed."""
    report_first_edits(session)
    saved = session.take_table(source.name, source.read_bytes(), take_good=take_good)
    for problem in saved.questions:
        say(str(problem), kind="warning")
    for problem in saved.refused:
        say(f"left out: {problem}", kind="warning")
    if not saved.values:
        besides = "apart from what was left out " if saved.refused else ""
        say(f"Nothing taken from {source.name}: {besides}it is empty, or recorded already.")
        return saved
    say(f"Taken from {source.name}: {shots_text(saved.values)}.")
    for change in changes(session.entries):
        if change.entry == session.entries[-1] and change.before and change.shot in saved.values:
            what = f"shot {change.shot}, {change.column}: {change.before} became {change.after}"
            say(what, kind="warning")
    _report_skipped(saved.skipped)
    return saved


def has_actual(session: Session) -> bool:
    """Return whether the newest shot that says something came with actual settings."""
    recorded = [row for row in session.rows if row.is_fitted]
    return bool(recorded) and any(value is not None for value in recorded[-1].actual)


def report_first_edits(session: Session) -> None:
    """Take what was changed in runs.csv since the last time, and say what that was."""
    edits = session.take_edits()
    report_edits(edits.values, edits.put_back)
    _report_skipped(edits.skipped)


def _report_skipped(shots: Sequence[int]) -> None:
    if shots:
        text = "Heavy flash. Now skipped, being at least as high in every setting:"
        say(f"{text} {shots_text(shots)}. (At the press, b 7 brings shot 7 back.)", kind="warning")


def show_summary(
    folder: str,
    rows: Sequence[Row],
    *,
    as_json: bool,
    taken: Saved | None = None,
    waiting: Sequence[int] = (),
) -> None:
    """Print how far the recording has come, and in JSON what was `taken` from a file.

    Shots that are `waiting` for the balance are made, but not recorded.
    """
    outcomes = {
        outcome: [row.shot for row in rows if row.outcome == outcome]
        for outcome in ("ok", "no part", "void", "skipped", "open")
    }
    following = next((shot for shot in outcomes["open"] if shot not in waiting), None)
    if as_json:
        fields = {"schema": _SCHEMA, "shots": outcomes, "next": following}
        fields["to_weigh"] = list(waiting)
        if taken is not None:
            fields |= {"taken": list(taken.values), "left_out": list(map(str, taken.refused))}
        show(json.dumps(fields, ensure_ascii=False))
        return
    recorded = len(rows) - len(outcomes["open"])
    aside = "".join(
        f", {len(shots)} {outcome}"
        for outcome, shots in outcomes.items()
        if shots and outcome not in ("ok", "open")
    )
    show(f"{recorded} of {len(rows)} shots are recorded{aside}.")
    if waiting:
        show(f"The parts of {shots_text(waiting)} wait for the balance, and do not count yet.")
    if waiting and following is None:
        hint(f"shotwindow record {folder} --weigh")
    elif following is not None:
        hint(f"shotwindow record {folder}")
    elif rows[-1].kind == "confirm":
        hint(f"shotwindow confirm {folder}   (for the verdict)")
    else:
        hint(f"shotwindow window {folder}")


def show_entries(entries: Sequence[Entry], shot: int | None, *, as_json: bool) -> None:
    """Print each entry with the cells that it changed, before and after, or what was typed."""
    by_entry: dict[int, list[Change]] = {entry.seq: [] for entry in entries}
    for change in changes(entries):
        if shot is None or change.shot == shot:
            by_entry[change.entry.seq].append(change)
    shown = [e for e in entries if shot is None or by_entry[e.seq] or shot in _typed_for(e)]
    if as_json:
        listed = [_entry_fields(entry, by_entry[entry.seq]) for entry in shown]
        show(json.dumps({"schema": _SCHEMA, "entries": listed}, ensure_ascii=False))
        return
    for entry in shown:
        about = f" shot {entry.shot}" if entry.shot is not None else ""
        undone = f" of entry {entry.undoes}" if entry.undoes is not None else ""
        who = f" by {entry.who}" if entry.who else ""
        show(f"{entry.seq:4d}  {entry.time}  {entry.action}{undone}{about}{who}")
        for change in by_entry[entry.seq]:
            before = f"{change.before} -> " if change.before else ""
            show(f"        shot {change.shot}, {change.column}: {before}{change.after or 'empty'}")
        for typed_for, cells in _typed_for(entry).items():
            for column, text in cells.items():
                show(f"        shot {typed_for}, {column}: typed {text or 'nothing'}")


def _typed_for(entry: Entry) -> Values:
    """Return the answers of a draft, which are in no row until their shot is accepted."""
    return entry.values if entry.action == DRAFT else {}


def _entry_fields(entry: Entry, changed: Sequence[Change]) -> dict[str, object]:
    return {
        "seq": entry.seq,
        "time": entry.time,
        "who": entry.who,
        "action": entry.action,
        "shot": entry.shot,
        "undoes": entry.undoes,
        "changes": [
            {"shot": c.shot, "column": c.column, "before": c.before, "after": c.after}
            for c in changed
        ],
        "typed": {str(shot): dict(cells) for shot, cells in _typed_for(entry).items()},
    }


def show_sheet(entries: Sequence[Entry], at: int, *, as_json: bool) -> None:
    """Print the run sheet as it was after an entry."""
    if not 1 <= at <= len(entries):
        expected = f"an entry from 1 to {len(entries)}"
        raise StudyError.one(JOURNAL, f"no entry {at}", expected)
    sheet = replay(entries[:at])
    if as_json:
        rows = [
            {name: cells.get(name, "") for name in sheet.columns} for cells in sheet.cells.values()
        ]
        show(json.dumps({"schema": _SCHEMA, "entry": at, "rows": rows}, ensure_ascii=False))
    else:
        click.echo(render(sheet).decode().replace("\r\n", "\n"), nl=False)
