"""What all devices share: the session, and what the press is set for while the server runs."""

from dataclasses import dataclass

from shotwindow.cli.doubting import stood_question
from shotwindow.doe.cards import Card
from shotwindow.doe.records import now
from shotwindow.doe.rows import Row
from shotwindow.doe.session import Session


@dataclass
class Bench:
    """The session, and what stands beside it while the server runs.

    Attributes
    ----------
    session : Session
    actual : bool
        Actual settings are asked for, too.
    card : Card or None
        Of the material.
    before, at_press : Row or None
        The shots that the press was and is to be set for.
    soak_min : float
        How long it soaks between the two.
    soaks : bool
        Whether somebody said that the press is set, and the soak has begun.
    soak_ends : float
        When it ends, by the clock of the desk.
    news : str
        What is known so far.
    stood : str
        What to do about melt that stood too long in the barrel; "" while it did not.
    """

    session: Session
    actual: bool = False
    card: Card | None = None
    before: Row | None = None
    at_press: Row | None = None
    soak_min: float = 0.0
    soaks: bool = False
    soak_ends: float = 0.0
    news: str = ""
    stood: str = ""


def stood_now(bench: Bench) -> str:
    """Return what to do about melt that stands in the barrel by now; see `Bench.stood`."""
    session = bench.session
    return stood_question(session.study, bench.card, session.rows, now())


def newest_about(session: Session, shot: int) -> int:
    """Return the number of the newest entry about a shot."""
    return max((entry.seq for entry in session.entries if shot in entry.values), default=0)


def answer_headings(session: Session) -> tuple[str, ...]:
    """Return the headings under which a shot's answers go."""
    return (*session.layout.actual, *session.layout.readings, "other")


def typed_answers(session: Session, shot: int) -> dict[str, str]:
    """Return the answers of a shot that is not recorded yet, without who made it and when."""
    typed = session.typed(shot)
    return {heading: typed[heading] for heading in answer_headings(session) if typed.get(heading)}
