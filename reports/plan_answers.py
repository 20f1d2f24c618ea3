"""What somebody asks of `plan` -> the plan, new, grown or shortened, and all that is told of it."""

from dataclasses import replace
from pathlib import Path

from shotwindow.doe.appending import added_minutes
from shotwindow.doe.blocks import plan_blocks
from shotwindow.doe.comparing import Comparison, compare, more_time, usual_plans
from shotwindow.doe.errors import StudyError
from shotwindow.doe.growth import grow, renamed, until, without
from shotwindow.doe.judging import judge
from shotwindow.doe.ladders import Bracket
from shotwindow.doe.plan_file import PLAN_FILE
from shotwindow.doe.plans import Plan, make_plan
from shotwindow.doe.restrictions import cost
from shotwindow.doe.rows import WARM_UP
from shotwindow.doe.runs import read_plan, read_runs
from shotwindow.doe.shortening import shorten
from shotwindow.doe.study import Study
from shotwindow.reports.plan_ladder import ladder_bracket
from shotwindow.reports.plan_wishes import Wishes, check_wishes, named_days
from shotwindow.reports.planned import Told, tell


def planned_as_wished(folder: Path, study: Study, wishes: Wishes) -> Told:
    """Return the plan that is wished for; nothing is written.

    Raises
    ------
    StudyError
        If wishes do not go together, or there is no such plan.
    """
    check_wishes(study, wishes)
    study = with_scatter(study, wishes.group_scatter)
    if wishes.grow is not None:
        return _grown(folder, study, wishes)
    if wishes.left is not None:
        return _shortened(folder, study, wishes.left)
    more = None
    if wishes.minutes is not None and wishes.shots is None and wishes.kind in (None, "optimal"):
        more = more_time(study, wishes.minutes, seed=wishes.seed, model=wishes.model)
        plan = more.now.plan
    else:
        plan = _new(study, wishes)
    told = tell(in_minutes(study, wishes.minutes), plan, folder)
    return replace(told, more=more, ladder=_ladder(folder, study))


def compared_as_wished(study: Study, wishes: Wishes) -> Comparison:
    """Return kinds of plans side by side, in the minutes wished for or the study's own.

    Raises
    ------
    StudyError
        If wishes do not go together, or the study can have no plan at all.
    """
    check_wishes(study, wishes)
    return compare(study, usual_plans(study, wishes.seed, wishes.minutes))


def in_minutes(study: Study, minutes: float | None) -> Study:
    """Return a study with another budget, for comparing what fits into it."""
    if minutes is None:
        return study
    return replace(study, time=replace(study.time, budget_min=minutes))


def with_scatter(study: Study, ratio: float | None) -> Study:
    """Return a study whose temperature groups scatter so many times as much as shots do."""
    return (
        study if ratio is None else replace(study, press=replace(study.press, group_scatter=ratio))
    )


def _new(study: Study, wishes: Wishes) -> Plan:
    kind, shots, seed, model = wishes.kind or "optimal", wishes.shots, wishes.seed, wishes.model
    if wishes.days:
        days = named_days(wishes.days)
        return plan_blocks(study, days, kind=kind, shots=shots, seed=seed, model=model)
    minutes = wishes.minutes
    return make_plan(study, kind=kind, shots=shots, minutes=minutes, seed=seed, model=model)


def _grown(folder: Path, study: Study, wishes: Wishes) -> Told:
    """Return the plan that is there with a block more; void and skipped shots count as not made."""
    assert wishes.grow is not None  # where a plan is grown
    before = read_plan(folder)
    lost, _ = _lost_and_last(folder, study)
    days = named_days(wishes.days)
    taken = {shot.block for shot in before.shots}
    if days and days[0][0] in taken:
        raise StudyError.one("plan --day", days[0][0], "a day that is no block of the plan yet")
    if days:
        study = replace(study, material=replace(study.material, lot=days[0][1]))
    plan = grow(study, before, wishes.grow, shots=wishes.shots, factor=wishes.factor, lost=lost)
    if days:
        plan = renamed(plan, plan.shots[-1].block, days[0][0])
    told = tell(study, plan, folder)
    return replace(told, before=before, judgement=judge(study, without(plan, lost)))


def _shortened(folder: Path, study: Study, minutes: float) -> Told:
    """Return the plan that is there less what does not fit the minutes that are left."""
    before = read_plan(folder)
    lost, last = _lost_and_last(folder, study)
    plan = shorten(study, before, last, minutes, lost)
    told = tell(study, plan, folder)
    made = until(plan, last)
    needed = cost(study, plan).minutes
    if made.shots:
        needed = added_minutes(study, made, plan) + study.time.clean_up_min
    judgement = judge(study, without(plan, lost))
    return replace(told, before=before, left=needed, judgement=judgement)


def _lost_and_last(folder: Path, study: Study) -> tuple[list[int], int]:
    """Return the shots that were void or skipped, and the number of the last that is recorded."""
    rows = [row for row in read_runs(folder, study) if row.outcome != "open"]
    lost = [row.shot for row in rows if row.kind != WARM_UP and not row.is_fitted]
    return lost, max((row.shot for row in rows), default=0)


def _ladder(folder: Path, study: Study) -> Bracket | None:
    """Return what a ladder recorded in the folder brackets."""
    if not (folder / PLAN_FILE).exists():
        return None
    try:
        return ladder_bracket(study, read_runs(folder, study))
    except StudyError:  # rows of another study.toml, or in disorder: said when the plan is written
        return None
