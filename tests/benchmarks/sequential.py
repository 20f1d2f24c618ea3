"""Shots in one plan, or some of them chosen by `next` from what the first ones showed.

On random presses of both families, with two of four settings slow: plan, shoot and fit; add what
`next` suggests, shoot and fit again; and hold the likely window against the true one. "12+4" is a
plan of twelve shots and four suggested ones, "16" a plan of sixteen. Seeds 0 to 19 are for tuning,
1000 on for a report. Rows are kept as they are made; a run that was cut goes on.

    python tests/benchmarks/sequential.py 12+4 16 28 --presses 1000-1014 --json rows.jsonl
"""

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parent.parent))

import numpy as np
from benchmarks.keeping import Row, read_rows, rows_of_jobs, seeds
from benchmarks.trials import make_trial
from numpy.typing import NDArray

from shotwindow.doe.appending import Wanted, append
from shotwindow.doe.plans import Plan
from shotwindow.doe.restrictions import cost
from shotwindow.doe.study import Study
from shotwindow.models.candidates import Ground
from shotwindow.models.goodness import goodness
from shotwindow.models.next_shots import choose_next
from shotwindow.models.presses import random_press
from shotwindow.models.rehearsal import shoot_plan
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.window import find_window, tried_region


def rows_of(family: str, seed: int, shots: str) -> list[Row]:
    """Return the one row of a job."""
    return [row_of(family, seed, shots)]


def row_of(family: str, seed: int, shots: str) -> Row:
    """Shoot on one press and judge the window that is found."""
    first, *more = map(int, shots.split("+"))
    trial = make_trial(random_press(family, seed, factors=4), first, seed)
    study, plan, seen = trial.study, trial.plan, trial.readings
    for count in more:
        good = goodness(fit_surfaces(seen, seed=seed))
        ground = Ground(study, tried_region(seen), plan.settings(fitted_only=False))
        batch = choose_next(
            ground, find_window(study, seen, good), good, shots=count, present=ground.planned[-1],
            seed=seed,
        )  # fmt: skip
        plan = append(study, plan, [Wanted(s.settings, "next") for s in batch.shots])
        seen = shoot_plan(study, trial.press, plan.shots, seed=seed)
    surfaces = fit_surfaces(seen, seed=seed)
    chance = np.zeros(len(trial.marks))
    if surfaces.converged:
        found = find_window(study, seen, goodness(surfaces)).probability_in_window
        chance = np.nan_to_num(found.ravel()[trial.flat])
    row = {"family": family, "seed": seed, "shots": shots, **_judged(chance, trial.good)}
    return {**row, "minutes": _minutes(study, plan)}


def _judged(chance: NDArray[np.float64], true: NDArray[np.bool_]) -> Row:
    likely = chance >= 0.5
    either = int((likely | true).sum())
    return {
        "overlap": float((likely & true).sum() / either) if either else 0.0,
        "wrong": float((likely != true).mean()),
        "brier": float(((chance - true) ** 2).mean()),
    }


def _minutes(study: Study, plan: Plan) -> float:
    return float(cost(study, plan).minutes)


def table(rows: Sequence[Row]) -> str:
    """Return means over the presses that every way was tried on, with standard errors."""
    ways = list(dict.fromkeys(row["shots"] for row in rows))
    found = {(row["family"], row["seed"], row["shots"]): row for row in rows}
    presses = [p for p in {key[:2] for key in found} if all((*p, way) in found for way in ways)]
    lines = [f"| {len(presses)} presses | overlap | taken wrongly | squared error | minutes |"]
    lines += ["| --- | ---: | ---: | ---: | ---: |"]
    for way in ways:
        cells = []
        for name, digits in (("overlap", 3), ("wrong", 3), ("brier", 4)):
            values = np.array([found[(*p, way)][name] for p in presses])
            error = values.std(ddof=1) / len(values) ** 0.5 if len(values) > 1 else np.inf
            cells.append(f"{values.mean():.{digits}f} ± {error:.{digits}f}")
        minutes = np.mean([found[(*p, way)]["minutes"] for p in presses])
        lines.append(f"| {way} | {' | '.join(cells)} | {minutes:.0f} |")
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run what was asked for and print the table."""
    parser = argparse.ArgumentParser(description="Plans, and shots chosen one batch at a time.")
    parser.add_argument("shots", nargs="+", help='as "16" or "12+4"')
    parser.add_argument("--presses", type=seeds, default=seeds("0-9"), metavar="A-B")
    parser.add_argument("--families", nargs="+", choices=("A", "B"), default=["A", "B"])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--json", type=Path, metavar="FILE")
    asked = parser.parse_args(arguments)
    rows = read_rows(asked.json)
    done = {(row["family"], row["seed"], row["shots"]) for row in rows}
    jobs = [
        (f, seed, shots) for seed in asked.presses for f in asked.families for shots in asked.shots
    ]
    rows += rows_of_jobs(
        rows_of, [job for job in jobs if job not in done], asked.json, asked.workers
    )
    print(table([row for row in rows if row["shots"] in asked.shots]))


if __name__ == "__main__":
    main()
