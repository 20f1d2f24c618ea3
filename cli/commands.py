"""Keys typed in place of an answer -> undo, void, note, correct and the like, in plain words."""

from collections.abc import Callable, Mapping, Sequence

from shotwindow.cli.console import say
from shotwindow.cli.keyboard import Screen
from shotwindow.cli.later import newest_put_by, take_up
from shotwindow.cli.prompting import KEYS, Command, ask, is_yes
from shotwindow.cli.readings import ask_answers
from shotwindow.cli.wording import (
    changed_cells,
    entry_text,
    put_back_text,
    shots_text,
    skipped_text,
)
from shotwindow.doe.history import Values
from shotwindow.doe.rows import WARM_UP, Row, row_cells
from shotwindow.doe.saving import Saved
from shotwindow.doe.session import Session

#: Asks about the answers of a shot where they can be right but seldom are.
Sure = Callable[[Row, Mapping[str, str]], bool]


def obey(session: Session, row: Row | None, command: Command, is_sure: Sure) -> None:
    """Do what a key asks for; without a number it is about the shot that is asked for now.

    Parameters
    ----------
    session : Session
    row : Row or None
        The shot that is asked for now.
    command : Command
    is_sure : function
    """
    shot = command.shot if command.shot is not None or row is None else row.shot
    if command.key == "?":
        say(KEYS)
    elif command.key == "u":
        _undo(session)
    elif shot is None or (command.key in "cb" and command.shot is None):
        say(f"Which shot? Type its number too, for instance {command.key} 7")
    elif command.key == "c":
        _correct(session, shot, is_sure)
    else:
        _ON_SHOT[command.key](session, shot)


def _undo(session: Session) -> None:
    waits = newest_put_by(session)
    if waits is not None and waits.shot is not None:
        take_up(session, waits.shot)
        say(f"Shot {waits.shot} does not wait for the balance any more.")
        return
    entry = session.undo()
    if entry is None:
        say("There is nothing to undo.")
        return
    say(f"Taken back: {entry_text(entry)}.")
    if entry.action == "accept":
        say("Where its answers are only to be typed again, leave the press as it is.")


def _void(session: Session, shot: int) -> None:
    reason = ask(f"Why is shot {shot} void", free=True)
    if not reason:
        say("Nothing is changed: a void shot needs its reason.")
        return
    report(session, session.void(shot, reason))
    if is_yes(f"Shot {shot} is void. Make it again?"):
        report(session, session.reopen([shot]))
        say(f"Shot {shot} is to be made again.")


def _note(session: Session, shot: int) -> None:
    if text := ask(f"Note on shot {shot}", free=True):
        report(session, session.note(shot, text))


def _no_part(session: Session, shot: int) -> None:
    report(session, session.no_part(shot))
    say(f"Shot {shot} is saved: no part.")


def _leave_out(session: Session, shot: int) -> None:
    reason = ask(f"Why is shot {shot} left out (Enter: no reason)", free=True)
    report(session, session.skip([shot], reason))


def _correct(session: Session, shot: int, is_sure: Sure) -> None:
    row, layout = session.row(shot), session.layout
    if row.outcome != "ok" or row.kind == WARM_UP:
        say(f"Shot {shot} has no readings to correct; b {shot} brings it back to make it.")
        return
    cells = row_cells(session.study, layout, row)
    headings = (*(name for name in layout.actual if cells[name]), *layout.readings, "other")

    def check(heading: str, text: str) -> None:
        session.check(shot, heading, text)

    values = ask_answers(session, row, headings, cells, check, Screen())
    if is_sure(row, values):
        saved = session.change(shot, values, sure=True)
        say("\n".join(changed_cells(saved.values)) or "Nothing is changed.")
        report(session, saved)


def _bring_back(session: Session, shot: int) -> None:
    report(session, session.reopen([shot]))


_ON_SHOT: dict[str, Callable[[Session, int], None]] = {
    "v": _void,
    "n": _note,
    "p": _no_part,
    "x": _leave_out,
    "b": _bring_back,
}


def report_edits(values: Values, put_back: Sequence[int] = ()) -> None:
    """Say what was taken from a runs.csv that somebody changed by hand."""
    if values:
        say("runs.csv was changed by hand; taken from it:", kind="warning")
        say("\n".join(f"  {line}" for line in changed_cells(values)))
    if put_back:
        say(f"{put_back_text(put_back)} (b 7 brings shot 7 back.)", kind="warning")


def report(session: Session, saved: Saved) -> None:
    """Say what the recorder did beyond what was asked of it, and let heavy flash be overruled."""
    report_edits(saved.edited)
    report_skipped(session, saved.skipped)


def report_skipped(session: Session, skipped: Sequence[int]) -> None:
    """Say what was skipped for heavy flash, and let it be overruled."""
    if skipped:
        say(skipped_text(skipped), kind="warning")
        if is_yes(f"Make {shots_text(skipped)} all the same?"):
            session.reopen(skipped)
