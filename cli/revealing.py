"""A practiced study and its simulated press -> how near the study came to the truth, in words."""

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from shotwindow.cli.console import show
from shotwindow.cli.practice_file import PRACTICE_FILE, Practice, read_practice
from shotwindow.cli.practice_press import practice_press
from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.groups import day_minutes
from shotwindow.doe.rows import WARM_UP, Row
from shotwindow.doe.runs import read_runs
from shotwindow.doe.study import Study, read_study
from shotwindow.models.scoring import Score, score
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.naming import axis_label, chance, percent, plural
from shotwindow.reports.outcomes import outcomes
from shotwindow.reports.words import columns

_SCHEMA = 1


def reveal_truth(folder: Path, *, as_json: bool) -> None:
    """Print the truth about the press on which a study was practiced, and the study's score.

    Raises
    ------
    StudyError
        If the study was not practiced, or shots are still to be made.
    Unanswerable
        If the fit gives no window to score.
    """
    practice = read_practice(folder)
    if practice is None:
        do = f"run `shotwindow practice {folder}` first"
        raise StudyError.one(str(folder / PRACTICE_FILE), "no such file", "a practiced study", do)
    if practice.in_class:
        do = "whoever keeps the class tells it: shotwindow practice CLASS --collect --reveal"
        raise StudyError.one(str(folder), "the study of a team", "a study by itself", do)
    left = sum(row.outcome == "open" for row in read_runs(folder, read_study(folder)))
    if left:
        do = "the truth is told when all shots are made or skipped"
        raise StudyError.one("runs.csv", f"{plural(left, 'shot')} not made", "none left", do)
    found = read_findings(folder)
    if found.window is None:
        raise Unanswerable("The fit did not converge: there is no window to score.")
    result = score(practice_press(found.study, practice), found.study, found.window, found.setpoint)
    if as_json:
        show(json.dumps(_document(found, practice, result), ensure_ascii=False))
    else:
        _print(found, practice, result)


def spent(study: Study, rows: Sequence[Row]) -> tuple[int, float]:
    """Return the shots that were made, warm-up shots too, and their minutes at a real press."""
    made = [row for row in rows if row.outcome in ("ok", "no part", "void")]
    minutes = 0.0
    for block in dict.fromkeys(row.block for row in made):
        day = [row for row in made if row.block == block]
        first = {row.group: row.settings for row in reversed(day)}
        openings = np.array([first[group] for group in sorted(first)])
        minutes += day_minutes(study, openings, sum(row.kind != WARM_UP for row in day))
    return len(made), minutes


def _good_shots(found: Findings) -> int:
    return int((outcomes(found.readings) == "good").sum())


def _print(found: Findings, practice: Practice, result: Score) -> None:
    made, minutes = spent(found.study, found.rows)
    show(f"The truth about the {practice.by}")
    sure = "nothing is sure" if result.sure_good is None else percent(result.sure_good)
    rows = [
        ("true window, of all settings allowed", percent(result.true_share)),
        ("your likely window", percent(result.likely_share)),
        ("overlap of the two (1: they are the same)", f"{result.overlap:.2f}"),
        ("of your sure window, truly in the window", sure),
        ("true share of good shots at your setpoint", _share(result.setpoint_good)),
        ("at the best setting that was looked at", _share(result.best_good)),
        ("shots made, warm-up shots too", f"{made}"),
        ("minutes that they take at a press", f"{minutes:.0f}"),
        ("of these shots, not good", f"{made - _good_shots(found)}"),
    ]
    for line in columns(rows):
        show(line)
    if found.setpoint is None:
        return
    show("True window along each setting, the others at your setpoint")
    for line in columns(_range_rows(found, result)):
        show(line)


def _share(value: float | None) -> str:
    return "no setpoint" if value is None else chance(value)


def _range_rows(found: Findings, result: Score) -> list[tuple[str, str]]:
    return [
        (
            axis_label(factor),
            "your setpoint is not in it"
            if ends is None
            else f"{factor.text(ends[0])} to {factor.text(ends[1])}",
        )
        for factor, ends in zip(found.study.factors, result.true_ranges, strict=True)
    ]


def _document(found: Findings, practice: Practice, result: Score) -> dict[str, object]:
    made, minutes = spent(found.study, found.rows)
    values = {
        key: float(f"{value:.6g}") if isinstance(value, float) else value
        for key, value in vars(result).items()
        if key != "true_ranges"
    }
    return {
        "schema": _SCHEMA,
        "press": {"press": practice.press, "seed": practice.seed, "team": practice.team},
        **values,
        "true_ranges": dict(zip(found.study.names, result.true_ranges, strict=True)),
        "shots": made,
        "minutes": float(f"{minutes:.6g}"),
        "not_good": made - _good_shots(found),
    }
