"""How much of a true process window is found on simulated presses, by us and by textbook methods.

Plan, shoot, fit and find on many random presses of both families; prints one Markdown table for
each number of shots, the same for the same seeds. Seeds 0 to 99 are for tuning, 1000 to 1099 for
a report, which is run once. With ``--json`` rows are kept as they are made, and a run that was cut
goes on where it stopped.

    python tests/benchmarks/recovery.py --shots 12 20 --presses 0-29 --workers 2
    python tests/benchmarks/recovery.py --presses 1000-1099 --json rows.jsonl --part 1/4
"""

import argparse
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

# One thread a worker, told before numpy is loaded here and in the workers.
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parent.parent))

from benchmarks.judge import METHODS, has_worn, rows_of
from benchmarks.keeping import Row, read_rows, rows_of_jobs, seeds
from benchmarks.tables import table


class Job(NamedTuple):
    """One press and one number of shots; the methods share its data."""

    family: str
    seed: int
    shots: int
    methods: tuple[str, ...]
    factors: int


def main(arguments: Sequence[str] | None = None) -> None:
    """Run what was asked for and print the table."""
    asked = _parser().parse_args(arguments)
    kept = read_rows(asked.json)
    every = list(jobs(asked.families, asked.presses, asked.shots, asked.methods, asked.factors))
    part, parts = asked.part
    mine = every[part - 1 :: parts]
    left = [job for job in mine if not _is_done(job, kept)]
    kept += rows_of_jobs(rows_of, left, asked.json, asked.workers)
    print(table(_wanted(every if asked.json else mine, kept)))


def jobs(
    families: Sequence[str],
    seeds: Sequence[int],
    shots: Sequence[int],
    methods: Sequence[str],
    factors: int,
) -> Iterator[Job]:
    """Give all jobs, those of one seed after each other."""
    for seed in seeds:
        for family in families:
            for count in shots:
                yield Job(family, seed, count, tuple(methods), factors)


def _key(row: Row) -> tuple[object, ...]:
    return tuple(row[name] for name in ("family", "seed", "shots", "factors", "method", "worn"))


def _keys(job: Job) -> set[tuple[object, ...]]:
    worn = (False, True) if has_worn(job.seed) else (False,)
    place = (job.family, job.seed, job.shots, job.factors)
    return {(*place, method, state) for method in job.methods for state in worn}


def _is_done(job: Job, kept: Sequence[Row]) -> bool:
    return _keys(job) <= {_key(row) for row in kept}


def _wanted(every: Sequence[Job], kept: Sequence[Row]) -> list[Row]:
    """Return the rows of these jobs, each once, the newest of its kind."""
    keys = set().union(*(_keys(job) for job in every))
    return list({_key(row): row for row in kept if _key(row) in keys}.values())


def _part(text: str) -> tuple[int, int]:
    part, _, parts = text.partition("/")
    if not 1 <= int(part) <= int(parts):
        raise ValueError(text)
    return int(part), int(parts)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--shots", type=int, nargs="+", default=[12, 16, 20, 28], metavar="N", help="8 to 40")
    add("--presses", type=seeds, default=seeds("0-99"), metavar="A-B", help="seeds")
    add("--families", nargs="+", choices=("A", "B"), default=["A", "B"])
    add("--methods", nargs="+", choices=tuple(METHODS), default=list(METHODS))
    add("--factors", type=int, choices=(1, 2, 3, 4), default=4)
    add("--workers", type=int, default=2)
    add("--json", type=Path, metavar="FILE", help="keep raw rows, one a line; go on from them")
    add(
        "--part", type=_part, default=(1, 1), metavar="K/N", help="only every Nth job, from the Kth"
    )
    return parser


if __name__ == "__main__":
    main()
