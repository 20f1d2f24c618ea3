"""A real Dask cluster on this computer: a scheduler and workers, each a process of its own."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

_LONGEST_S = 90.0  # processes that load much start slowly on a busy computer


@dataclass
class Cluster:
    """A scheduler, its address, and its workers."""

    address: str
    scheduler: subprocess.Popen[bytes]
    workers: list[subprocess.Popen[bytes]] = field(default_factory=list)


@contextmanager
def cluster(folder: Path, workers: int, *, failures: int = 3) -> Iterator[Cluster]:
    """Start a cluster, and end all of its processes afterwards.

    Parameters
    ----------
    folder : Path
        An empty one, for what its processes keep.
    workers : int
        One thread each, as `rehearse` asks for.
    failures : int, optional
        Workers that a job may end before it is given up.
    """
    where = folder / "scheduler.json"
    environment = os.environ | {
        "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": str(failures),
        "DASK_TEMPORARY_DIRECTORY": str(folder),
    }
    program = [sys.executable, "-W", "ignore", "-m"]
    scheduler = _started(
        [*program, "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0",
         "--no-dashboard", "--no-jupyter", "--scheduler-file", str(where)],
        environment,
    )  # fmt: skip
    running = Cluster("", scheduler)
    try:
        _wait(where.exists)
        time.sleep(0.1)  # the file is written at once, but not in one piece
        running.address = _address(where)
        for _ in range(workers):
            words = ["distributed.cli.dask_worker", running.address, "--nthreads", "1",
                     "--no-nanny", "--no-dashboard"]  # fmt: skip
            running.workers.append(_started([*program, *words], environment))
        yield running
    finally:
        for process in (*running.workers, scheduler):
            process.kill()
            process.wait()


def _started(words: list[str], environment: dict[str, str]) -> subprocess.Popen[bytes]:
    quiet = subprocess.DEVNULL
    return subprocess.Popen(words, env=environment, stdout=quiet, stderr=quiet)


def _wait(there: Callable[[], bool]) -> None:
    end = time.monotonic() + _LONGEST_S
    while not there():
        assert time.monotonic() < end, "the scheduler did not start"
        time.sleep(0.05)


def _address(where: Path) -> str:
    return str(json.loads(where.read_text())["address"])
