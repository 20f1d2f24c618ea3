"""Jobs over the cores: the same results however they are computed, and none lost."""

import json
from pathlib import Path
from typing import Any

import pytest

from shotwindow.cli.workers import work
from shotwindow.doe.errors import StudyError

# `eval` is a task that every process can find by its name.
JOBS = {f"k{n}": (f"{{'square': {n}**2, 'third': {n}/3}}",) for n in range(5)}
RESULTS = {f"k{n}": {"square": n**2, "third": n / 3} for n in range(5)}


def _work(jobs: dict[str, Any], kept: Path, workers: int = 1) -> dict[str, Any]:
    return work(eval, jobs, workers=workers, kept=kept, label="tests")


@pytest.mark.parametrize("workers", [1, 2])
def test_work__any_number_of_workers__the_same(tmp_path: Path, workers: int) -> None:
    kept = tmp_path / "out" / "kept.jsonl"
    assert _work(JOBS, kept, workers) == RESULTS
    assert list(_work(JOBS, kept)) == list(JOBS)  # in the order of the jobs
    assert len(kept.read_text().splitlines()) == 5  # nothing was done twice


def test_work__one_thread_in_each_worker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS")
    for name in names:
        monkeypatch.setenv(name, "7")
    code = f"{{n: __import__('os').environ.get(n) for n in {names}}}"
    result = _work({"a": (code,), "b": (code + " ",)}, tmp_path / "kept", workers=2)
    assert result["a"] == result["b"] == dict.fromkeys(names, "1")


def test_work__cut_run__goes_on_where_it_was(tmp_path: Path) -> None:
    kept = tmp_path / "kept.jsonl"
    _work({"k0": JOBS["k0"], "k1": ("{'kept': 'as it is'}",)}, kept)
    kept.write_text(kept.read_text() + '{"key": "k2", "squ')  # killed while it wrote
    results = _work(JOBS, kept)
    assert results == RESULTS | {"k1": {"kept": "as it is"}}
    keys = [json.loads(line)["key"] for line in kept.read_text().splitlines()]
    assert keys == list(JOBS)


def test_work__line_that_cannot_be_read__is_computed_again(tmp_path: Path) -> None:
    kept = tmp_path / "kept.jsonl"
    _work(JOBS, kept)
    kept.write_text(kept.read_text().replace('"square": 4', '"square": 4 4'))
    assert _work(JOBS, kept) == RESULTS


def test_work__worker_that_dies__clear_message_and_nothing_lost(tmp_path: Path) -> None:
    kept = tmp_path / "kept.jsonl"
    assert _work({"k0": JOBS["k0"]}, kept, workers=2) == {"k0": RESULTS["k0"]}
    deadly = JOBS | {"k4": ("__import__('os')._exit(9)",)}
    with pytest.raises(StudyError, match="a worker that ended.* of 5 results are kept in .*kept"):
        _work(deadly, kept, workers=2)
    assert '"k0"' in kept.read_text()
    assert _work(JOBS, kept, workers=2) == RESULTS


def test_work__error_in_a_task__leaves_as_it_is(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError):
        _work({"a": ("1/0",)}, tmp_path / "kept", workers=2)


def test_work__folder_that_cannot_be_written__told(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file in the way")
    with pytest.raises(StudyError, match="cannot be written"):
        _work(JOBS, tmp_path / "out" / "kept.jsonl")
