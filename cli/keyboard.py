"""Single keys of a terminal -> answers without Enter, and a countdown that a key cuts short.

Where the system has no such terminal (a pipe, or Windows) `has_keys` says so, and answers come as
lines.
"""

import os
import select
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field

import click

_ENTER = ("\r", "\n")
_ERASE = ("\x7f", "\b")
_END = "\x04"  # Ctrl-D
_ESCAPE = "\x1b"
_TICK_S = 1.0


def has_keys() -> bool:
    """Return whether somebody sits at a terminal that gives single keys."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()) or os.environ.get("TERM") == "dumb":
        return False
    try:
        import termios  # noqa: F401 - not every system has it
    except ImportError:
        return False
    return True


def key_within(seconds: float | None) -> str | None:
    """Return the next key, waiting so long for it (None: for ever); None if there was none.

    A key that sends several characters, such as an arrow, comes as the escape that it begins with.
    """
    descriptor = sys.stdin.fileno()
    with _single_keys(descriptor):
        if not select.select([descriptor], [], [], seconds)[0]:
            return None
        key = os.read(descriptor, 1).decode("latin-1")
        while key == _ESCAPE and select.select([descriptor], [], [], 0.02)[0]:
            os.read(descriptor, 1)
        return key or _END


@dataclass(frozen=True)
class Screen:
    """How the press side is spoken to.

    Attributes
    ----------
    by_key : bool
        Large letters, countdowns and answers by one key; otherwise plain lines in and out.
    key_within : function
        Gives the next key within some seconds, or None.
    clock : function
        Gives seconds that only go forward.
    """

    by_key: bool = False
    key_within: Callable[[float | None], str | None] = field(default=key_within)
    clock: Callable[[], float] = field(default=time.monotonic)

    def line(self, keys: Mapping[str, str]) -> str:
        """Return what a key among `keys` stands for at once, or a line; "" where input ends.

        The line ends with a line break, as one that was read from a file does.
        """
        typed = ""
        while True:
            key = self.key_within(None) or ""
            if key in _ENTER:
                click.echo(err=True)
                return typed + "\n"
            if key == _END:
                return ""
            if not typed and key in keys:
                click.echo(keys[key], err=True)
                return keys[key] + "\n"
            if key in _ERASE and typed:
                typed = typed[:-1]
                click.echo("\b \b", err=True, nl=False)
            elif key.isprintable():
                typed += key
                click.echo(key, err=True, nl=False)

    def count_down(self, minutes: float, *, weighs: bool = False) -> str:
        """Show the minutes that are left, and ring at their end.

        Parameters
        ----------
        minutes : float
        weighs : bool, optional
            There is something to weigh meanwhile.

        Returns
        -------
        str
            How it ended: "over"; "skipped" by Enter, "left" by q, or "weigh" by w.
        """
        keys = "Enter skips, w weighs, q leaves" if weighs else "Enter skips, q leaves"
        end = self.clock() + 60 * minutes
        while (left := end - self.clock()) > 0:
            whole = int(left + 0.999)
            text = f"  Soak: {whole // 60:3d}:{whole % 60:02d} left   ({keys}) "
            click.echo(f"\r{text}", err=True, nl=False)
            key = self.key_within(min(left, _TICK_S))
            if key in _ENTER:
                left_text = f"{whole // 60}:{whole % 60:02d}"
                click.echo(f"\n  Soak cut short with {left_text} left.", err=True)
                return "skipped"
            if key in ("q", "Q", _END):
                click.echo(err=True)
                return "left"
            if weighs and key in ("w", "W"):
                click.echo(err=True)
                return "weigh"
        click.echo("\a\n  The soak is over.", err=True)
        return "over"


@contextmanager
def _single_keys(descriptor: int) -> Iterator[None]:
    """Let keys come without Enter and unseen, and put the terminal back after."""
    import termios

    before = termios.tcgetattr(descriptor)
    now = termios.tcgetattr(descriptor)
    now[3] &= ~(termios.ICANON | termios.ECHO)
    now[6][termios.VMIN], now[6][termios.VTIME] = 1, 0
    termios.tcsetattr(descriptor, termios.TCSADRAIN, now)
    try:
        yield
    finally:
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)
