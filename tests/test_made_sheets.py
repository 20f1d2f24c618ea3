"""Thousands of sheets and studies of every hand: each gives its values or its refusals.

Run as a program, with how many, it prints the counts by kind of trouble.
"""

import sys
from collections import Counter

from made_sheets import MadeSheet, made_sheet, made_study
from sheets import plan

from shotwindow.doe.errors import StudyError
from shotwindow.doe.merging import merge
from shotwindow.doe.plan_file import planned_sheet
from shotwindow.doe.study import parse_study
from shotwindow.doe.tables import read_table

MADE = 2_000  # sheets and studies together


def hold_sheet(seed: int) -> str:
    """Check one sheet; return its kind of trouble."""
    made = made_sheet(seed)
    study = parse_study(made.study)
    table = read_table(made.file, made.data)
    found = merge(study, planned_sheet(study, plan()), table, whole=False)
    assert not found.problems, (seed, [str(problem) for problem in found.problems])
    places = [problem.place for problem in found.refused]
    ends = {place[place.index("row ") :] for place in places}
    assert ends == made.refused, (seed, made.trouble, places, made.refused)
    assert {shot: _values(made, cells) for shot, cells in found.values.items()} == made.values, seed
    if made.trouble == "ambiguous":
        assert all("1.25 or 1250" in str(problem) for problem in found.refused)
    return f"{made.file[5:]}: {made.trouble}"


def _values(made: MadeSheet, cells: dict[str, str]) -> dict[str, float | str]:
    words = ("note", "photo")
    return {name: text if name in words else float(text) for name, text in cells.items()}


def hold_study(seed: int) -> str:
    """Check one study; return its kind of trouble."""
    made = made_study(seed)
    try:
        study = parse_study(made.text)
    except StudyError as error:
        (problem,) = error.problems
        assert made.refused and made.refused in problem.place, (seed, str(problem))
    else:
        assert not made.refused, (seed, made.trouble)
        factor = study.factors[0]
        assert (factor.low, factor.high, study.cavities) == (made.low, made.high, made.cavities)
    return f"study: {made.trouble}"


def hold(count: int) -> Counter[str]:
    """Check so many; return how many there were of each kind."""
    quarter = count // 4
    return Counter(
        [hold_study(seed) for seed in range(quarter)]
        + [hold_sheet(seed) for seed in range(count - quarter)]
    )


def test_made__each__its_values_or_its_refusals() -> None:
    counts = hold(MADE)
    assert counts.total() == MADE
    assert min(counts.values()) >= 3, counts  # every kind of trouble really came


if __name__ == "__main__":
    for kind, number in sorted(hold(int(sys.argv[1])).items()):
        print(f"{number:6}  {kind}")
