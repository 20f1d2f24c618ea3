"""The answers of one shot -> the recorder: checked, asked about, saved, or put by for weighing."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from shotwindow.cli.commands import report, report_skipped
from shotwindow.cli.console import say
from shotwindow.cli.doubting import actual_problems, contradictions
from shotwindow.cli.keyboard import Screen
from shotwindow.cli.later import labels, put_by, read_row, skip_hotter, waiting_shots
from shotwindow.cli.prompting import is_yes
from shotwindow.cli.so_far import SoFar
from shotwindow.doe.cards import Card
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.rows import Row
from shotwindow.doe.saving import Saved
from shotwindow.doe.session import Session


@dataclass
class Desk:
    """What the questions at the press go by, from one shot to the next.

    Attributes
    ----------
    session : Session
    screen : Screen
    actual : bool
        Ask for the settings as they are read off the press, too.
    card : Card or None
        Of the material.
    so_far : SoFar or None
        Finds what is known after each group.
    at_press : Row or None
        The shot that the press is set for, once that is known.
    """

    session: Session
    screen: Screen
    actual: bool = False
    card: Card | None = None
    so_far: SoFar | None = None
    at_press: Row | None = None


def keeper(session: Session, row: Row) -> Callable[[str, str], None]:
    """Return what keeps an answer, on the disk before the next question, if it can be kept."""

    def keep(heading: str, text: str) -> None:
        check_limits(session, row, heading, text)
        if session.typed(row.shot).get(heading) != text:
            session.draft(row.shot, heading, text)

    return keep


def check_limits(session: Session, row: Row, heading: str, text: str) -> None:
    """Raise a StudyError if an actual setting is beyond the limits of the press."""
    if heading in session.layout.actual:
        read = read_row(session.study, session.layout, row, {heading: text})
        if beyond := actual_problems(session.study, session.layout, read)[0]:
            raise StudyError(beyond)


def accept(desk: Desk, row: Row, values: Mapping[str, str]) -> None:
    """Record a shot; parts that wait for the balance are not skipped with what is to be made."""
    saved = save(desk.session, row, values)
    say(f"Shot {row.shot} is saved.")
    report(desk.session, saved)


def save(session: Session, row: Row, values: Mapping[str, str]) -> Saved:
    """Record a shot whose answers nobody doubts any more."""
    if not waiting_shots(session):
        return session.accept(row.shot, values, sure=True)
    read = read_row(session.study, session.layout, row, values)
    skipped = skip_hotter(session, read)
    done = session.accept(row.shot, values, sure=True, keep_hot=True)
    return Saved(done.values, skipped, edited=done.edited)


def let_wait(desk: Desk, row: Row, values: Mapping[str, str]) -> None:
    """Let a shot wait for the balance; what its flash forbids is skipped at once."""
    session = desk.session
    skipped = skip_hotter(session, read_row(session.study, session.layout, row, values))
    put_by(session, row.shot)
    say(f"Shot {row.shot} waits for the balance; until then it does not count. Label its parts:")
    say(f"\n    {labels(session.study, row.shot)}\n", kind="heading")
    report_skipped(session, skipped)


def is_sure(desk: Desk, row: Row, values: Mapping[str, str]) -> bool:
    """Ask about what can be right but seldom is."""
    questions = doubts(desk.session, row, values)
    for problem in questions:
        say(str(problem), kind="warning")
    return not questions or is_yes("Is it right all the same?")


def doubts(session: Session, row: Row, values: Mapping[str, str]) -> tuple[Problem, ...]:
    """Return what can be right about the answers of a shot but seldom is."""
    study, layout = session.study, session.layout
    read = read_row(study, layout, row, values)
    return (
        *session.questions(row.shot, values),
        *actual_problems(study, layout, read)[1],
        *contradictions(study, layout, session.rows, read),
    )
