"""A real Dask cluster on this computer: a scheduler and workers, each a process of its own."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
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
        running.address = _address(where)
        for _ in range(workers):
            words = ["distributed.cli.dask_worker", running.address, "--nthreads", "1",
                     "--no-nanny", "--no-dashboard"]  # fmt: skip
            running.workers.append(_started([*program, *words], environment))
        if workers:
            _wait_for_workers(running)
        yield running
    finally:
        for process in (*running.workers, scheduler):
            process.kill()
            process.wait()


def _started(words: list[str], environment: dict[str, str]) -> subprocess.Popen[bytes]:
    quiet = subprocess.DEVNULL
    return subprocess.Popen(words, env=environment, stdout=quiet, stderr=quiet)


def _address(where: Path) -> str:
    """Return what the scheduler writes of itself, once it stands there whole."""
    end = time.monotonic() + _LONGEST_S
    while True:
        try:
            return str(json.loads(where.read_text())["address"])
        except (FileNotFoundError, ValueError):  # not there, or not yet all of it
            assert time.monotonic() < end, "the scheduler did not start"
            time.sleep(0.05)


def _wait_for_workers(running: Cluster) -> None:
    """Wait until all have come: on a busy computer the first could do all work, or die alone."""
    from distributed import Client

    # distributed gives this class no types
    client = Client(running.address, timeout=_LONGEST_S, set_as_default=False)  # type: ignore[no-untyped-call]
    with client:
        client.wait_for_workers(len(running.workers), timeout=_LONGEST_S)
