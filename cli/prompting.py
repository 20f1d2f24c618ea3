"""A question -> what was typed at it: an answer, a key that asks for something else, or an end."""

import re
import sys
from collections.abc import Mapping

import click

from shotwindow.cli.console import say
from shotwindow.cli.keyboard import Screen
from shotwindow.doe.errors import StudyError

KEYS = """\
  Enter  take what stands in brackets    u    undo: an answer, or the last entry
  p      the shot gave no part           v    void: says nothing about the mold
  n      write a note                    x    leave the shot out
  w      weigh the parts later           w 7  weigh those of shot 7 now
  c 7    correct shot 7                  b 7  bring shot 7 back, to be made
  a      actual settings: ask, or not    q    leave; everything is saved
  ?      this list                       v and n take an earlier shot too: v 5"""

_COMMAND = re.compile(r"([uvnpxcbwaq?])(?:\s*([0-9]+))?", re.IGNORECASE)


class Command(Exception):
    """A key was typed in place of an answer, with the shot that it is about if one was named."""

    def __init__(self, key: str, shot: int | None) -> None:
        self.key = key
        self.shot = shot


class Leaving(Exception):
    """The user leaves, or the answers have come to their end."""


def ask(
    text: str,
    default: str = "",
    *,
    free: bool = False,
    screen: Screen | None = None,
    keys: Mapping[str, str] | None = None,
) -> str:
    """Return one line that was typed; a key raises `Command`, except where any text is `free`.

    Parameters
    ----------
    text : str
        The question.
    default : str, optional
        Taken when nothing is typed.
    free : bool, optional
    screen : Screen, optional
        Where answers may come by one key.
    keys : mapping of str to str, optional
        By key, the answer that it stands for without Enter.

    Raises
    ------
    Command
    Leaving
    """
    shown = f" [{default}]" if default else ""
    click.echo(f"{text}{shown}: ", err=True, nl=False)
    if screen is not None and screen.by_key and keys:
        line = screen.line(keys)
    else:
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


def is_yes(text: str) -> bool:
    """Return whether a question is answered with yes; Enter is no."""
    return ask(f"{text} (y, or Enter for no)", free=True).lower() in ("y", "yes")


def tell(error: StudyError) -> None:
    """Say all that is wrong."""
    for problem in error.problems:
        say(str(problem), kind="error")
