"""Disks that fail at any moment, folders that cannot be written, clocks that go back."""

import ctypes
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sheets import GRADES, record, study_in

from shotwindow.doe.errors import StudyError
from shotwindow.doe.history import render, replay
from shotwindow.doe.journal import JOURNAL, read_journal
from shotwindow.doe.runs import read_runs
from shotwindow.doe.session import Session, open_session

ACTS: tuple[tuple[int, Callable[[Session], object]], ...] = (
    (3, lambda s: s.accept(3, {"fill (%)": "96", "flash (mm)": "0"})),
    (4, lambda s: s.draft(4, "fill (%)", "97")),
    (4, lambda s: s.accept(4, {"fill (%)": "97", "flash (mm)": "0.02"})),
    (5, lambda s: s.void(5, "no charge")),
    (6, lambda s: s.no_part(6)),
    (7, lambda s: s.note(7, "cold")),
)


class Disk:
    """Stands in for the calls that reach a disk; from one of them on it takes nothing more.

    Attributes
    ----------
    calls : int
        How many there were.
    """

    def __init__(self, fails_from: int, fails_to: float, number: int = 28) -> None:
        self.calls = 0
        self._from, self._to, self._number = fails_from, fails_to, number

    def _next(self) -> None:
        self.calls += 1
        if self._from <= self.calls <= self._to:
            raise OSError(self._number, os.strerror(self._number))

    def stand_in(self, monkeypatch: pytest.MonkeyPatch, names: tuple[str, ...]) -> None:
        for name in names:
            monkeypatch.setattr(os, name, self._checked(getattr(os, name)))

    def _checked(self, call: Callable[..., Any]) -> Callable[..., Any]:
        def checked(*args: Any, **kwargs: Any) -> Any:
            if call.__name__ == "write" and self.calls + 1 == self._from:
                call(args[0], args[1][: len(args[1]) // 2])  # a full disk takes a part of it
            self._next()
            return call(*args, **kwargs)

        return checked


@contextmanager
def failing(fails_from: int, fails_to: float, *more: str) -> Iterator[Disk]:
    """Let the disk fail from one call on to another; without `more`, what was begun is cut off."""
    with pytest.MonkeyPatch.context() as patch:
        disk = Disk(fails_from, fails_to)
        disk.stand_in(patch, ("write", "fsync", "replace", *more))
        yield disk


def calls_of(folder: Path) -> int:
    """Return how often the acts reach a sound disk."""
    with open_session(folder, study_in(folder)) as session:
        with failing(10_000, 10_000) as disk:
            for _, act in ACTS:
                act(session)
    return disk.calls


def test_disk__fails_at_every_call_once_or_for_good__nothing_accepted_is_lost(
    tmp_path: Path,
) -> None:
    """Every moment in turn: what was taken is there, what was refused says what to do."""
    (tmp_path / "sound").mkdir()
    count = calls_of(tmp_path / "sound")
    assert count > 20
    refused = 0
    for moment in range(1, count + 1):
        for last in (moment, float("inf")):
            folder = tmp_path / f"{moment}-{last}"
            folder.mkdir()
            refused += len(broken_off(folder, moment, last))
    # a sync of the folder's names alone may fail unseen; each other call is told of
    assert refused > count


def broken_off(folder: Path, moment: int, last: float) -> list[str]:
    """Act while the disk fails, start again on a sound one, and look; return what was said."""
    study = study_in(folder)
    said, done = [], []
    with open_session(folder, study, who="Ada") as session:
        with failing(moment, last):
            for place, (_, act) in enumerate(ACTS):
                try:
                    act(session)
                    done.append(place)
                except StudyError as error:
                    said.append(str(error))
    for text in said:
        assert "No space left on device" in text and "make room on the disk" in text
    entries = read_journal(folder)
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
    safe = sum("safe in the journal" in text for text in said)
    assert len(entries) == 1 + len(done) + safe
    with open_session(folder, study) as session:
        session.take_edits()
        kept = [(entry.action, entry.shot) for entry in session.entries[1:]]
        for place in done:
            assert (_ACTION[place], ACTS[place][0]) in kept
        for place, (_, act) in enumerate(ACTS):  # what was refused can be done now
            if (_ACTION[place], ACTS[place][0]) not in kept:
                act(session)
        assert [row.outcome for row in session.rows[2:7]] == ["ok", "ok", "void", "no part", "open"]
    assert (folder / "runs.csv").read_bytes() == render(replay(read_journal(folder)))
    assert not list(folder.glob(".*.part"))
    return said


_ACTION = ("accept", "draft", "accept", "void", "no part", "note")


def test_disk__not_even_cut_off__session_stops_and_the_next_goes_on(tmp_path: Path) -> None:
    """A journal that keeps half an entry, or a whole one that was refused, is never built on."""
    for moment, kept in ((1, 2), (2, 3)):  # at the write: half of it; at the sync: all of it
        folder = tmp_path / str(moment)
        folder.mkdir()
        study = study_in(folder)
        with open_session(folder, study) as session:
            record(session, [3])
            with failing(moment, float("inf"), "ftruncate"):
                with pytest.raises(StudyError, match="No space left"):
                    session.accept(4, {"fill (%)": "97", "flash (mm)": "0"})
            with pytest.raises(StudyError, match=r"leave \(q\) and start again"):
                session.accept(5, {"fill (%)": "98", "flash (mm)": "0"})
        with open_session(folder, study) as session:
            assert (session.torn is not None) == (moment == 1)
            session.take_edits()
            record(session, [5])
            assert [row.outcome for row in session.rows[2:5]] == [
                "ok",
                "open" if moment == 1 else "ok",
                "ok",
            ]
        assert len(read_journal(folder)) == kept + 1


def test_journal__another_recorder_without_a_lock__refused_and_both_kept(tmp_path: Path) -> None:
    """As on a network drive that knows no locks: the second one writes behind the first."""
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        other = Session(tmp_path, study, "Ben", lambda: "")
        other.accept(3, {"fill (%)": "96", "flash (mm)": "0"})
        with pytest.raises(StudyError, match="behind the last entry"):
            session.accept(4, {"fill (%)": "97", "flash (mm)": "0"})
    with open_session(tmp_path, study) as session:
        record(session, [4])
    assert [row.outcome for row in read_runs(tmp_path, study)[2:4]] == ["ok", "ok"]


def test_clock__going_back__order_undo_and_history_by_number(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    times = [f"2025-03-01T{hour:02d}:00:00+01:00" for hour in (12, 9, 23, 2, 2, 1)]
    clock = iter([times[0], *(time for time in times for _ in (0, 1))])
    with open_session(tmp_path, study, clock=lambda: next(clock)) as session:
        for shot, fill in ((3, "94"), (4, "95"), (5, "96")):
            record(session, [shot], fill=fill)
        undone = session.undo()
        assert undone is not None and undone.shot == 5
        stamps = [entry.time for entry in session.entries[1:]]
        assert stamps != sorted(stamps)
        assert [row.outcome for row in session.at(3)[2:5]] == ["ok", "ok", "open"]
    with open_session(tmp_path, study) as session:
        assert [entry.seq for entry in session.entries] == [1, 2, 3, 4, 5]
        assert [row.outcome for row in session.rows[2:5]] == ["ok", "ok", "open"]
        following = session.next_shot()
        assert following is not None and following.shot == 1


READ_ONLY = 0o555
_DROP, _OVERRIDE = 24, 1  # prctl(2): PR_CAPBSET_DROP; capabilities(7): CAP_DAC_OVERRIDE


def without_override() -> None:
    """Let even root keep to the rights of files, in the process that is to be started."""
    if os.geteuid() == 0:
        ctypes.CDLL(None).prctl(_DROP, _OVERRIDE, 0, 0, 0)


def command(*words: object, typed: str = "") -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "shotwindow.cli", *map(str, words)],
        input=typed,
        capture_output=True,
        text=True,
        preexec_fn=without_override,
    )


@pytest.mark.skipif(sys.platform != "linux", reason="rights of folders as Linux knows them")
def test_folder__read_only__said_what_to_do_and_reading_goes_on(tmp_path: Path) -> None:
    folder = tmp_path / "study"
    folder.mkdir()
    study = study_in(folder, GRADES)
    with open_session(folder, study, who="Ada") as session:
        session.accept(3, {"fill (%)": "96", "flash (grade)": "1"})
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    (folder / "journal.lock").unlink(missing_ok=True)
    before.pop("journal.lock", None)
    folder.chmod(READ_ONLY)
    try:
        for words in (
            ("record", folder),
            ("record", folder, "--blind", "flash"),
            ("sheet", folder),
        ):
            made = command(*words, typed="\n\n97\n0\n\n")
            assert made.returncode == 1, made.stderr
            assert "Traceback" not in made.stderr
            assert "copied to where you may write" in made.stderr
        shown = command("history", folder)
        assert shown.returncode == 0 and "accept shot 3 by Ada" in shown.stdout
    finally:
        folder.chmod(0o755)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.skipif(sys.platform != "linux", reason="rights of folders as Linux knows them")
def test_folder__read_only_from_the_middle__entry_safe_in_the_journal(tmp_path: Path) -> None:
    """The journal can still grow where runs.csv cannot be replaced; so nothing is lost."""
    study = study_in(tmp_path)
    with open_session(tmp_path, study) as session:
        record(session, [1, 2])
    tmp_path.chmod(READ_ONLY)
    try:
        made = command("record", tmp_path, typed="96\n0\n\nq\n")
    finally:
        tmp_path.chmod(0o755)
    assert "what was entered is safe in the journal" in made.stderr
    assert "Traceback" not in made.stderr
    assert read_runs(tmp_path, study)[2].fill == (96.0,)


LIMITED = """
import resource, sys
from pathlib import Path
from shotwindow.doe.errors import StudyError
from shotwindow.doe.session import open_session
from shotwindow.doe.study import read_study

folder = Path(sys.argv[1])
with open_session(folder, read_study(folder)) as session:
    size = (folder / "journal.jsonl").stat().st_size + int(sys.argv[2])
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    for shot in range(3, 9):
        try:
            session.accept(shot, {"fill (%)": "96", "flash (mm)": "0"})
            print(shot, flush=True)
        except StudyError as error:
            print(error, file=sys.stderr, flush=True)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="limits of files as Linux knows them")
@pytest.mark.parametrize("room", [0, 1, 150, 400, 700])
def test_disk__really_full_in_the_middle_of_an_entry__what_was_said_is_there(
    room: int, tmp_path: Path
) -> None:
    """The system itself cuts the write short, by a limit on the size of files."""
    study = study_in(tmp_path)
    made = subprocess.run(
        [sys.executable, "-c", LIMITED, str(tmp_path), str(room)], capture_output=True, text=True
    )
    told = {int(line) for line in made.stdout.split()}
    assert "File too large" in made.stderr and "make room on the disk" in made.stderr
    assert "Traceback" not in made.stderr
    assert len(told) < 6
    rows = read_runs(tmp_path, study)
    assert {row.shot for row in rows if row.outcome == "ok"} == told
    assert (tmp_path / JOURNAL).read_bytes().endswith(b"\n")
