"""How often an effect is called a conflict with the molding prior: wrongly, and rightly.

On random presses of four settings that all act as the molding prior expects, no effect should be
called a conflict. Then the pressure is written down the wrong way round in all shots, and its
effect on fill should be. Both are what `surfaces` says (`shotwindow.reports.pull`). Rows are kept
as they are made, and a run that was cut goes on. Seeds as in `recovery.py`.

    python tests/benchmarks/conflicts.py --shots 12 20 --presses 0-19 --json rows.jsonl
"""

import argparse
import os
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

# One thread, told before numpy is loaded.
os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parent.parent))

import numpy as np
from benchmarks.keeping import Row, read_rows, rows_of_jobs, seeds
from benchmarks.trials import press_of, study_of

from shotwindow.doe.plans import make_plan
from shotwindow.doe.readings import Readings
from shotwindow.models.rehearsal import shoot_plan
from shotwindow.models.surface import fit_surfaces
from shotwindow.reports.pull import FAR, distances

KEY = ("family", "seed", "shots", "turned")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run what was asked for and print the table."""
    asked = _parser().parse_args(arguments)
    kept = {_key(row): row for row in read_rows(asked.json)}
    jobs = [
        (family, seed, shots, turned, asked.factors)
        for seed in asked.presses
        for family in ("A", "B")
        for shots in asked.shots
        for turned in (False, True)
    ]
    left = [job for job in jobs if job[:4] not in kept]
    kept |= {_key(row): row for row in rows_of_jobs(rows_of, left, asked.json, asked.workers)}
    print(table([kept[job[:4]] for job in jobs]))


def rows_of(family: str, seed: int, shots: int, turned: bool, factors: int) -> list[Row]:
    """Return how far each effect lies from what is expected, in standard deviations.

    ``far`` holds a list for each response, one number for each setting; it is None where a fit
    may not be used, so that nothing is said of conflicts.
    """
    press = press_of(family, seed, factors, worn=False)
    study = study_of(press)
    plan = make_plan(study, shots=shots, seed=seed)
    seen = shoot_plan(study, press, plan.shots, seed=seed)
    if turned:
        seen = _turned(seen)
    molding, weak = (fit_surfaces(seen, seed=seed, signs=signs) for signs in (True, False))
    far: dict[str, list[float]] = {}
    for one, other in zip(molding.each, weak.each, strict=True):
        if one.diagnostics.converged and other.diagnostics.converged:
            far[one.response] = distances(one, other)[0].tolist()
    names = [factor.name for factor in study.factors]
    return [dict(zip(KEY, (family, seed, shots, turned), strict=True)) | {"far": far, "of": names}]


def _turned(seen: Readings) -> Readings:
    """Return the readings with the pressure of each shot mirrored in the middle of its range."""
    j = [factor.name for factor in seen.factors].index("pressure")
    settings = seen.settings.copy()
    settings[:, j] = seen.factors[j].low + seen.factors[j].high - settings[:, j]
    return replace(seen, settings=settings)


def table(rows: Sequence[Row]) -> str:
    """Return a Markdown table, one line for each number of shots.

    Examples
    --------
    >>> from benchmarks.conflicts import table
    >>> row = {"shots": 12, "of": ["pressure", "injection_time"]}
    >>> print(table([
    ...     row | {"turned": False, "far": {"fill": [0.5, -2.5], "flash": [0.1, 0.2]}},
    ...     row | {"turned": True, "far": {"fill": [-3.5, 0.5]}},
    ... ]))
    | shots | named wrongly | largest distance | turned round: named | its distance, median | others named with it |
    | ---: | ---: | ---: | ---: | ---: | ---: |
    | 12 | 1 of 4 effects | 2.5 | 1 of 1 studies | 3.5 | 0 of 1 |
    """  # noqa: E501 # a table
    head = ["shots", "named wrongly", "largest distance", "turned round: named"]
    head += ["its distance, median", "others named with it"]
    lines = [head, ["---:"] * len(head)]
    for shots in sorted({row["shots"] for row in rows}):
        some = [row for row in rows if row["shots"] == shots]
        right = np.abs([x for row in some if not row["turned"] for x in _all(row)])
        turned = [row for row in some if row["turned"] and "fill" in row["far"]]
        pressure = [abs(row["far"]["fill"][row["of"].index("pressure")]) for row in turned]
        others = sum(len(row["of"]) * len(row["far"]) - 1 for row in turned)
        named = sum(abs(x) > FAR for row in turned for x in _all(row))
        named -= (hits := sum(x > FAR for x in pressure))
        lines.append(
            [
                str(shots),
                f"{(right > FAR).sum()} of {right.size} effects",
                f"{right.max():.1f}",
                f"{hits} of {len(turned)} studies",
                f"{np.median(pressure):.1f}",
                f"{named} of {others}",
            ]
        )
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _all(row: Row) -> list[float]:
    return [x for each in row["far"].values() for x in each]


def _key(row: Row) -> tuple[object, ...]:
    return tuple(row[name] for name in KEY)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--shots", type=int, nargs="+", default=[12, 20], metavar="N")
    add("--presses", type=seeds, default=seeds("0-19"), metavar="A-B", help="seeds")
    add("--factors", type=int, choices=(2, 3, 4), default=4)
    add("--workers", type=int, default=2)
    add("--json", type=Path, metavar="FILE", help="keep raw rows, one a line; go on from them")
    return parser


if __name__ == "__main__":
    main()
