"""Work on a real cluster of several processes: the same results, and what happens when it fails."""

import json
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from clusters import Cluster, cluster
from invented_shots import STUDIES

import shotwindow.cli.cluster as on_cluster
from shotwindow.cli.main import run
from shotwindow.cli.workers import work
from shotwindow.doe.errors import StudyError

# `eval` is a task that every process can find by its name.
JOBS = {f"k{n}": (f"{{'square': {n}**2, 'third': {n}/3}}",) for n in range(8)}
RESULTS = {f"k{n}": {"square": n**2, "third": n / 3} for n in range(8)}
DEADLY = ("__import__('os')._exit(9)",)


def _work(jobs: dict[str, Any], kept: Path, address: str) -> dict[str, Any]:
    return work(eval, jobs, workers=address, kept=kept, label="tests")


@pytest.fixture(scope="module")
def three(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    with cluster(tmp_path_factory.mktemp("three"), 3) as running:
        yield running


@pytest.fixture(autouse=True)
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wait longer than users are made to: on a busy computer answers come late."""
    monkeypatch.setattr(on_cluster, "PATIENCE_S", 60.0)


@pytest.fixture
def clip(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """Return a folder with a study of two settings and its plan."""
    (tmp_path / "study.toml").write_text(STUDIES["map"][0])
    assert run(["plan", str(tmp_path), "--shots", "9"]) == 0
    capsys.readouterr()
    return tmp_path


def test_work__cluster__the_same_results_in_the_order_of_the_jobs(
    three: Cluster, tmp_path: Path
) -> None:
    kept = tmp_path / "kept.jsonl"
    assert _work(JOBS, kept, three.address) == RESULTS
    assert list(_work(JOBS, kept, three.address)) == list(JOBS)
    assert len(kept.read_text().splitlines()) == 8  # nothing was done twice


def test_work__cluster__uses_several_workers(three: Cluster, tmp_path: Path) -> None:
    code = "[__import__('time').sleep(0.3), {'id': __import__('os').getpid()}][1]"
    jobs = {f"k{n}": (code + " " * n,) for n in range(9)}
    found = {result["id"] for result in _work(jobs, tmp_path / "kept", three.address).values()}
    assert found <= {worker.pid for worker in three.workers} and len(found) > 1


def test_rehearse__cluster_or_this_computer__same_bytes(
    three: Cluster, clip: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["rehearse", str(clip), "--times", "4", "--draws", "64", "--json"]
    kept = clip / "out" / "rehearsals.jsonl"
    told, lines = [], []
    for how in (["--workers", "1"], ["--workers", "2"], ["--scheduler", three.address]):
        assert run([*words, *how]) == 0
        told.append(capsys.readouterr().out)
        lines.append(sorted(kept.read_text().splitlines()))
        kept.unlink()
    assert told[0] == told[1] == told[2]
    assert lines[0] == lines[1] == lines[2] and len(lines[0]) == 4


def test_rehearse__stopped_on_a_cluster__goes_on_here(
    three: Cluster, clip: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["rehearse", str(clip), "--draws", "64", "--json", "--times"]
    assert run([*words, "2", "--scheduler", three.address]) == 0
    kept = clip / "out" / "rehearsals.jsonl"
    first = kept.read_text()
    assert run([*words, "3", "--workers", "1"]) == 0
    assert kept.read_text().startswith(first) and len(kept.read_text().splitlines()) == 3


def test_rehearse__workers_of_this_computer_and_of_a_cluster__wrong_usage(clip: Path) -> None:
    assert run(["rehearse", str(clip), "--workers", "2", "--scheduler", "tcp://x:1"]) == 2


def test_work__cluster__error_in_a_task__leaves_as_it_is(three: Cluster, tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError):
        _work({"a": ("1/0",)}, tmp_path / "kept", three.address)


def test_work__worker_that_dies__its_job_goes_to_another(tmp_path: Path) -> None:
    with cluster(tmp_path, 2) as running:
        code = "[__import__('time').sleep(0.4), {'n': %d}][1]"
        jobs = {f"k{n}": (code % n,) for n in range(10)}
        kept = tmp_path / "kept.jsonl"
        thread = threading.Thread(target=_kill_once_begun, args=(running, kept))
        thread.start()
        assert _work(jobs, kept, running.address) == {f"k{n}": {"n": n} for n in range(10)}
        thread.join()
        assert running.workers[0].poll() is not None


def _kill_once_begun(running: Cluster, kept: Path) -> None:
    _until_begun(kept)
    running.workers[0].kill()


def _until_begun(kept: Path) -> None:
    end = time.monotonic() + 90
    while not (kept.exists() and kept.read_text()):
        assert time.monotonic() < end
        time.sleep(0.02)


def test_work__job_that_ends_its_workers__clear_message_and_nothing_lost(tmp_path: Path) -> None:
    with cluster(tmp_path, 3, failures=0) as running:
        kept = tmp_path / "kept.jsonl"
        _work({"k0": JOBS["k0"]}, kept, running.address)
        with pytest.raises(StudyError, match="one job ended every worker.* of 9 results are kept"):
            _work(JOBS | {"bad": DEADLY}, kept, running.address)
        assert '"k0"' in kept.read_text()
        assert _work(JOBS, kept, running.address) == RESULTS  # the other workers live on


def test_work__all_workers_gone__told_and_not_waited_for(tmp_path: Path) -> None:
    with cluster(tmp_path, 1) as running:
        kept = tmp_path / "kept.jsonl"
        with pytest.raises(StudyError, match="whose workers have all gone.* of 2 results"):
            _work({"k0": JOBS["k0"], "bad": DEADLY}, kept, running.address)
    assert _work_here({"k0": JOBS["k0"]}, kept) == {"k0": RESULTS["k0"]}


def _work_here(jobs: dict[str, Any], kept: Path) -> dict[str, Any]:
    return work(eval, jobs, workers=1, kept=kept, label="tests")


def test_work__scheduler_that_dies__told_and_what_is_done_kept(tmp_path: Path) -> None:
    with cluster(tmp_path, 2) as running:
        code = "[__import__('time').sleep(0.5), {'n': %d}][1]"
        kept = tmp_path / "kept.jsonl"

        def kill() -> None:
            _until_begun(kept)
            running.scheduler.kill()

        thread = threading.Thread(target=kill)
        thread.start()
        with pytest.raises(StudyError, match="a scheduler that went away"):
            _work({f"k{n}": (code % n,) for n in range(20)}, kept, running.address)
        thread.join()
    keys = [json.loads(line)["key"] for line in kept.read_text().splitlines()]
    assert 0 < len(keys) < 20


def test_work__no_scheduler_or_no_address__told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(on_cluster, "PATIENCE_S", 0.5)
    for address in ("tcp://127.0.0.1:1", "nowhere at all"):
        with pytest.raises(StudyError, match=r"no scheduler answers.* 0 of 8 results are kept"):
            _work(JOBS, tmp_path / "kept", address)


def test_work__scheduler_without_workers__told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = on_cluster._client

    def connected(kind: Any, address: str) -> Any:
        client = plain(kind, address)  # with patience; then there is nobody to wait for
        monkeypatch.setattr(on_cluster, "PATIENCE_S", 0.5)
        return client

    monkeypatch.setattr(on_cluster, "_client", connected)
    with (
        cluster(tmp_path, 0) as running,
        pytest.raises(StudyError, match="a scheduler without workers"),
    ):
        _work(JOBS, tmp_path / "kept", running.address)


def test_work__other_version_on_the_workers__refused(
    three: Cluster, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(on_cluster, "own_version", lambda: "99.0")
    with pytest.raises(StudyError, match=r"workers with shotwindow 0\.1\.0; expected 99\.0"):
        _work(JOBS, tmp_path / "kept", three.address)


def test_work__extra_not_installed__told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(StudyError, match=r"pip install \"shotwindow\[cluster\]\""):
        _work(JOBS, tmp_path / "kept", "tcp://127.0.0.1:1")


def test_work__everything_kept__no_cluster_is_asked(tmp_path: Path) -> None:
    kept = tmp_path / "kept.jsonl"
    _work_here(JOBS, kept)
    assert _work(JOBS, kept, "tcp://127.0.0.1:1") == RESULTS
