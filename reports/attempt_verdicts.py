"""A study's folder -> the verdict of its last attempt to confirm, as far as it was shot."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from shotwindow.doe.attempts import ATTEMPTS_FILE, KIND, MEND, Attempt, read_attempts
from shotwindow.doe.errors import Problem, StudyError, Unanswerable
from shotwindow.doe.readings import readings
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_runs
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study, read_study
from shotwindow.models.challenge import Demand
from shotwindow.models.judgement import CANNOT_TELL, NOT_CONFIRMED, Judgement, Made, judge
from shotwindow.models.weighed import Weighed, weigh
from shotwindow.reports.findings import Findings, find
from shotwindow.reports.priors import PRIORS
from shotwindow.reports.verdicts import fit_failed


@dataclass(frozen=True)
class Judged:
    """An attempt with what its shots say.

    Attributes
    ----------
    attempt : Attempt
    judgement : Judgement
    before : Findings
        What predicted its shots: everything shot before them.
    after : Findings or None
        With its shots in the fit, for an attempt that failed.
    weighed : tuple of Weighed
        Masses of the parts shot at the setpoint, a cavity each; empty where none were weighed.
    """

    attempt: Attempt
    judgement: Judgement
    before: Findings
    after: Findings | None
    weighed: tuple[Weighed, ...]


def judge_attempt(folder: Path, attempt: Attempt) -> Judged:
    """Judge an attempt as far as it was shot.

    Its shots are not in the fit that predicts them, nor is anything shot after them.

    Raises
    ------
    StudyError
        If the study, its runs or the attempt itself need mending.
    Unanswerable
        If the fit without its shots did not converge.
    """
    study = read_study(folder)
    rows = read_runs(folder, study)
    _check_fits(folder, attempt, study, rows)
    own = attempt.own(rows)
    before = find(study, attempt.before(rows), seed=attempt.seed, prior=attempt.prior)
    if before.window is None:
        raise Unanswerable(fit_failed(before))
    made = [row for row in own if row.is_fitted]
    at_setpoint = np.array([_same(row.settings, attempt.setpoint) for row in made], dtype=bool)
    judgement = judge(
        before.surfaces,
        Made(
            readings(study, made) if made else None,
            ~at_setpoint,
            sum(row.outcome == "open" for row in own),
        ),
        Demand(attempt.reliability, attempt.confidence, attempt.failures, attempt.groups),
        good_from=study.good_from,
        rng=generator(attempt.seed, "judgement", attempt.number),
    )
    failed = judgement.answer == NOT_CONFIRMED
    return Judged(
        attempt=attempt,
        judgement=judgement,
        before=before,
        after=find(study, rows, seed=attempt.seed, prior=attempt.prior) if failed else None,
        weighed=_weighed(
            study, [r for r, at in zip(made, at_setpoint, strict=True) if at], attempt
        ),
    )


def _check_fits(folder: Path, attempt: Attempt, study: Study, rows: Sequence[Row]) -> None:
    """Refuse an attempt that is not of this study and these runs, or of no prior that there is."""
    place = f"{folder / ATTEMPTS_FILE} attempt {attempt.number}"
    problems = []
    if attempt.prior not in PRIORS:
        known = " or ".join(f'"{prior}"' for prior in PRIORS)
        problems.append(Problem(f"{place} prior", f'"{attempt.prior}"', known, MEND))
    for name, rows_of in (("setpoint", (attempt.setpoint,)), ("corners", attempt.corners)):
        for settings in rows_of:
            if len(settings) != len(study.factors):
                expected = f"{len(study.factors)}, one for each of {', '.join(study.names)}"
                problems.append(
                    Problem(f"{place} {name}", f"{len(settings)} settings", expected, MEND)
                )
    there = {row.shot for row in rows if row.kind == KIND}
    lost = [f"{shot}" for shot in attempt.shots if shot not in there]
    if lost:
        expected = "confirmation shots of runs.csv"
        problems.append(Problem(f"{place} shots", ", ".join(lost), expected, MEND))
    if problems:
        raise StudyError(problems)


def _same(one: Sequence[float], other: Sequence[float]) -> bool:
    return bool(np.allclose(one, other, rtol=0.0, atol=1e-9))


def _weighed(study: Study, rows: Sequence[Row], attempt: Attempt) -> tuple[Weighed, ...]:
    """Return what the masses of the parts at the setpoint say, a cavity each."""
    full = study.mold.full_mass_g
    if study.fill.measured != "mass" or full is None:
        return ()
    masses = [row.fill for row in rows if len(row.fill) == study.cavities]
    found = []
    for cavity in range(study.cavities):
        read = [m[cavity] for m in masses]
        grams = np.array([value for value in read if isinstance(value, float)])
        least = full[cavity] * study.fill.full_from / 100.0
        found.append(weigh(cavity + 1, grams, least, attempt.reliability, attempt.confidence))
    return tuple(one for one in found if one is not None)


def last_judged(folder: Path) -> Judged | None:
    """Return the last attempt of a study with its verdict; None where none was ever planned."""
    attempts = read_attempts(folder)
    return judge_attempt(folder, attempts[-1]) if attempts else None


def cannot_tell(judged: Judged) -> bool:
    """Return whether all shots are made and still nothing can be told."""
    return judged.judgement.answer == CANNOT_TELL and judged.judgement.missing == 0


def wanted_demand(folder: Path, asked: Mapping[str, float | None]) -> Demand:
    """Return what is to be shown; a further attempt is asked the same as the last unless told.

    Raises
    ------
    StudyError
        If shots of the last attempt are still to be made, and it is not failed yet.
    """
    attempts = read_attempts(folder)
    demand = Demand(read_study(folder).good_from, 0.9)
    if attempts:
        last = attempts[-1]
        demand = Demand(last.reliability, last.confidence, last.failures, last.groups)
        judged = judge_attempt(folder, last)
        if judged.judgement.answer != NOT_CONFIRMED and judged.judgement.missing:
            raise StudyError.one(
                "confirm --again",
                f"attempt {last.number} with {judged.judgement.missing} shots still to be made",
                "a finished attempt",
                "record its shots first, or mark them skipped",
            )
    given = {name: value for name, value in asked.items() if value is not None}
    return replace(demand, **given)  # type: ignore[arg-type] # its own fields


def check_unchanged(folder: Path, asked: Mapping[str, float | None]) -> None:
    """Refuse to change what an attempt is to show after its shots were planned.

    Raises
    ------
    StudyError
        If something else is asked for than was fixed before the shots.
    """
    last = read_attempts(folder)[-1]
    for name, value in asked.items():
        fixed = getattr(last, name)
        if value is not None and value != fixed:
            raise StudyError.one(
                f"confirm --{name}",
                f"{value:g}",
                f"{fixed:g}, fixed before the shots of attempt {last.number}",
                "add --again for a further attempt with fresh shots",
            )
