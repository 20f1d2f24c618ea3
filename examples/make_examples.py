"""The study.toml of each example -> its plan and the shots of a simulated press, made anew.

Run as ``python examples/make_examples.py`` from the repository. The same commands as anybody would
type make them; only the clock is made up, so that the journal comes out the same each time. Look at
what changed before keeping it: the results in expected.toml are then to be looked at anew, too.
"""

import os
import time
import tomllib
from datetime import UTC, datetime, timedelta
from pathlib import Path
from unittest import mock

from shotwindow.cli.main import run

HERE = Path(__file__).parent
MADE = ("plan.json", "runs.csv", "journal.jsonl", "journal.lock", "practice.json")
# Tables of expected.toml with the words of a plan and of its shots, in the order of time.
STEPS = ("made", "grown")


class Clock:
    """An afternoon in the past: a minute passes with each look at the clock."""

    def __init__(self) -> None:
        self.time = datetime(2025, 3, 3, 13, 0, tzinfo=UTC)

    def now(self) -> datetime:
        """Return the next time."""
        self.time += timedelta(minutes=1)
        return self.time


def make(folder: Path) -> None:
    """Plan and shoot one example, in one step or in two."""
    for name in MADE:
        (folder / name).unlink(missing_ok=True)
    with open(folder / "expected.toml", "rb") as file:
        expected = tomllib.load(file)
    with mock.patch("shotwindow.doe.records.datetime", Clock()):
        for step in (expected[name] for name in STEPS if name in expected):
            for command in ("plan", "practice"):
                code = run([command, str(folder), *step[command]])
                if code:
                    raise SystemExit(code)
    (folder / "journal.lock").unlink(missing_ok=True)


if __name__ == "__main__":
    os.environ["TZ"] = "UTC"  # the journal tells the local time
    time.tzset()
    for found in sorted(HERE.glob("*/expected.toml")):
        make(found.parent)
