"""Messages -> the terminal: results to stdout, messages to stderr, on any terminal there is."""

import os
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


def _write(text: str, kind: str, err: bool) -> None:
    styled = click.style(text, **STYLES[kind]) if wants_color(err) else text
    click.echo(styled, err=err, color=wants_color(err))


def show(text: str = "", *, kind: str = "plain") -> None:
    """Print a result to stdout."""
    _write(text, kind, err=False)


def say(text: str, *, kind: str = "plain") -> None:
    """Print a message to stderr; errors and warnings say so in words, not by color alone."""
    lead = {"error": "Error: ", "warning": "Note: "}.get(kind, "")
    _write(lead + text, kind, err=True)


def hint(text: str) -> None:
    """Print what to do next, to stderr."""
    say("Next: " + text, kind="hint")
