"""Half of a report drawn in a second process: the same page, whatever becomes of that process."""

import gc
import os
import signal
import time
from pathlib import Path
from shutil import copytree

import pytest
from far_tasks import ends_elsewhere, late, told

from shotwindow.cli import second_process as second_process_module
from shotwindow.cli.main import run
from shotwindow.cli.second_process import LOADED, pays, second_process

EXAMPLE = Path(__file__).parent.parent / "examples" / "coat-hook"


def test_second_process__task_done_there__with_all_loaded_and_deaf_to_ctrl_c() -> None:
    with second_process() as elsewhere:
        place, hears, loaded = elsewhere(told)()
    assert place != os.getpid() and not hears and loaded == list(LOADED)


def test_second_process__deaf_from_its_first_line_on__this_one_hears_as_before(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(second_process_module, "_begin", gc.collect)  # which makes nothing deaf
    hears = signal.default_int_handler
    before = signal.signal(signal.SIGINT, hears)  # what was begun in the background does not hear
    try:
        with second_process() as elsewhere:
            assert signal.getsignal(signal.SIGINT) == hears
            assert not elsewhere(told)()[1]
    finally:
        signal.signal(signal.SIGINT, before)


def test_second_process__ends_before_its_time__task_done_here() -> None:
    with second_process() as elsewhere:
        assert elsewhere(ends_elsewhere, os.getpid())() == os.getpid()


def test_second_process__mistake_in_the_task__told_as_here() -> None:
    with second_process() as elsewhere, pytest.raises(ValueError, match="invalid literal"):
        elsewhere(int, "x")()


def test_second_process__the_first_one_fails_or_is_interrupted__ended_at_once(
    tmp_path: Path,
) -> None:
    with pytest.raises(KeyboardInterrupt), second_process() as elsewhere:
        place = elsewhere(os.getpid)()
        elsewhere(late, tmp_path)
        while not (tmp_path / "begun").exists():
            time.sleep(0.01)
        raise KeyboardInterrupt
    assert not (tmp_path / "ended").exists()
    with pytest.raises(ProcessLookupError):
        os.kill(place, 0)


@pytest.mark.parametrize("begun", [True, False])
def test_second_process__it_ended_before_the_first_one_failed__told_is_what_failed(
    begun: bool,
) -> None:
    with pytest.raises(KeyboardInterrupt), second_process() as elsewhere:
        if begun:
            elsewhere(os.getpid)()
        assert elsewhere(ends_elsewhere, os.getpid())() == os.getpid()
        raise KeyboardInterrupt


def test_pays__with_a_study_and_two_processors(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    assert pays(EXAMPLE) and not pays(tmp_path)
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    assert not pays(EXAMPLE)


def test_report__by_two_processes__the_same_file_as_by_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pages = []
    for two in (True, False):
        monkeypatch.setattr(second_process_module, "pays", lambda _, two=two: two)
        folder = copytree(EXAMPLE, tmp_path / str(two))
        assert run(["report", str(folder)]) == 0
        pages.append((folder / "out" / "report.html").read_bytes())
    assert pages[0] == pages[1]
