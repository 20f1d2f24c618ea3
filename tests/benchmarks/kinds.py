"""What each kind of plan is worth: how much of a true window it lets our fit find.

Every kind that can be planned with so many shots is planned, shot on the same random presses of
four factors, two of them slow, and fitted with the defaults; the overlap of the likely with the
true window is what it is worth. A kind that does not exist at a size has a dash. Rows are kept
as they are made, and a run that was cut goes on where it stopped. Seeds as in `recovery.py`.

    python tests/benchmarks/kinds.py --presses 0-11 --json kinds.jsonl
    python tests/benchmarks/kinds.py --shots 20 --kinds optimal composite --json kinds.jsonl
"""

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

# One thread, told before numpy is loaded.
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parent.parent))

import numpy as np
from benchmarks.judge import overlap
from benchmarks.keeping import Row, read_rows, rows_of_jobs, seeds
from benchmarks.trials import Trial, make_trial, press_of, true_good

from shotwindow.doe.errors import StudyError
from shotwindow.doe.plans import PLANS
from shotwindow.doe.restrictions import cost
from shotwindow.models.goodness import goodness
from shotwindow.models.setpoint import find_setpoint
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.window import find_window

FACTORS = 4
KEY = ("family", "seed", "shots", "kind")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run what was asked for and print the table."""
    asked = _parser().parse_args(arguments)
    kept = {_key(row): row for row in read_rows(asked.json)}
    jobs = [
        (family, seed, shots, kind)
        for seed in asked.presses
        for family in ("A", "B")
        for shots in asked.shots
        for kind in asked.kinds
    ]
    left = [job for job in jobs if job not in kept]
    kept |= {_key(row): row for row in rows_of_jobs(rows_of, left, asked.json, asked.workers)}
    print(table([kept[job] for job in jobs]))


def rows_of(family: str, seed: int, shots: int, kind: str) -> list[Row]:
    """Return the one row of a job."""
    return [row_of(family, seed, shots, kind)]


def row_of(family: str, seed: int, shots: int, kind: str) -> Row:
    """Return what one plan found on one press; nothing but its key where there is no such plan."""
    row: Row = dict(zip(KEY, (family, seed, shots, kind), strict=True))
    try:
        trial = make_trial(press_of(family, seed, FACTORS, worn=False), shots, seed, kind=kind)
    except StudyError:
        return row | {"overlap": None}
    spent = cost(trial.study, trial.plan)
    row |= {"minutes": spent.minutes, "groups": spent.groups, "model": trial.plan.model}
    return row | _found(trial)


def _found(trial: Trial) -> Row:
    surfaces = fit_surfaces(trial.readings, seed=trial.seed)
    if not surfaces.converged:  # the program then gives no answer
        return {"overlap": 0.0, "setpoint_good": None, "answered": False}
    good = goodness(surfaces)
    window = find_window(trial.study, trial.readings, good)
    setpoint = find_setpoint(window, good)
    at_setpoint = None
    if setpoint is not None:
        at_setpoint = float(true_good(trial.press, np.array([setpoint.settings]))[0])
    return {
        "overlap": overlap(window.likely.ravel()[trial.flat], trial.good),
        "setpoint_good": at_setpoint,
        "answered": True,
    }


def table(rows: Sequence[Row]) -> str:
    """Return a Markdown table: kinds down, numbers of shots across.

    Examples
    --------
    >>> from benchmarks.kinds import table
    >>> row = {"shots": 12, "kind": "fraction", "overlap": 0.5, "minutes": 150.0}
    >>> print(table([row | {"setpoint_good": 0.95, "groups": 5}]))
    | kind | 12 shots |
    | --- | --- |
    | fraction | 0.50 of 1; setpoint works on 1; 5 groups, 150 min |
    """
    sizes = sorted({row["shots"] for row in rows})
    kinds = list(dict.fromkeys(row["kind"] for row in rows))
    lines = [["kind", *(f"{size} shots" for size in sizes)], ["---"] * (1 + len(sizes))]
    for kind in kinds:
        of_kind = [row for row in rows if row["kind"] == kind]
        lines.append(
            [kind, *(_cell([row for row in of_kind if row["shots"] == size]) for size in sizes)]
        )
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _cell(rows: Sequence[Row]) -> str:
    made = [row for row in rows if row["overlap"] is not None]
    if not made:
        return "-"
    found = np.array([row["overlap"] for row in made])
    error = f" ± {found.std(ddof=1) / np.sqrt(len(found)):.2f}" if len(found) > 1 else ""
    works = sum((row["setpoint_good"] or 0.0) >= 0.9 for row in made)
    groups, minutes = (np.mean([row[name] for row in made]) for name in ("groups", "minutes"))
    return (
        f"{found.mean():.2f}{error} of {len(made)}; setpoint works on {works}; "
        f"{groups:.0f} groups, {minutes:.0f} min"
    )


def _key(row: Row) -> tuple[Any, ...]:
    return tuple(row[name] for name in KEY)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--shots", type=int, nargs="+", default=[12, 16, 20, 28], metavar="N")
    add("--presses", type=seeds, default=seeds("0-11"), metavar="A-B", help="seeds")
    add("--kinds", nargs="+", choices=PLANS, default=list(PLANS))
    add("--workers", type=int, default=2)
    add("--json", type=Path, metavar="FILE", help="keep raw rows, one a line; go on from them")
    return parser


if __name__ == "__main__":
    main()
