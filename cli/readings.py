"""The headings of one shot -> its answers, one question after the other, with a way back."""

from collections.abc import Callable, Sequence

from shotwindow.cli.console import say
from shotwindow.cli.keyboard import Screen
from shotwindow.cli.prompting import Command, ask, tell
from shotwindow.cli.wording import one_key_answers, question
from shotwindow.doe.errors import StudyError
from shotwindow.doe.rows import Row
from shotwindow.doe.session import Session


def ask_answers(
    session: Session,
    row: Row,
    headings: Sequence[str],
    defaults: dict[str, str],
    keep: Callable[[str, str], None],
    screen: Screen,
) -> dict[str, str]:
    """Ask for the cells of one shot; u goes back to the answer before.

    Parameters
    ----------
    session : Session
    row : Row
    headings : sequence of str
    defaults : dict
        By heading, what Enter stands for.
    keep : function of heading and text
        Takes an answer; it raises a StudyError if the answer does not hold what it should.
    screen : Screen

    Returns
    -------
    dict of str to str
        By heading; where the parts are weighed later, without what is missing of their masses.

    Raises
    ------
    Command
        If a key asks for something else.
    Leaving
    """
    study, layout = session.study, session.layout
    values: dict[str, str] = {}
    later: tuple[str, ...] = ()  # masses that are not asked for now
    while ahead := [h for h in headings if h not in values and h not in later]:
        heading = ahead[0]
        keys = one_key_answers(study, layout, heading)
        try:
            pad = " (f or 1, s or 0)" if screen.by_key and "f" in keys else ""
            text = ask(
                question(study, layout, heading) + pad,
                default=defaults.get(heading, ""),
                screen=screen,
                keys=keys,
            )
            if not text and heading != "other":
                say("A reading is needed here; p if there was no part, v if the shot is void.")
                continue
            keep(heading, text)
            values[heading] = defaults[heading] = text
        except Command as command:
            weighed = study.fill.measured == "mass" and heading in layout.fill
            if command.key == "w" and command.shot is None and weighed:
                later = tuple(h for h in layout.fill if h not in values)
            elif command.key == "u" and (values or later):
                if values:
                    values.popitem()
                later = ()
            else:
                raise
        except StudyError as error:
            tell(error)
    return values
