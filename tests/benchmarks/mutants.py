"""Do the tests bite? Small faults are made in a copy of the sources, one at a time.

    make mutants
    python tests/benchmarks/mutants.py --modules models/window.py --count 40 --json rows.jsonl

Run with a Python that has cosmic-ray, a general tool for mutation testing, which makes the faults;
``--python`` is the one that runs the tests. Of all faults that can be made in a module a sample is
drawn from a seed, without those in annotations, which no test could see and which break the module
for another reason. A fault that the module's own test files do not notice has survived. Rows are
kept as they are made, and a run that was cut goes on where it stopped.
"""

import argparse
import ast
import hashlib
import json
import os
import random
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent.parent

#: The mathematics and the safe keeping, each with the tests that are about it, quick ones first.
MODULES = {
    "models/posterior.py": ("test_density_parts", "test_posterior", "test_surface"),
    "models/matching.py": ("test_matching", "test_peak"),
    "models/peak.py": ("test_peak",),
    "models/even_points.py": ("test_even_points",),
    "models/sequential.py": ("test_sequential", "test_posterior"),
    "models/few_shots.py": ("test_sequential", "test_posterior"),
    "models/together.py": ("test_together",),
    "models/window.py": ("test_window_asked", "test_window_counts", "test_window"),
    "models/setpoint.py": ("test_setpoint_search", "test_setpoint"),
    "models/held_chances.py": ("test_setpoint_search", "test_setpoint"),
    "models/confirmation.py": ("test_confirmation", "test_judgement"),
    "doe/optimal.py": ("test_optimal", "test_moves"),
    "doe/readings.py": ("test_readings", "test_rows"),
    "doe/store.py": ("test_store", "test_saving", "test_session"),
}
SECONDS = 300  # after which tests are taken to hang, which is a fault noticed


def main(arguments: Sequence[str] | None = None) -> None:
    """Make faults in the modules asked for and print the score of each."""
    asked = _parser().parse_args(arguments)
    kept = read_kept(asked.json)
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder))
        os.chdir(copy)
        os.environ |= {"PYTHONPATH": folder, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
        for module in asked.modules:
            command = command_of(asked.python, module)
            subprocess.run(command.split(), check=True, stdout=subprocess.DEVNULL)
            for row in faults(module, asked.count, asked.seed):
                if _key(row) in kept:
                    continue
                row |= outcome(row, command)
                kept[_key(row)] = row
                if asked.json:
                    with asked.json.open("a", encoding="utf-8") as file:
                        file.write(json.dumps(row) + "\n")
    print(table([row for row in kept.values() if row["module"] in asked.modules]))


def copied(folder: Path) -> Path:
    """Copy the sources to ``folder/shotwindow``, where they are found before the installed ones."""
    unwanted = shutil.ignore_patterns(".*", "dist", "build", "*.egg-info", "__pycache__")
    return Path(shutil.copytree(ROOT, folder / "shotwindow", ignore=unwanted))


def command_of(python: str, module: str) -> str:
    """Return what runs the tests of a module and its examples, and stops at the first that fails.

    The path is that of the interpreter without following links: a virtual environment's own.
    """
    tests = " ".join(f"tests/{name}.py" for name in MODULES[module])
    return f"{os.path.abspath(ROOT / python)} -m pytest -x -p no:cacheprovider {module} {tests}"


def faults(module: str, count: int, seed: int) -> Iterator[dict[str, Any]]:
    """Draw faults of a module: what the tool needs to make each, and where it is."""
    # installed apart, for this only, so that types are not found either
    import cosmic_ray.commands  # type: ignore[import-not-found]
    from cosmic_ray.work_db import WorkDB, use_db  # type: ignore[import-not-found]

    text = Path(module).read_text(encoding="utf-8")
    unseen = list(annotations(text))
    with use_db(Path(tempfile.mkdtemp()) / "faults.sqlite", WorkDB.Mode.create) as found:
        cosmic_ray.commands.init([Path(module)], found, {})
        all_of_them = [
            (m.operator_name, m.occurrence, m.start_pos)
            for item in found.work_items
            for m in item.mutations
            if not any(first <= m.start_pos < last for first, last in unseen)
        ]
    drawn = random.Random(seed).sample(sorted(all_of_them), min(count, len(all_of_them)))
    for operator, occurrence, (line, _) in drawn:
        yield {
            "module": module,
            "text": digest(text.encode()),
            "operator": operator,
            "occurrence": occurrence,
            "line": line,
            "of": len(all_of_them),
        }


def annotations(text: str) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    """Give the first and the last place (line, column) of each annotation."""
    for node in ast.walk(ast.parse(text)):
        for found in (getattr(node, "annotation", None), getattr(node, "returns", None)):
            if isinstance(found, ast.expr):
                yield (
                    (found.lineno, found.col_offset),
                    (found.end_lineno or found.lineno, found.end_col_offset or 0),
                )


def outcome(row: Mapping[str, Any], command: str) -> dict[str, Any]:
    """Make one fault and run the tests; return whether they noticed, and what it was."""
    # installed apart, for this only
    from cosmic_ray.mutating import mutate_and_test  # type: ignore[import-not-found]
    from cosmic_ray.work_item import MutationSpec  # type: ignore[import-not-found]

    fault = MutationSpec(
        Path(row["module"]), row["operator"], row["occurrence"], (row["line"], 0), (row["line"], 1)
    )
    result = mutate_and_test([fault], command, SECONDS)
    changed = [line for line in (result.diff or "").splitlines() if line[:1] in "+-"]
    return {
        "killed": bool(result.is_killed),
        "change": [c for c in changed if c[:3] not in ("+++", "---")],
    }


def table(rows: Sequence[Mapping[str, Any]]) -> str:
    """Return a Markdown table of scores, and what survived."""
    lines = ["| module | possible faults | tried | noticed | share |", "| --- |" + " ---: |" * 4]
    left = []
    for module in dict.fromkeys(row["module"] for row in rows):
        some = [row for row in rows if row["module"] == module]
        noticed = sum(row["killed"] for row in some)
        share = f"{noticed / len(some):.0%}"
        lines.append(f"| {module} | {some[-1]['of']} | {len(some)} | {noticed} | {share} |")
        left += [row for row in some if not row["killed"]]
    for row in sorted(left, key=lambda row: (row["module"], row["line"])):
        lines.append(f"\n{row['module']}, line {row['line']}")
        lines += [f"    {change}" for change in row["change"]]
    return "\n".join(lines)


def digest(text: bytes) -> str:
    """Return what tells one text of a module from another."""
    return hashlib.sha256(text).hexdigest()[:12]


def _key(row: Mapping[str, Any]) -> tuple[object, ...]:
    return tuple(row[name] for name in ("module", "text", "operator", "occurrence"))


def read_kept(file: Path | None) -> dict[tuple[object, ...], dict[str, Any]]:
    """Return kept rows; those of a module whose text has changed since are left out."""
    if file is None or not file.exists():
        return {}
    rows = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    now = {m: digest((ROOT / m).read_bytes()) for m in MODULES}
    return {_key(row): row for row in rows if now[row["module"]] == row["text"]}


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--modules", nargs="+", choices=tuple(MODULES), default=list(MODULES))
    add("--count", type=int, default=30, help="faults tried in each module")
    add("--seed", type=int, default=1)
    add("--python", default=".venv/bin/python", help="runs the tests")
    add("--json", type=lambda text: Path(text).absolute(), metavar="FILE", help="keep rows")
    return parser


if __name__ == "__main__":
    main()
