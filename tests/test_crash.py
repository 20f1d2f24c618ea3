"""Recorders that are killed, and two at once: no accepted shot is ever lost."""

import os
import random
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from sheets import EYE, plan

from shotwindow.doe.history import render, replay
from shotwindow.doe.journal import read_journal
from shotwindow.doe.runs import read_runs, write_plan
from shotwindow.doe.session import open_session
from shotwindow.doe.study import parse_study

# Records shot after shot as fast as it can, and says each once it is accepted.
RECORDER = """
import sys
from pathlib import Path
from shotwindow.doe.session import open_session
from shotwindow.doe.study import read_study

folder = Path(sys.argv[1])
with open_session(folder, read_study(folder)) as session:
    session.take_edits()
    print("open", flush=True)
    for row in iter(session.next_shot, None):
        fill = str(90 + row.shot % 10)
        session.draft(row.shot, "fill (%)", fill)
        session.accept(row.shot, {"fill (%)": fill, "flash (mm)": "0", "note": "cold, slow"})
        print(row.shot, flush=True)
"""
SHOTS, KILLS = 200, 20
#: Each round begins a new study: on one that is recorded whole, a kill would hit nothing.
ROUNDS = range(int(os.environ.get("SHOTWINDOW_KILLS", KILLS)) // KILLS)


def recorder(folder: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", RECORDER, str(folder)], stdout=subprocess.PIPE, text=True
    )


def prepared(folder: Path, shots: int) -> None:
    (folder / "study.toml").write_text(EYE)
    write_plan(folder, parse_study(EYE), plan([(3.0, 210.0)] * shots))


@pytest.mark.parametrize("number", ROUNDS)
def test_record__killed_at_any_moment__no_accepted_shot_lost(number: int, tmp_path: Path) -> None:
    prepared(tmp_path, SHOTS)
    study = parse_study(EYE)
    chance = random.Random(1 + 2 * number)
    accepted: list[int] = []
    for _ in range(KILLS):
        process = recorder(tmp_path)
        assert process.stdout is not None
        assert process.stdout.readline() == "open\n"
        for _ in range(chance.randrange(1, 6)):
            accepted.append(int(process.stdout.readline()))
        # Somewhere within the next shots: each takes some 10 ms.
        try:
            process.wait(chance.uniform(0, 0.03))
        except subprocess.TimeoutExpired:
            process.kill()
        accepted += [int(line) for line in process.stdout.read().splitlines()]
        process.wait()
        process.stdout.close()
        made = {row.shot for row in read_runs(tmp_path, study) if row.outcome == "ok"}
        assert set(accepted) <= made
        assert len(made - set(accepted)) <= 1  # accepted, but killed before it could say so
        accepted = sorted(made)
    assert len(accepted) < SHOTS, "the recorder ended before it was killed"
    entries = read_journal(tmp_path)
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
    with open_session(tmp_path, study) as session:
        session.take_edits()
        assert {row.note for row in session.rows[: len(accepted)]} == {"cold, slow"}
    assert (tmp_path / "runs.csv").read_bytes() == render(replay(read_journal(tmp_path)))


@pytest.mark.parametrize("number", ROUNDS)
def test_record_command__killed_anywhere_while_answers_come__no_accepted_shot_lost(
    number: int, tmp_path: Path
) -> None:
    """Through the command itself: what it said is saved is there when it is killed."""
    prepared(tmp_path, SHOTS)
    study, chance = parse_study(EYE), random.Random(2 + 2 * number)
    with open_session(tmp_path, study) as session:
        for shot in (1, 2):  # the warm-up shots of this plan
            session.accept(shot, {})
    told: set[int] = set()
    for _ in range(KILLS):
        with subprocess.Popen(
            [sys.executable, "-m", "shotwindow.cli", "record", str(tmp_path), "--plain"],
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        ) as process:
            assert process.stdin is not None and process.stderr is not None
            process.stdin.write("95\n0.04\n\n" * 40)
            process.stdin.flush()
            said = []
            for _ in range(chance.randrange(1, 60)):
                line = process.stderr.readline()
                said.append(line)
            time.sleep(chance.uniform(0, 0.02))
            process.kill()
            said += process.stderr.read().splitlines()
        told |= {int(n) for n in re.findall(r"Shot (\d+) is saved", "\n".join(said))}
        rows = {row.shot: row for row in read_runs(tmp_path, study)}
        assert all(rows[shot].outcome == "ok" and rows[shot].fill == (95.0,) for shot in told)
    assert KILLS // 2 < len(told) < SHOTS - 2, "the kills came before or after all the shots"
    entries = read_journal(tmp_path)
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))


def test_record__two_at_once__second_told_and_nothing_lost(tmp_path: Path) -> None:
    prepared(tmp_path, 20)
    study = parse_study(EYE)
    with open_session(tmp_path, study) as session:
        session.accept(1, {})
        second = subprocess.run(
            [sys.executable, "-m", "shotwindow.cli", "record", str(tmp_path)],
            input="\n\n96\n0\n\n",
            capture_output=True,
            text=True,
        )
        session.accept(2, {})
    assert second.returncode == 1
    assert "another shotwindow that is writing" in second.stderr
    assert "Traceback" not in second.stderr
    assert [row.outcome for row in read_runs(tmp_path, study)[:3]] == ["ok", "ok", "open"]
