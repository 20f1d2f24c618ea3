import subprocess
import sys
import time
from pathlib import Path

import pytest

from shotwindow.cli.so_far import SoFar


def _said(found: SoFar) -> str:
    end = time.monotonic() + 60
    while time.monotonic() < end:
        if news := found.news():
            return news
        time.sleep(0.02)
    raise AssertionError("nothing was said")


def _answering(monkeypatch: pytest.MonkeyPatch, code: str) -> None:
    """Let another program stand in for the one that finds the window."""
    start = subprocess.Popen

    def popen(words: list[str], **how: object) -> "subprocess.Popen[str]":
        return start([sys.executable, "-c", code], **how)  # type: ignore[call-overload,no-any-return]

    monkeypatch.setattr(subprocess, "Popen", popen)


def test_so_far__verdict__said_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _answering(monkeypatch, """print('{"window": {"verdict": "Two edges are open."}}')""")
    found = SoFar(tmp_path)
    assert found.news() == ""
    found.start()
    assert _said(found) == "So far: Two edges are open."
    assert found.news() == ""


@pytest.mark.parametrize("code", ["raise SystemExit(70)", "print('[')", "print('{}')"])
def test_so_far__failure__one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    _answering(monkeypatch, code)
    found = SoFar(tmp_path)
    found.start()
    assert "recording goes on" in _said(found)


def test_so_far__cannot_start__recording_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError("no more processes")

    monkeypatch.setattr(subprocess, "Popen", refuse)
    found = SoFar(tmp_path)
    found.start()
    assert found.news() == ""


def test_so_far__never_waits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _answering(monkeypatch, "import time; time.sleep(60)")
    found = SoFar(tmp_path)
    begun = time.monotonic()
    found.start()
    assert found.news() == ""
    found.stop()
    assert time.monotonic() - begun < 20


def test_so_far__a_real_study__has_a_verdict(tmp_path: Path) -> None:
    found = SoFar(Path(__file__).parents[1] / "examples" / "plant-label")
    found.start()
    assert _said(found).startswith("So far: ")
