"""A study's folder -> the shots of an attempt to confirm its setpoint, and their chance."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwindow.doe.appending import Wanted, added_minutes, append
from shotwindow.doe.attempts import KIND, Attempt, read_attempts, write_attempts
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.guards import passed
from shotwindow.doe.plans import Plan
from shotwindow.doe.runs import read_plan, write_plan
from shotwindow.doe.seeds import generator
from shotwindow.models.challenge import (
    Challenge,
    Chance,
    Demand,
    chance_to_pass,
    plan_challenge,
    worst_corners,
)
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.verdicts import fit_failed, verdict


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
    longer : Plan
    minutes : float
    """

    found: Findings
    attempt: Attempt
    challenge: Challenge
    chance: Chance
    longer: Plan
    minutes: float


def plan_attempt(
    folder: Path, demand: Demand | None = None, *, seed: int = 1, signs: bool = True
) -> Planned:
    """Choose the shots of a further attempt to confirm the setpoint.

    Parameters
    ----------
    folder : Path
    demand : Demand, optional
        By default the share of good shots that the study asks for, with a confidence of 0.9.
    seed, signs
        See `read_findings`.

    Raises
    ------
    StudyError
        If the study or its runs need mending, or the demand is none.
    Unanswerable
        If there is no setpoint that the press can hold.
    """
    found = read_findings(folder, seed=seed, signs=signs)
    if found.window is None:
        raise Unanswerable(fit_failed(found))
    if found.setpoint is None or found.ranges is None or found.setpoint.narrow:
        raise Unanswerable(f"There is no setpoint to confirm. {verdict(found)}")
    wanted = demand or Demand(found.study.good_from, 0.9)
    _check(wanted)
    setpoint = np.array(found.setpoint.settings)
    corners = worst_corners(found.goodness, found.study.factors, found.ranges)
    corners = corners[(np.abs(corners - setpoint) > 1e-9).any(axis=1)]
    challenge = plan_challenge(found.study, setpoint, corners, wanted)
    passed("confirm", found.study, find_card(found.study.material.name, folder), challenge.settings)
    attempts = read_attempts(folder)
    chance = chance_to_pass(
        found.goodness, challenge, wanted, lot=found.study.material.lot,
        rng=generator(seed, "chance to pass", len(attempts)),
    )  # fmt: skip
    plan = read_plan(folder)
    number = len(attempts) + 1
    new = np.diff(challenge.group, prepend=0) > 0
    rows = [
        Wanted(tuple(float(v) for v in s), KIND, bool(fresh))
        for s, fresh in zip(challenge.settings, new, strict=True)
    ]
    longer = append(found.study, plan, rows, block=f"{KIND} {number}")
    own = [s.shot for s in longer.shots[len(plan.shots) :] if s.kind == KIND]
    attempt = Attempt(
        number=number,
        reliability=wanted.reliability,
        confidence=wanted.confidence,
        failures=wanted.failures,
        groups=wanted.groups,
        setpoint=found.setpoint.settings,
        corners=tuple(tuple(float(v) for v in c) for c in challenge.settings[challenge.corner]),
        shots=tuple(own),
        chance=chance.both,
        seed=seed,
        signs=signs,
        fingerprint=found.fingerprint,
    )
    return Planned(
        found, attempt, challenge, chance, longer, added_minutes(found.study, plan, longer)
    )


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
    if demand.failures < 0 or demand.groups < 1:
        found = f"--failures {demand.failures} --groups {demand.groups}"
        raise StudyError.one("confirm", found, "failures from 0, groups from 1")
