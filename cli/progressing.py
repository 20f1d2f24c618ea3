"""How far long work is -> a bar on stderr, at a terminal only, and only where it takes its time."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import click

# Work of less than this many seconds passes without a bar.
PATIENCE_S = 1.0
WIDTH = 30


@contextmanager
def shown(label: str) -> Iterator[None]:
    """Show how far the work within is; nothing where stderr is a file or a pipe."""
    if not sys.stderr.isatty():
        yield
        return
    from shotwindow.doe.progress import heard_by

    bar = _Bar(label)
    with heard_by(bar.told):
        try:
            yield
        finally:
            bar.wipe()


class _Bar:
    """One line that is written over; what it was is wiped at the end."""

    def __init__(self, label: str) -> None:
        self.label = label
        self.begun = time.monotonic()
        self.line = ""

    def told(self, share: float) -> None:
        spent = time.monotonic() - self.begun
        if spent >= PATIENCE_S:
            done = "#" * round(share * WIDTH)
            line = f"{self.label} [{done.ljust(WIDTH, '-')}] {share:4.0%} {spent:4.0f} s"
            self.write(f"\r{line.ljust(len(self.line))}")
            self.line = line

    def wipe(self) -> None:
        if self.line:
            self.write("\r" + " " * len(self.line) + "\r")

    def write(self, text: str) -> None:
        click.echo(text, nl=False, err=True)
