"""A report: processor seconds of what is found and of its page, and the size of the page.

    python tests/benchmarks/report_speed.py                  plant label, and 60 shots of 8 factors
    python tests/benchmarks/report_speed.py --cavities 4     the latter read cavity by cavity
    python tests/benchmarks/report_speed.py --marks-each 4   with fewer marks, so sooner

The shots of eight factors are invented: straight lines with a little scatter.
"""

import argparse
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from benchmarks.million import eight, shots

from shotwindow.doe.plans import Plan, PlannedShot
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_plan
from shotwindow.doe.study import Study
from shotwindow.reports.findings import Findings, find, read_findings
from shotwindow.reports.page import report_html

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
    study, rows, plan = large(asked.marks_each, asked.cavities)
    print("| study | found in, s | page in, s | page, MB |\n| --- | ---: | ---: | ---: |")
    begun = time.process_time()
    _tell("plant label, 20 shots, 4 factors", begun, read_findings(SMALL), read_plan(SMALL))
    begun = time.process_time()
    _tell("invented, 60 shots, 8 factors", begun, find(study, rows), plan)


def _tell(name: str, begun: float, found: Findings, plan: Plan) -> None:
    """Print a line of the table; what was found is found by now."""
    middle = time.process_time()
    size = len(report_html(found, plan, ()).encode()) / 1e6
    end = time.process_time()
    print(f"| {name} | {middle - begun:.1f} | {end - middle:.1f} | {size:.2f} |", flush=True)


if __name__ == "__main__":
    main()
