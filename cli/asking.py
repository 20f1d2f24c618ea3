"""Prompts and what is typed at them -> calls of the recorder: the press side in plain words.

Every answer is on the disk before the next question. The questions go to stderr and the answers
come as lines, from a keyboard or through a pipe alike.
"""

import re
import sys
from collections.abc import Callable, Sequence

import click

from shotwindow.cli.console import say
from shotwindow.cli.wording import announcement, changed_cells, question, shots_text
from shotwindow.doe.errors import StudyError
from shotwindow.doe.history import Values
from shotwindow.doe.rows import WARM_UP, Row, row_cells
from shotwindow.doe.saving import Saved
from shotwindow.doe.session import Session

KEYS = """\
  Enter  take what stands in brackets      u    undo: one answer back, or the last entry
  p      the shot gave no part             v    void: the shot says nothing about the mold
  n      write a note                      x    leave the shot out
  c 7    correct shot 7                    b 7  bring shot 7 back, to make it (again)
  ?      this list                         q    leave; everything is saved
  v and n take the number of an earlier shot too: v 5"""

_COMMAND = re.compile(r"([uvnpxcbq?])(?:\s+([0-9]+))?", re.IGNORECASE)


class Command(Exception):
    """A key was typed in place of an answer, with the shot that it is about if one was named."""

    def __init__(self, key: str, shot: int | None) -> None:
        self.key = key
        self.shot = shot


class Leaving(Exception):
    """The user leaves, or the answers have come to their end."""


def take_shots(session: Session, *, actual: bool = False) -> None:
    """Ask for one shot after the other until all are made or the user leaves.

    Parameters
    ----------
    session : Session
    actual : bool, optional
        Ask for the settings as they are read off the press, too.
    """
    at_press: Row | None = None  # the shot that the press is set for, once that is known
    command: Command | None = None
    try:
        while True:
            row = _next_shot(session)
            if row is not None and (at_press is None or row.shot != at_press.shot):
                say("\n" + announcement(session.study, row, at_press, session.rows[-1].shot))
                at_press = row
            try:
                if command is not None:
                    current, command = command, None
                    _obey(session, row, current)
                elif row is None:
                    _ask("All shots are recorded. Enter leaves, ? lists what else can be done")
                    return
                else:
                    _take(session, row, actual)
            except Command as typed:
                command = typed
            except StudyError as error:
                _tell(error)
    except Leaving:
        say("")


def _next_shot(session: Session) -> Row | None:
    """Return the next shot, after what was changed in runs.csv by hand is taken."""
    while True:
        try:
            taken = session.take_edits()
        except StudyError as error:
            _tell(error)
            _ask("Mend runs.csv, save it and press Enter; q leaves", free=True)
            continue
        report_edits(taken.values, taken.put_back)
        _report(session, taken)
        return session.next_shot()


def _take(session: Session, row: Row, actual: bool) -> None:
    """Ask for what a shot gave, and record it."""
    if row.kind == WARM_UP:
        _ask("Make the shot and set it aside; then Enter")
        _report(session, session.accept(row.shot, {}))
        return
    layout = session.layout
    planned = row_cells(session.study, layout, row)
    defaults = {f"actual {name}": planned[name] for name in layout.settings}
    defaults |= session.typed(row.shot)
    headings = (*(layout.actual if actual else ()), *layout.readings, "other")

    def keep(heading: str, text: str) -> None:
        if session.typed(row.shot).get(heading) != text:
            session.draft(row.shot, heading, text)

    values = _answers(session, headings, defaults, keep)
    if _sure(session, row.shot, values):
        saved = session.accept(row.shot, values, sure=True)
        say(f"Shot {row.shot} is saved.")
        _report(session, saved)


def _answers(
    session: Session,
    headings: Sequence[str],
    defaults: dict[str, str],
    keep: Callable[[str, str], None],
) -> dict[str, str]:
    """Ask for the cells of one shot; u goes back to the answer before."""
    values: dict[str, str] = {}
    while len(values) < len(headings):
        heading = headings[len(values)]
        asked = question(session.study, session.layout, heading)
        try:
            text = _ask(asked, default=defaults.get(heading, ""))
            if not text and heading != "other":
                say("A reading is needed here; p if there was no part, v if the shot is void.")
                continue
            keep(heading, text)
            values[heading] = defaults[heading] = text
        except Command as command:
            if command.key != "u" or not values:
                raise
            values.popitem()
        except StudyError as error:
            _tell(error)
    return values


def _sure(session: Session, shot: int, values: dict[str, str]) -> bool:
    questions = session.questions(shot, values)
    for problem in questions:
        say(str(problem), kind="warning")
    return not questions or _yes("Is it right all the same?")


