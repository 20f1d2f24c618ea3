"""A study's folder -> the shots to make next, as a plan that goes on from what is planned."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.appending import Wanted, added_minutes, append
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.errors import Problem, StudyError, Unanswerable
from shotwindow.doe.guards import passed
from shotwindow.doe.plans import Plan
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_plan
from shotwindow.doe.safety import has_heavy_flash
from shotwindow.doe.study import Study
from shotwindow.models.candidates import Ground
from shotwindow.models.next_shots import Batch, choose_next
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.priors import MOLDING
from shotwindow.reports.verdicts import fit_failed

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Suggested:
    """Shots to make next.

    Attributes
    ----------
    found : Findings
    batch : Batch
    plan, longer : Plan
        All shots planned so far, and with the suggested ones.
    minutes : float
        That they take at the press.
    still_open : int
        Planned shots that are not made yet, and come first.
    """

    found: Findings
    batch: Batch
    plan: Plan
    longer: Plan
    minutes: float
    still_open: int

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        """Print what `next` prints, in a notebook or an IPython shell."""
        from shotwindow.reports.next_words import next_lines  # which imports this module

        printer.text("\n".join(next_lines(self)))


def suggest(
    folder: Path,
    *,
    shots: int,
    cold: bool = False,
    reference: bool = False,
    seed: int = 1,
    prior: str = MOLDING,
) -> Suggested:
    """Choose the shots to make next in a study.

    Parameters
    ----------
    folder : Path
    shots : int
        How many at the most.
    cold : bool
        The press has been off, or the day is another: nothing of the last temperature group is
        left.
    reference : bool
        One of them is to be at the setpoint, or at the best setting so far, in a new group.
    seed, prior
        See `read_findings`.

    Raises
    ------
    StudyError
        If the study or its runs need mending, no shot is asked for, or a reference shot would be
        in a group and a lot that the setpoint was shot in just now.
    Unanswerable
        If the fit did not converge, or no new setting is left.
    """
    if shots < 1:
        raise StudyError.one("next --shots", f"{shots}", "1 or more")
    found = read_findings(folder, seed=seed, prior=prior)
    if found.window is None:
        raise Unanswerable(fit_failed(found))
    plan = read_plan(folder)
    stands = [row for row in found.rows if row.outcome != "skipped"][-1]
    ground = Ground(
        found.study,
        found.region,
        planned=np.array([row.settings for row in found.rows]),
        flashed=np.array([r.settings for r in found.rows if has_heavy_flash(found.study, r)]),
    )
    if reference:
        ground = replace(ground, reference=_reference(found, ground, stands, cold=cold))
    batch = choose_next(
        ground, found.window, found.goodness, shots=shots,
        present=None if cold else np.array(stands.settings), seed=seed,
    )  # fmt: skip
    if not batch.shots:
        raise Unanswerable("no new setting is left: every mark that may be shot is near a shot")
    card = find_card(found.study.material.name, folder)
    passed("next", found.study, card, [shot.settings for shot in batch.shots])
    wanted = [Wanted(s.settings, "next", cold and i == 0) for i, s in enumerate(batch.shots)]
    longer = append(found.study, plan, wanted, block=_block(plan, cold), after=stands.shot)
    return Suggested(
        found=found,
        batch=batch,
        plan=plan,
        longer=longer,
        minutes=added_minutes(found.study, plan, longer, cold=cold),
        still_open=sum(row.outcome == "open" for row in found.rows if row.kind != "warm-up"),
    )


def _reference(found: Findings, ground: Ground, stands: Row, *, cold: bool) -> Array:
    """Return the setpoint, or else the best setting so far, if a shot there tells something new."""
    window = found.window
    assert window is not None  # the fit converged
    usable = window.allowed & window.tried
    best = int(np.where(usable, np.nan_to_num(window.probability_good), -1.0).argmax())
    settings: Array = window.settings_of(np.array([best]))[0]
    if found.setpoint is not None:
        settings = np.array(found.setpoint.settings)
    here, lot = settings[None, :], found.study.material.lot
    if not ground.is_safe(here)[0]:
        raise Unanswerable(
            "no reference shot: a shot with heavy flash was no higher in any setting"
        )
    moved = cold or ground.moved(here, np.array(stands.settings))[0]
    if not moved and (not lot or lot in found.surfaces.lots):
        raise StudyError.one(
            "next --reference",
            "the setpoint in the temperature group where the press stands",
            "a new group, day or lot, which a shot once more at the setpoint tells of",
            "add --new-day once the press has been off, or name a new material.lot in study.toml",
        )
    return settings


def _block(plan: Plan, cold: bool) -> str:
    """Return the block of the added shots: the present one, or another for another day."""
    if not cold:
        return ""
    blocks = {shot.block for shot in plan.shots}
    return next(str(n) for n in range(len(blocks) + 1, 2 * len(blocks) + 2) if str(n) not in blocks)


def edited(told: Suggested, settings: Array, *, cold: bool = False) -> Plan:
    """Return the plan with other shots in place of the suggested ones.

    Parameters
    ----------
    told : Suggested
    settings : ndarray, shape (n, k)
        In running order.
    cold : bool
        As for `suggest`.

    Raises
    ------
    StudyError
        If a setting lies on no mark, outside the limits, or in an [[avoid]] rule.
    """
    _check_marks(told.found.study, settings)
    rows = [tuple(float(v) for v in row) for row in settings]
    wanted = [Wanted(row, "next", cold and i == 0) for i, row in enumerate(rows)]
    stands = [row for row in told.found.rows if row.outcome != "skipped"][-1]
    return append(
        told.found.study, told.plan, wanted, block=_block(told.plan, cold), after=stands.shot
    )


def _check_marks(study: Study, settings: Array) -> None:
    problems = []
    if not len(settings):
        problems.append(Problem("the shots to make next", "no shot", "one or more"))
    for i, row in enumerate(settings):
        for factor, value in zip(study.factors, row, strict=True):
            steps = (value - factor.low) / factor.step
            if not abs(steps - round(steps)) < 1e-6:
                place = f'the shots to make next, shot {i + 1}, "{factor.label}"'
                expected = f"a mark: {factor.text(factor.low)} and steps of {factor.step:g}"
                problems.append(Problem(place, f"{value:g}", expected))
    if problems:
        raise StudyError(problems)


def settings_table(study: Study, settings: Sequence[tuple[float, ...]]) -> str:
    """Return settings as the text of a CSV file with the factor columns of runs.csv."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([factor.label for factor in study.factors])
    for row in settings:
        writer.writerow([f.text(v) for f, v in zip(study.factors, row, strict=True)])
    return text.getvalue()
