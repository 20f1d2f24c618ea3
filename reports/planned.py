"""A study and its plan -> what `plan` tells of it: what it costs, sees and leaves open; safety."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap
from typing import Any

from shotwindow.doe.appending import added_minutes
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import cautions
from shotwindow.doe.comparing import MoreTime
from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.groups import slow_positions
from shotwindow.doe.guards import Guard, passed
from shotwindow.doe.judging import Judgement, judge
from shotwindow.doe.ladders import Bracket
from shotwindow.doe.plans import Plan
from shotwindow.doe.restrictions import Cost, cost, restrictions
from shotwindow.doe.study import Study
from shotwindow.reports.documents import Document, by_name
from shotwindow.reports.naming import no_alias_words, plural
from shotwindow.reports.plan_aliases import alias_lines
from shotwindow.reports.plan_comparison import more_words
from shotwindow.reports.plan_groups import block_lines, group_lines
from shotwindow.reports.plan_judging import judging_document, judging_lines
from shotwindow.reports.words import columns, paragraph

# What stands beside a name at the top is broken after so many characters.
LONGEST = 58


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
    before : Plan or None
        For a plan that was grown or shortened: what it was before.
    left : float or None
        For a plan that was shortened: minutes that what is still to be made takes.
    more : MoreTime or None
        What half an hour more would buy, where a time was asked for.
    ladder : Bracket or None
        What a ladder that was recorded before says of the range of pressure.
    """

    study: Study
    plan: Plan
    judgement: Judgement
    cost: Cost
    restrictions: tuple[str, ...]
    guards: tuple[Guard, ...]
    cautions: tuple[str, ...]
    before: Plan | None = None
    left: float | None = None
    more: MoreTime | None = None
    ladder: Bracket | None = None

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        """Print what `plan` prints, in a notebook or an IPython shell."""
        printer.text("\n".join(plan_lines(self)))


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
    guards = passed("plan", study, card, plan.settings(fitted_only=False))
    return Told(
        study=study,
        plan=plan,
        judgement=judge(study, plan),
        cost=cost(study, plan),
        restrictions=restrictions(study, plan),
        guards=guards,
        cautions=cautions(study, card),
    )


def plan_lines(told: Told, *, judged: bool = False) -> list[str]:
    """Return what `plan` prints; with the judging tables where they are asked for."""
    parts = [
        _head(told),
        _added_lines(told),
        block_lines(told.plan),
        group_lines(told.study, told.plan),
        _alias_lines(told, judged),
        judging_lines(told.judgement, told.cost) if judged else [],
        paragraph(more_words(told.more)) if told.more else [],
        _listing("Keep in mind", told.restrictions),
        _listing("To be known before the first shot", [str(guard) for guard in told.guards]),
        _listing("Safety", told.cautions),
    ]
    lines = [line for part in parts if part for line in ("", *part)]
    return lines[1:]


def added_shots(told: Told) -> tuple[PlannedShot, ...]:
    """Return the shots that a grown plan has more than before; none for a new plan."""
    return told.plan.shots[len(told.before.shots) :] if told.before else ()


def _added_lines(told: Told) -> list[str]:
    """Return which shots a grown plan adds, and that they are a block of their own."""
    added = added_shots(told)
    if told.left is not None:
        return _left_lines(told, told.left)
    if not added:
        return []
    assert told.before is not None  # where shots were added
    minutes = added_minutes(told.study, told.before, told.plan, cold=True)
    return paragraph(
        f"Added: shots {added[0].shot} to {added[-1].shot}, {clock(minutes)} from heating up to "
        f"cleaned up. They are a new block, {added[0].block}, which may lie higher or lower as a "
        "whole. The shots before it stay as they are."
    )


def left_out(told: Told) -> int:
    """Return how many fitted shots a shortened plan has less than before."""
    return max(0, len(told.before.fitted()) - len(told.plan.fitted())) if told.before else 0


def _left_lines(told: Told, minutes: float) -> list[str]:
    """Return how many shots were left out of what was still to be made."""
    dropped = left_out(told)
    which = f"{plural(dropped, 'shot')} left out" if dropped else "no shot left out"
    return paragraph(
        f"Shortened: {which}; what is still to be made takes {clock(minutes)} until cleaned up. "
        "The shots that were made stay as they are."
    )


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
    told_apart, *more = wrap(f"{model}: {rank} of its {terms} terms told apart", LONGEST)
    rows = [
        ("kind", plan.kind),
        ("seed", str(plan.seed)),
        ("model", told_apart),
        *(("", text) for text in more),
        ("time by the clock", f"{clock(spent.minutes)} {_allowance(told)}"),
    ]
    if slow_positions(study):
        rows.append(("in random order", f"{clock(spent.free_minutes)} for the same shots"))
    if spent.pellets_g is not None:
        rows.append(("pellets", f"{spent.pellets_g:.0f} g, without purging"))
    return [
        *paragraph(f"{title}: {plural(spent.shots, 'shot')}{warm_up}{groups}"),
        *columns(rows),
    ]


def _allowance(told: Told) -> str:
    """Return what the time is held against: the budget is one of a single day."""
    blocks = len({shot.block for shot in told.plan.shots})
    return f"in {blocks} blocks" if blocks > 1 else f"of {clock(told.study.time.budget_min)}"


def _alias_lines(told: Told, judged: bool) -> list[str]:
    if not told.judgement.aliases:
        said = no_alias_words(told.study.factors, told.plan.settings().tolist())
        return paragraph(f"Aliases: none; {said}")
    head = "Aliases: each effect carries, with their signs, the effects behind it"
    return alias_lines(head, told.judgement.aliases, whole="" if judged else "--judge")


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
        "group_scatter": told.study.press.group_scatter,
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
        **judging_document(judgement),
        "half_hour_more": list(told.more.gains) if told.more else None,
        "ladder": vars(told.ladder) if told.ladder else None,
        "left_out": left_out(told),
        "added": [shot.shot for shot in added_shots(told)],
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
