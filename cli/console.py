"""Messages -> the terminal: results to stdout, messages to stderr, on any terminal there is."""

import os
import shutil
import sys
from typing import Any

import click

STYLES: dict[str, dict[str, Any]] = {
    "error": {"fg": "red", "bold": True},
    "warning": {"fg": "yellow", "bold": True},
    "heading": {"bold": True},
    "hint": {"dim": True},
    "plain": {},
}


def settle_streams() -> None:
    """Let no character that the terminal lacks end a command.

    A school PC may print in an old code page; a sign it lacks is replaced, never fatal.
    """
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def wants_color(err: bool = False) -> bool:
    """Whether to color: on a terminal, unless NO_COLOR is set (https://no-color.org)."""
    stream = sys.stderr if err else sys.stdout
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def fitted(text: str, width: int) -> str:
    """Return a text with its long lines broken between words; what fits stays as it is.

    Examples
    --------
    >>> from shotwindow.cli.console import fitted
    >>> fitted("- close the guard and latch it", 20).splitlines()
    ['- close the guard', '  and latch it']
    """
    from textwrap import wrap

    lines = []
    for line in text.split("\n"):
        bare = line.lstrip()
        lead = " " * (len(line) - len(bare) + (2 if bare.startswith("- ") else 0))
        broken = wrap(
            line, width, subsequent_indent=lead, break_long_words=False, break_on_hyphens=False
        )
        lines += broken if len(line) > width else [line]
    return "\n".join(lines)


def _write(text: str, kind: str, err: bool) -> None:
    styled = click.style(text, **STYLES[kind]) if wants_color(err) else text
    click.echo(styled, err=err, color=wants_color(err))


def show(text: str = "", *, kind: str = "plain") -> None:
    """Print a result to stdout."""
    _write(text, kind, err=False)


def say(text: str, *, kind: str = "plain") -> None:
    """Print a message to stderr; errors and warnings say so in words, not by color alone."""
    text = {"error": "Error: ", "warning": "Note: "}.get(kind, "") + text
    if sys.stderr.isatty():
        text = fitted(text, shutil.get_terminal_size().columns)
    _write(text, kind, err=True)


def hint(text: str) -> None:
    """Print what to do next, to stderr."""
    say("Next: " + text, kind="hint")