def _obey(session: Session, row: Row | None, command: Command) -> None:
    """Do what a key asks for; without a number it is about the shot that is asked for now."""
    shot = command.shot if command.shot is not None or row is None else row.shot
    if command.key == "?":
        say(KEYS)
    elif command.key == "u":
        _undo(session)
    elif shot is None or (command.key in "cb" and command.shot is None):
        say(f"Which shot? Type its number too, for instance {command.key} 7")
    else:
        _ON_SHOT[command.key](session, shot)


def _undo(session: Session) -> None:
    entry = session.undo()
    if entry is None:
        say("There is nothing to undo.")
        return
    what = f"{entry.action} of shot {entry.shot}" if entry.shot is not None else entry.action
    say(f"Taken back: entry {entry.seq}, {what}.")


def _void(session: Session, shot: int) -> None:
    reason = _ask(f"Why is shot {shot} void", free=True)
    if not reason:
        say("Nothing is changed: a void shot needs its reason.")
        return
    _report(session, session.void(shot, reason))
    if _yes(f"Shot {shot} is void. Make it again?"):
        _report(session, session.reopen([shot]))


def _note(session: Session, shot: int) -> None:
    if text := _ask(f"Note on shot {shot}", free=True):
        _report(session, session.note(shot, text))


def _no_part(session: Session, shot: int) -> None:
    _report(session, session.no_part(shot))
    say(f"Shot {shot} is saved: no part.")


def _leave_out(session: Session, shot: int) -> None:
    reason = _ask(f"Why is shot {shot} left out (Enter: no reason)", free=True)
    _report(session, session.skip([shot], reason))


def _correct(session: Session, shot: int) -> None:
    row, layout = session.row(shot), session.layout
    if row.outcome != "ok" or row.kind == WARM_UP:
        say(f"Shot {shot} has no readings to correct; b {shot} brings it back to make it.")
        return
    cells = row_cells(session.study, layout, row)
    headings = (*(name for name in layout.actual if cells[name]), *layout.readings, "other")
    values = _answers(
        session, headings, cells, lambda heading, text: session.check(shot, heading, text)
    )
    if _sure(session, shot, values):
        saved = session.change(shot, values, sure=True)
        say("\n".join(changed_cells(saved.values)) or "Nothing is changed.")
        _report(session, saved)


def _bring_back(session: Session, shot: int) -> None:
    _report(session, session.reopen([shot]))


_ON_SHOT: dict[str, Callable[[Session, int], None]] = {
    "v": _void,
    "n": _note,
    "p": _no_part,
    "x": _leave_out,
    "c": _correct,
    "b": _bring_back,
}


def report_edits(values: Values, put_back: Sequence[int] = ()) -> None:
    """Say what was taken from a runs.csv that somebody changed by hand."""
    if values:
        say("runs.csv was changed by hand; taken from it:", kind="warning")
        say("\n".join(f"  {line}" for line in changed_cells(values)))
    if put_back:
        say(
            f"runs.csv had lost what is recorded of {shots_text(put_back)}, as an old copy"
            " saved over it does; it is put back from the journal. (b 7 brings shot 7 back.)",
            kind="warning",
        )


def _report(session: Session, saved: Saved) -> None:
    """Say what the recorder did beyond what was asked of it, and let heavy flash be overruled."""
    report_edits(saved.edited)
    if saved.skipped:
        shots = shots_text(saved.skipped)
        say(
            f"Heavy flash. Now skipped, being at least as high in every setting: {shots}."
            " Each flashed shot widens the gap.",
            kind="warning",
        )
        if _yes(f"Make {shots} all the same?"):
            session.reopen(saved.skipped)


def _tell(error: StudyError) -> None:
    for problem in error.problems:
        say(str(problem), kind="error")


def _yes(text: str) -> bool:
    return _ask(f"{text} (y, or Enter for no)", free=True).lower() in ("y", "yes")


def _ask(text: str, default: str = "", *, free: bool = False) -> str:
    """Return one line that was typed; a key raises `Command`, except where any text is `free`."""
    shown = f" [{default}]" if default else ""
    click.echo(f"{text}{shown}: ", err=True, nl=False)
    line = sys.stdin.readline()
    if not line:
        raise Leaving
    answer = line.strip()
    if not sys.stdin.isatty():  # nobody's typing is on the screen
        say(answer)
    key = _COMMAND.fullmatch(answer)
    if answer.lower() == "q":
        raise Leaving
    if key and not free:
        raise Command(key[1].lower(), int(key[2]) if key[2] else None)
    return answer or default
