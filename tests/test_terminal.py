"""The recorder at a real terminal of 80 x 24: keys without Enter, countdown, bell."""

import os
import re
import select
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sheets import EYE, GRADES, MASS, plan, study_in

from shotwindow.doe.runs import read_runs, write_plan
from shotwindow.doe.session import open_session
from shotwindow.doe.study import parse_study

pty = pytest.importorskip("pty", reason="this system has no such terminals")

WORDS = GRADES + '[fill]\nmeasured = "full-or-short"\n'
_LONGEST_S = 30.0


class Terminal:
    """A person at the terminal, who types and reads."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self.shown = ""

    def type(self, keys: str) -> None:
        os.write(self._descriptor, keys.encode())

    def wait_for(self, text: str) -> None:
        """Read on until a text that was not read yet is there."""
        end = time.monotonic() + _LONGEST_S
        unread = ""
        while text not in unread:
            left = end - time.monotonic()
            assert left > 0, f"{text!r} did not come; shown: {self.shown[-600:]}"
            if select.select([self._descriptor], [], [], left)[0]:
                unread += os.read(self._descriptor, 1).decode(errors="replace")
        self.shown += unread


@contextmanager
def at_terminal(*words: str) -> Iterator[Terminal]:
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "shotwindow.cli", *words]
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": "80", "LINES": "24"}
    process = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env=environment)
    os.close(theirs)
    try:
        yield Terminal(ours)
        process.wait(_LONGEST_S)
    finally:
        process.kill()
        process.wait()
        os.close(ours)


def test_record__at_a_terminal__grades_and_words_by_one_key(tmp_path: Path) -> None:
    study = study_in(tmp_path, WORDS)
    with at_terminal("record", str(tmp_path)) as person:
        person.wait_for("SHOT 1 OF 8")
        person.wait_for("then Enter: ")
        person.type("\r")
        person.wait_for("then Enter: ")
        person.type("\r")
        for fill, flash in (("0", "0"), ("f", "0"), ("1", "1")):
            person.wait_for("(f or 1, s or 0): ")
            person.type(fill)
            person.wait_for("heavy): ")
            person.type(flash)
            person.wait_for("(Enter: no): ")
            person.type("\r")
            person.wait_for("is saved.")
        person.wait_for("left   (Enter skips")
        person.type("\r")
        person.wait_for("cut short")
        person.wait_for("(f or 1, s or 0): ")
        person.type("q\r")
        person.wait_for("shots are recorded")
    rows = read_runs(tmp_path, study)
    assert [(row.fill, row.flash) for row in rows[2:5]] == [
        (("short",), (0,)),
        (("full",), (0,)),
        (("full",), (1,)),
    ]


def test_record__plain_at_a_terminal__lines_only(tmp_path: Path) -> None:
    study_in(tmp_path, WORDS)
    with at_terminal("record", "--plain", str(tmp_path)) as person:
        person.wait_for("Shot 1 of 8 (warm-up")
        person.wait_for("then Enter: ")
        person.type("q\r")
        person.wait_for("shots are recorded")
    assert "====" not in person.shown


def test_record__at_80_columns__every_line_fits_and_breaks_between_words(tmp_path: Path) -> None:
    """What is said, the questions and the list of keys; a web address alone may be longer."""
    text = MASS.replace('[mold]\nname = "invented tags"', 'material.name = "PETG"\n[mold]')
    study_in(tmp_path, text + '[flash]\nmeasured = "grade"\n')
    with at_terminal("record", str(tmp_path)) as person:
        for _ in range(2):
            person.wait_for("then Enter: ")
            person.type("\r")
        for answer in ("?", "2.1", "4.2"):
            person.wait_for("mass in g: ")
            person.type(answer + "\r")
        person.wait_for("heavy): ")
        person.type("0")
        person.wait_for("(Enter: no): ")
        person.type("\r")
        person.wait_for("Enter for no): ")
        person.type("q\r")
        person.wait_for("shots are recorded")
    plain = re.sub(r"\x1b\[[0-9;]*m", "", person.shown)  # without colors
    lines = [line.rstrip("\r") for line in plain.split("\n")]
    assert [line for line in lines if len(line) > 80 and "://" not in line] == []
    said = " ".join(" ".join(lines).split())
    assert "Wear a face shield or goggles, heat-resistant gloves and long sleeves" in said
    assert "105.0 % of a full part; expected at most 102 % without flash" in said


def test_record__parts_weighed_while_the_press_soaks__soak_goes_on(tmp_path: Path) -> None:
    study = study_in(tmp_path, MASS)
    with at_terminal("record", str(tmp_path)) as person:
        for _ in range(2):
            person.wait_for("then Enter: ")
            person.type("\r")
        for _ in range(3):  # shots 3 to 5, the whole group
            person.wait_for("mass in g: ")
            person.type("w\r")
            person.wait_for("for none): ")
            person.type("0\r")
            person.wait_for("(Enter: no): ")
            person.type("\r")
        person.wait_for("w weighs, q leaves")
        person.type("w")
        for shot in (3, 4, 5):
            person.wait_for(f"labeled {shot}-1")
            for mass in ("1.9", "3.9"):
                person.wait_for("mass in g: ")
                person.type(mass + "\r")
        person.wait_for("left   (Enter skips, q leaves)")
        person.type("q")
        person.wait_for("shots are recorded")
    assert [row.fill for row in read_runs(tmp_path, study)[2:5]] == [(1.9, 3.9)] * 3


def test_record__melt_stood_too_long__asked_to_purge_before_the_shot(tmp_path: Path) -> None:
    """Acetal, as on the shipped card; polyplastics.com, Duracon, cautions in molding."""
    text = 'material.name = "acetal"\n' + EYE
    study = parse_study(text)
    (tmp_path / "study.toml").write_text(text, encoding="utf-8")
    write_plan(tmp_path, study, plan([(3.0, 210.0)] * 5))
    with open_session(tmp_path, study, clock=lambda: "2025-03-01T09:00:00+00:00") as session:
        session.accept(1, {})
    with at_terminal("record", str(tmp_path)) as person:
        person.wait_for("SHOT 2 OF 5")
        person.wait_for("Purge it before this shot; then Enter: ")
        person.type("\r")
        person.wait_for("Make the shot and set it aside; then Enter: ")
        person.type("q\r")
        person.wait_for("shots are recorded")
