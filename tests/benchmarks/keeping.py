"""Jobs of a long benchmark -> rows, kept in a file as they are made; a run that was cut goes on."""

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any

import click

Row = dict[str, Any]  # what JSON can hold
Work = Callable[..., list[Row]]


def read_rows(file: Path | None) -> list[Row]:
    """Return the rows that are kept; one that was being written when a run was cut is dropped."""
    if file is None or not file.exists():
        return []
    whole, _, half = file.read_text(encoding="utf-8").rpartition("\n")
    if half:  # the run was killed while it wrote; what is added must start on a line of its own
        file.write_text(whole + "\n" if whole else "", encoding="utf-8")
    return [json.loads(line) for line in whole.splitlines()]


def rows_of_jobs(
    work: Work, left: Sequence[Sequence[Any]], file: Path | None, workers: int
) -> list[Row]:
    """Do all jobs and return their rows, in the order in which the jobs were done.

    Parameters
    ----------
    work : callable
        Returns the rows of one job; a worker has to find it by its name.
    left : sequence
        Arguments of each job.
    file : Path or None
        Each job's rows are added to it when they are made.
    workers : int
        Processes; 1 works in this one.
    """
    rows: list[Row] = []
    hidden = not sys.stderr.isatty()
    with click.progressbar(
        length=len(left), label="jobs", file=sys.stderr, show_pos=True, hidden=hidden
    ) as bar:
        for made in _each(work, left, workers):
            rows += made
            if file:
                with file.open("a", encoding="utf-8") as kept:
                    kept.writelines(json.dumps(row) + "\n" for row in made)
            bar.update(1)
    return rows


def _each(work: Work, left: Sequence[Sequence[Any]], workers: int) -> Iterator[list[Row]]:
    if workers == 1:
        yield from (work(*job) for job in left)
        return
    with ProcessPoolExecutor(workers) as pool:
        waiting = [pool.submit(work, *job) for job in left]
        try:
            for done in as_completed(waiting):
                yield done.result()
        except BaseException:
            # an error of the harness, or Ctrl-C, is not to wait for what has not begun
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def seeds(text: str) -> list[int]:
    """Return the seeds from A to B of the words "A-B", or the one of "A"."""
    first, _, last = text.partition("-")
    return list(range(int(first), int(last or first) + 1))
