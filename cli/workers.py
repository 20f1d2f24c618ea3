"""Jobs -> their results, computed over the cores, each kept in a file as soon as it is there.

A run that was cut goes on where it stopped. A result depends on its job alone, never on the worker
that computed it or on when it was done. joblib hands the jobs out to processes here, and
`shotwindow.cli.cluster` to those of a cluster.
"""

import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import click

from shotwindow.cli.cluster import ClusterLost, done_on_cluster
from shotwindow.doe.errors import StudyError
from shotwindow.doe.store import disk_told

Result = dict[str, Any]  # what JSON can hold
Task = Callable[..., Result]


def work(
    task: Task,
    jobs: Mapping[str, tuple[Any, ...]],
    *,
    workers: int | str,
    kept: Path,
    label: str,
) -> dict[str, Result]:
    """Compute all jobs that are not kept yet, and return the results of all.

    Parameters
    ----------
    task : callable
        Called with the arguments of a job; can be found by its name in a fresh process.
    jobs : mapping
        Key -> arguments. The key tells everything that the result depends on.
    workers : int or str
        Processes; with one, everything is done in this one. Or the address of a Dask scheduler,
        whose workers do it.
    kept : Path
        File of results, a line each, which is made or added to.
    label : str
        What the progress bar says; it is shown on a terminal only.

    Returns
    -------
    dict
        Key -> result, in the order of the jobs.

    Raises
    ------
    StudyError
        If a worker died, the cluster is out of reach, or the file cannot be written. What was
        done by then is kept.
    """
    results = _read(kept)
    left = {key: arguments for key, arguments in jobs.items() if key not in results}
    bar = click.progressbar(
        length=len(jobs),
        label=label,
        file=sys.stderr,
        show_pos=True,
        hidden=not sys.stderr.isatty(),
    )
    with bar:
        bar.update(len(jobs) - len(left))
        for key, result in _told(_done(task, left, workers), jobs, results, kept):
            _keep(kept, key, result)
            results[key] = result
            bar.update(1)
    return {key: results[key] for key in jobs}


def _done(
    task: Task, left: Mapping[str, tuple[Any, ...]], workers: int | str
) -> Iterator[tuple[str, Result]]:
    """Give the results as they come, in any order."""
    if not left:
        return
    if isinstance(workers, str):
        yield from done_on_cluster(task, left, workers)
        return
    from joblib import Parallel, delayed, parallel_config

    # one thread a worker: more would take the cores from each other
    threads = {} if workers == 1 else {"inner_max_num_threads": 1}
    with parallel_config("sequential" if workers == 1 else "loky", **threads):
        pool = Parallel(n_jobs=workers, batch_size=1, return_as="generator_unordered")
        yield from pool(delayed(_keyed)(key, task, job) for key, job in left.items())


def _keyed(key: str, task: Task, arguments: tuple[Any, ...]) -> tuple[str, Result]:
    return key, task(*arguments)


def _told(
    done: Iterator[tuple[str, Result]],
    jobs: Mapping[str, tuple[Any, ...]],
    results: Mapping[str, Result],
    kept: Path,
) -> Iterator[tuple[str, Result]]:
    """Turn the death of a worker, or of a cluster, into a message."""
    from concurrent.futures.process import BrokenProcessPool

    try:
        yield from done
    except (BrokenProcessPool, ClusterLost) as fault:
        ready = sum(key in results for key in jobs)
        kept_words = f"{ready} of {len(jobs)} results are kept in {kept}: the same command goes on"
        if isinstance(fault, ClusterLost):
            place, found, expected = "--scheduler", str(fault), "a Dask cluster that answers"
            do = f"{kept_words} from there, with the cluster mended or with --workers here"
        else:
            place, expected = "--workers", "workers that live"
            found = "a worker that ended before its work was done, perhaps for want of memory"
            do = f"{kept_words} from there; with fewer workers it needs less memory"
        raise StudyError.one(place, found, expected, do) from fault


def _keep(kept: Path, key: str, result: Result) -> None:
    with disk_told(kept):
        kept.parent.mkdir(exist_ok=True)
        with kept.open("ab") as file:
            file.write(json.dumps({"key": key, **result}).encode() + b"\n")
            file.flush()
            os.fsync(file.fileno())


def _read(kept: Path) -> dict[str, Result]:
    """Return the results that are kept; a line that was being written at a crash is cut off."""
    if not kept.exists():
        return {}
    with disk_told(kept):
        data = kept.read_bytes()
        whole = data[: data.rfind(b"\n") + 1]
        if whole != data:
            kept.write_bytes(whole)
    results = {}
    for line in whole.splitlines():
        with suppress(ValueError, KeyError):  # whatever cannot be read is computed again
            result = json.loads(line)
            results[result.pop("key")] = result
    return results
