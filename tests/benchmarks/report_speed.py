"""A report: processor seconds of what is found and of its page, its size, and how long one waits.

    python tests/benchmarks/report_speed.py                  plant label, and 60 shots of 8 factors
    python tests/benchmarks/report_speed.py --cavities 4     the latter read cavity by cavity
    python tests/benchmarks/report_speed.py --marks-each 4   with fewer marks, so sooner

Found and page in one process, once all is loaded; the whole command, from its start to its end, by
the clock: the shortest and the longest of a few. The shots of eight factors are invented: straight
lines with a little scatter.
"""

import argparse
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from shutil import copytree, ignore_patterns
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parent.parent))

from benchmarks.million import eight, eight_text, shots
from invented_folders import write_folder

from shotwindow.doe.plans import Plan, PlannedShot
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_plan
from shotwindow.doe.study import Study
from shotwindow.reports.findings import read_findings
from shotwindow.reports.page import report_html

WAITED = 5  # times that the whole command is run
HEADS = ("study", "found in, s", "page in, s", "page, MB", "whole command, s")
SMALL = Path(__file__).parent.parent.parent / "examples" / "plant-label"


def large(each: int, cavities: int, count: int = 60) -> tuple[Study, tuple[Row, ...], Plan]:
    """Return a study of eight factors with so many marks each, its shots, and their plan."""
    whole = eight(each)
    study = replace(whole, mold=replace(whole.mold, cavities=cavities))
    rows = tuple(
        replace(row, fill=row.fill[-cavities:], flash=row.flash[:cavities])
        for row in shots(whole, count)
    )
    planned = (PlannedShot(r.shot, r.block, r.lot, r.group, r.kind, r.settings) for r in rows)
    return study, rows, Plan("optimal", "quadratic", 1, tuple(planned))


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure both and print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cavities", type=int, default=1)
    parser.add_argument("--marks-each", type=int, default=7, metavar="M")
    asked = parser.parse_args(arguments)
    _, rows, plan = large(asked.marks_each, asked.cavities)
    print(f"| {' | '.join(HEADS)} |\n| --- |{' ---: |' * (len(HEADS) - 1)}")
    report_html(read_findings(SMALL), read_plan(SMALL), ())  # loads all
    with TemporaryDirectory() as place:
        folder = copytree(SMALL, Path(place) / "small", ignore=ignore_patterns("out"))
        _tell("plant label, 20 shots, 4 factors", folder)
        text = eight_text(asked.marks_each, asked.cavities)
        folder = write_folder(Path(place) / "large", text, plan, rows)
        _tell("invented, 60 shots, 8 factors", folder)


def _tell(name: str, folder: Path) -> None:
    """Print a line of the table."""
    begun = time.process_time()
    found = read_findings(folder)
    middle = time.process_time()
    size = len(report_html(found, read_plan(folder), ()).encode()) / 1e6
    end = time.process_time()
    waited = sorted(_waited(folder) for _ in range(WAITED))
    whole = f"{waited[0]:.1f} to {waited[-1]:.1f}"
    print(
        f"| {name} | {middle - begun:.1f} | {end - middle:.1f} | {size:.2f} | {whole} |", flush=True
    )


def _waited(folder: Path) -> float:
    """Seconds by the clock of the whole command, in a process of its own."""
    command = [sys.executable, "-m", "shotwindow.cli", "report", str(folder)]
    begun = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
