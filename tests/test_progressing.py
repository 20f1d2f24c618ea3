"""A bar while a plan is sought: at a terminal, after a while, on stderr, and wiped at the end."""

import json
import sys
from pathlib import Path

import numpy as np
import pytest
from invented_shots import STUDIES

from shotwindow.cli import progressing
from shotwindow.cli.main import run
from shotwindow.doe.optimal import exchange
from shotwindow.doe.progress import heard_by, tell
from shotwindow.doe.tasks import Task
from shotwindow.doe.terms import full_quadratic


def test_exchange__heard__rises_from_nothing_to_all_and_changes_nothing() -> None:
    task = Task(full_quadratic("abc"), (np.linspace(-1, 1, 5),) * 3, np.eye(12))
    shares: list[float] = []
    with heard_by(shares.append):
        heard = exchange(task, 8, np.random.default_rng(1))
    assert shares[0] == 0 and shares[-1] == 1 and len(shares) > 3
    assert (np.diff(shares) > 0).all()
    alone = exchange(task, 8, np.random.default_rng(1))
    np.testing.assert_array_equal(heard.coded, alone.coded)


def test_heard_by__work_that_fails__nobody_listens_afterwards() -> None:
    shares: list[float] = []
    with pytest.raises(ValueError), heard_by(shares.append):
        raise ValueError
    tell(0.5)
    assert shares == []


@pytest.fixture
def folder(tmp_path: Path) -> str:
    (tmp_path / "study.toml").write_text(STUDIES["dial"][0])
    return str(tmp_path)


@pytest.mark.parametrize("words", [["--json", "--dry-run"], ["--compare", "--json"]])
def test_plan__at_a_terminal__bar_on_stderr_wiped_and_json_clean(
    folder: str,
    words: list[str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(progressing, "PATIENCE_S", 0.0)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "dumb")
    assert run(["plan", folder, *words]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["schema"] == 1
    *shown, wiped, said = err.split("\r")
    assert shown[0] == "" and "Looking for the best plan [------" in shown[1] and "0%" in shown[1]
    assert any(f"[{'#' * progressing.WIDTH}] 100%" in line for line in shown)
    assert not wiped.strip() and len(wiped) == len(shown[-1].rstrip())
    assert said.endswith("nothing was written.\n")


def test_plan__at_a_terminal__no_bar_where_it_is_quick(
    folder: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(progressing, "PATIENCE_S", 60.0)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    assert run(["plan", folder, "--dry-run"]) == 0
    assert "\r" not in capsys.readouterr().err


def test_plan__in_a_pipe__no_bar(
    folder: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(progressing, "PATIENCE_S", 0.0)
    assert run(["plan", folder, "--dry-run"]) == 0
    assert "\r" not in capsys.readouterr().err
