"""A study and its plan -> what `plan` tells of it: what it costs, sees and leaves open; safety."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import cautions
from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.groups import change_minutes, slow_positions
from shotwindow.doe.guards import Guard, check_settings
from shotwindow.doe.judging import Judgement, judge
from shotwindow.doe.plans import Plan
from shotwindow.doe.restrictions import Cost, cost, restrictions
from shotwindow.doe.study import Study
from shotwindow.reports.documents import Document, by_name
from shotwindow.reports.naming import axis_label, plural, spoken
from shotwindow.reports.words import columns, paragraph


@dataclass(frozen=True)
class Told:
    """Everything that is said of a plan.

    Attributes
    ----------
    study : Study
    plan : Plan
    judgement : Judgement
    cost : Cost
    restrictions : tuple of str
        What is not random, not measured or not told apart.
    guards : tuple of Guard
        What someone has to know before the first shot.
    cautions : tuple of str
    """

    study: Study
    plan: Plan
    judgement: Judgement
    cost: Cost
    restrictions: tuple[str, ...]
    guards: tuple[Guard, ...]
    cautions: tuple[str, ...]


def tell(study: Study, plan: Plan, folder: Path | None = None) -> Told:
    """Judge a plan before it is written.

    Parameters
    ----------
    study : Study
    plan : Plan
    folder : Path, optional
        The study's folder, whose own cards are asked first.

    Raises
    ------
    StudyError
        If a setting is refused: beyond a rating, the clamp, or what the material bears.
    """
    card = find_card(study.material.name, folder)
    guards = check_settings(study, card, plan.settings(fitted_only=False))
    refused = [guard for guard in guards if guard.severity == "refuse"]
    if refused:
        raise StudyError(Problem("plan", g.what, g.do, g.why) for g in refused)
    return Told(
        study=study,
        plan=plan,
        judgement=judge(study, plan),
        cost=cost(study, plan),
        restrictions=restrictions(study, plan),
        guards=guards,
        cautions=cautions(study, card),
    )


def plan_lines(told: Told) -> list[str]:
    """Return what `plan` prints."""
    return [
        *_head(told),
        "",
        *_group_lines(told.study, told.plan),
        "",
        *_alias_lines(told.judgement),
        "",
        *_listing("Keep in mind", told.restrictions),
        *_listing("To be known before the first shot", [str(guard) for guard in told.guards]),
        *_listing("Safety", told.cautions),
    ]


def clock(minutes: float) -> str:
    """Return minutes as hours and minutes.

    Examples
    --------
    >>> from shotwindow.reports.planned import clock
    >>> clock(283.2), clock(45)
    ('4 h 43 min', '45 min')
    """
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def _head(told: Told) -> list[str]:
    plan, spent, study = told.plan, told.cost, told.study
    title = study.title or study.mold.name or "Study without a title"
    warm_up = f" and {plural(spent.warm_up_shots, 'warm-up shot')}" if spent.warm_up_shots else ""
    groups = f" in {plural(spent.groups, 'temperature group')}" if slow_positions(study) else ""
    model, rank, terms = next(r for r in told.judgement.ranks if r[0] == plan.model)
    rows = [
        ("kind", plan.kind),
        ("seed", str(plan.seed)),
        ("model", f"{model}: {rank} of its {terms} terms told apart"),
        ("time by the clock", f"{clock(spent.minutes)} of {clock(study.time.budget_min)}"),
    ]
    if slow_positions(study):
        rows.append(("in random order", f"{clock(spent.free_minutes)} for the same shots"))
    if spent.pellets_g is not None:
        rows.append(("pellets", f"{spent.pellets_g:.0f} g, without purging"))
    return [
        *paragraph(f"{title}: {plural(spent.shots, 'shot')}{warm_up}{groups}"),
        *columns(rows),
    ]


def _group_lines(study: Study, plan: Plan) -> list[str]:
    """Return the temperature groups with their soaks, or the range of each factor."""
    slow = slow_positions(study)
    if not slow:
        return [
            f"Shots {plan.shots[0].shot} to {plan.shots[-1].shot}, each setting changes at once"
        ]
    heads = ("group", *(axis_label(study.factors[j]) for j in slow), "shots", "soak before")
    rows = [heads]
    for group, soak in zip(grouped(plan.shots), soaks(study, plan.shots), strict=True):
        first, last = group[0].shot, group[-1].shot
        rows.append(
            (
                str(group[0].group),
                *(study.factors[j].text(group[0].settings[j]) for j in slow),
                f"{first} to {last}" if first < last else str(first),
                "heat up" if soak is None else f"{soak:.0f} min",
            )
        )
    return ["Temperature groups in running order", *columns(rows)]


def grouped(shots: Sequence[PlannedShot]) -> list[list[PlannedShot]]:
    """Return shots in running order, one list for each temperature group of each block."""
    groups: list[list[PlannedShot]] = []
    for shot in shots:
        if groups and (groups[-1][-1].group, groups[-1][-1].block) == (shot.group, shot.block):
            groups[-1].append(shot)
        else:
            groups.append([shot])
    return groups


def soaks(study: Study, shots: Sequence[PlannedShot]) -> list[float | None]:
    """Return the minutes of soak before each group; None where the press heats up."""
    found: list[float | None] = []
    before: PlannedShot | None = None
    for group in grouped(shots):
        first = group[0]
        if before is None or before.block != first.block:
            found.append(None)
        else:
            old, new = np.array(before.settings), np.array(first.settings)
            found.append(float(change_minutes(study, old, new)))
        before = group[-1]
    return found


def _alias_lines(judgement: Judgement) -> list[str]:
    if not judgement.aliases:
        return ["Aliases: none; no effect up to second order hides another."]
    lines = ["Aliases: each effect carries, with their signs, the effects behind it"]
    for alias in judgement.aliases:
        lines += paragraph(spoken(alias), 2)
    return lines


def _listing(head: str, sentences: Sequence[str]) -> list[str]:
    lines = [head] if sentences else []
    for sentence in sentences:
        lines += paragraph(sentence, 2, "- ")
    return lines


def plan_document(told: Told) -> Document:
    """Return what `plan --json` prints."""
    judgement, spent = told.judgement, told.cost
    return {
        "title": told.study.title,
        "kind": told.plan.kind,
        "model": told.plan.model,
        "seed": told.plan.seed,
        "ranks": {name: {"rank": rank, "terms": terms} for name, rank, terms in judgement.ranks},
        "resolution": judgement.resolution,
        "defining_relation": list(judgement.relation),
        "aliases": list(judgement.aliases),
        "shots": spent.shots,
        "warm_up_shots": spent.warm_up_shots,
        "groups": spent.groups,
        "group_freedom": judgement.group_df,
        "shot_freedom": judgement.shot_df,
        "minutes": spent.minutes,
        "minutes_in_random_order": spent.free_minutes,
        "pellets_g": spent.pellets_g,
        "costly_shots": list(judgement.costly_shots),
        "restrictions": list(told.restrictions),
        "to_be_known": [str(guard) for guard in told.guards],
        "cautions": list(told.cautions),
        "runs": [_run(told.study, shot) for shot in told.plan.shots],
    }


def _run(study: Study, shot: PlannedShot) -> Document:
    return {
        "shot": shot.shot,
        "block": shot.block,
        "lot": shot.lot,
        "group": shot.group,
        "kind": shot.kind,
        "settings": by_name(study.factors, shot.settings),
    }
