"""A study's folder -> the shots of an attempt to confirm its setpoint, and their chance."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.appending import Wanted, added_minutes, append
from shotwindow.doe.attempts import KIND, Attempt, read_attempts, write_attempts
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.groups import slow_positions
from shotwindow.doe.guards import passed
from shotwindow.doe.plans import Plan
from shotwindow.doe.runs import read_plan, write_plan
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.models.challenge import (
    QUALIFIED_FROM,
    Challenge,
    Chance,
    Demand,
    Risk,
    chance_to_pass,
    plan_challenge,
    risks,
    worst_corners,
)
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.priors import MOLDING
from shotwindow.reports.verdicts import fit_failed, verdict

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Planned:
    """Confirmation shots that are not written yet.

    Attributes
    ----------
    found : Findings
        Without these shots.
    attempt : Attempt
    challenge : Challenge
    chance : Chance
        Of passing.
    risks : tuple of Risk
        Of passing for settings that should not.
    longer : Plan
    minutes : float
    """

    found: Findings
    attempt: Attempt
    challenge: Challenge
    chance: Chance
    risks: tuple[Risk, ...]
    longer: Plan
    minutes: float

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        """Print what `confirm` prints of its shots, in a notebook or an IPython shell."""
        from shotwindow.reports.attempt_words import planned_lines  # which imports this module

        printer.text("\n".join(planned_lines(self)))


def plan_attempt(
    folder: Path, demand: Demand | None = None, *, seed: int = 1, prior: str = MOLDING
) -> Planned:
    """Choose the shots of a further attempt to confirm the setpoint.

    Parameters
    ----------
    folder : Path
    demand : Demand, optional
        By default the share of good shots that the study asks for, with a confidence of 0.9.
        Where it names no groups and a setting is slow, as many as a qualification asks for, or
        fewer where the study's minutes do not allow that.
    seed, prior
        See `read_findings`.

    Raises
    ------
    StudyError
        If the study or its runs need mending, or the demand is none.
    Unanswerable
        If there is no setpoint that the press can hold.
    """
    found = read_findings(folder, seed=seed, prior=prior)
    if found.window is None:
        raise Unanswerable(fit_failed(found))
    if found.setpoint is None or found.ranges is None or found.setpoint.narrow:
        raise Unanswerable(f"There is no setpoint to confirm. {verdict(found)}")
    wanted = demand or Demand(found.study.good_from, 0.9)
    _check(wanted)
    setpoint = np.array(found.setpoint.settings)
    corners = worst_corners(found.goodness, found.window.factors, found.ranges)
    corners = corners[(np.abs(corners - setpoint) > 1e-9).any(axis=1)]
    plan = read_plan(folder)
    number = len(read_attempts(folder)) + 1
    challenge = _in_time(found.study, plan, setpoint, corners, wanted)
    passed("confirm", found.study, find_card(found.study.material.name, folder), challenge.settings)
    chance = chance_to_pass(
        found.goodness, challenge, wanted, lot=found.study.material.lot,
        rng=generator(seed, "chance to pass", number - 1),
    )  # fmt: skip
    longer = _appended(found.study, plan, challenge, number)
    own = [s.shot for s in longer.shots[len(plan.shots) :] if s.kind == KIND]
    attempt = Attempt(
        number=number,
        reliability=wanted.reliability,
        confidence=wanted.confidence,
        failures=wanted.failures,
        groups=len(challenge.shots_by_group),
        setpoint=found.setpoint.settings,
        corners=tuple(tuple(float(v) for v in c) for c in challenge.settings[challenge.corner]),
        shots=tuple(own),
        chance=chance.both,
        seed=seed,
        prior=prior,
        fingerprint=found.fingerprint,
    )
    return Planned(
        found=found,
        attempt=attempt,
        challenge=challenge,
        chance=chance,
        risks=risks(found.goodness, challenge, wanted),
        longer=longer,
        minutes=added_minutes(found.study, plan, longer),
    )


def _appended(study: Study, plan: Plan, challenge: Challenge, number: int) -> Plan:
    """Return the plan with the shots of an attempt at its end."""
    new = np.diff(challenge.group, prepend=0) > 0
    rows = [
        Wanted(tuple(float(v) for v in s), KIND, bool(fresh))
        for s, fresh in zip(challenge.settings, new, strict=True)
    ]
    return append(study, plan, rows, block=f"{KIND} {number}")


def _in_time(
    study: Study, plan: Plan, setpoint: Array, corners: Array, demand: Demand
) -> Challenge:
    """Return the shots in the groups asked for, or else in as many as the minutes allow."""
    if demand.groups is not None:
        return plan_challenge(study, setpoint, corners, demand)
    most = min(QUALIFIED_FROM if slow_positions(study) else 1, demand.shots)
    left = study.time.budget_min - study.time.start_up_min - study.time.clean_up_min
    for groups in range(most, 1, -1):
        made = plan_challenge(study, setpoint, corners, replace(demand, groups=groups))
        if added_minutes(study, plan, _appended(study, plan, made, 1)) <= left:
            return made
    return plan_challenge(study, setpoint, corners, demand)


def write_attempt(folder: Path, planned: Planned) -> None:
    """Write the shots of an attempt to the run sheet, and what they are to show beside it."""
    write_plan(folder, planned.found.study, planned.longer)
    write_attempts(folder, [*read_attempts(folder), planned.attempt])


def _check(demand: Demand) -> None:
    """Refuse a demand that no shots could show."""
    for name in ("reliability", "confidence"):
        value = getattr(demand, name)
        if not 0.0 < value < 1.0:
            raise StudyError.one(f"confirm --{name}", f"{value:g}", "between 0 and 1, as 0.9")
    if demand.failures < 0 or (demand.groups is not None and demand.groups < 1):
        found = f"--failures {demand.failures} --groups {demand.groups}"
        raise StudyError.one("confirm", found, "failures from 0, groups from 1")
