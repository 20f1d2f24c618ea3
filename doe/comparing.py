"""Several plans for one press turned into a comparison, and minutes into what more would buy."""

from collections.abc import Mapping
from dataclasses import dataclass

from shotwindow.doe.errors import StudyError
from shotwindow.doe.judging import Judgement, judge
from shotwindow.doe.plans import Plan, make_plan
from shotwindow.doe.restrictions import Cost, cost, repeated_groups
from shotwindow.doe.study import Study
from shotwindow.doe.worth import expected_error

# Kinds that are set beside each other, as far as the press and the number of factors suit them; of
# those that do much the same the first that can be planned.
COMPARED = (
    ("optimal",),
    ("composite", "box-behnken", "composite-inscribed"),
    ("factorial",),
    ("fraction",),
    ("screening",),
)
MOST_COMPARED = 4
# Where rules, marks or few factors bar most of these: name, kind and model of others, each taken
# while there are fewer than so many. The first leaves curves alone and is cheaper for it.
MORE_COMPARED = (
    ("optimal, interactions", "optimal", "interactions", MOST_COMPARED),
    ("ladder", "ladder", None, MOST_COMPARED),
    ("d-optimal", "d-optimal", None, 3),
)
# What takes more than so many times the minutes there are is no choice.
TOO_LONG = 2.0
# Errors this close are as good, and minutes decide.
AS_GOOD = 1.02
# What more time is tried with.
HALF_HOUR = 30.0


@dataclass(frozen=True)
class Candidate:
    """One plan with what it costs and what it is worth.

    Attributes
    ----------
    name : str
    plan : Plan
    cost : Cost
    judgement : Judgement
    error : float
        Expected error of prediction, in shot scatters: `shotwindow.doe.worth.expected_error`.
    repeats : int
        Temperature groups that repeat earlier slow settings.
    """

    name: str
    plan: Plan
    cost: Cost
    judgement: Judgement
    error: float
    repeats: int


@dataclass(frozen=True)
class Comparison:
    """Candidates, the name of the one to take, and why, in one sentence."""

    candidates: tuple[Candidate, ...]
    best: str
    why: str


@dataclass(frozen=True)
class MoreTime:
    """The best plan that fits, the best that would fit a longer day, and what that would gain."""

    now: Candidate
    later: Candidate
    gains: tuple[str, ...]


def candidate(study: Study, name: str, plan: Plan) -> Candidate:
    """Return a plan with its cost and its worth."""
    return Candidate(
        name=name,
        plan=plan,
        cost=cost(study, plan),
        judgement=judge(study, plan),
        error=expected_error(study, plan),
        repeats=repeated_groups(study, plan),
    )


def usual_plans(study: Study, seed: int, minutes: float | None = None) -> dict[str, Plan]:
    """Return up to four plans that differ in what they can tell apart, by name.

    Minutes that are given are used up by the optimal plan, as `make_plan` does.

    Raises
    ------
    StudyError
        If the study can have no plan at all.
    """
    plans = {"optimal": make_plan(study, minutes=minutes, seed=seed)}
    for kinds in COMPARED[1:]:
        for kind in kinds:
            plan = _plan_if_any(study, kind, seed)
            if plan is not None:
                plans[kind] = plan
                break
    for name, kind, model, most in MORE_COMPARED:
        if len(plans) < most and (model is None or plans["optimal"].model != model):
            plan = _plan_if_any(study, kind, seed, model)
            if plan is not None:
                plans[name] = plan
    return dict(list(plans.items())[:MOST_COMPARED])


def _plan_if_any(study: Study, kind: str, seed: int, model: str | None = None) -> Plan | None:
    try:
        plan = make_plan(study, kind=kind, seed=seed, model=model)
    except StudyError:  # it does not suit the factors, marks or rules, which is no news here
        return None
    too_long = cost(study, plan).minutes > TOO_LONG * study.time.budget_min
    return None if too_long else plan


def compare(study: Study, plans: Mapping[str, Plan]) -> Comparison:
    """Return the plans side by side and the one to take.

    Of those within the study's minutes (of all, if none is) the one with the smallest expected
    error of prediction is recommended, or one that is nearly as good and quicker.

    Examples
    --------
    >>> from shotwindow.doe.comparing import compare, usual_plans
    >>> from shotwindow.doe.study import parse_study
    >>> table = "[factors.{}]{n}unit = '{}'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> names = (("pressure", "bar"), ("injection_time", "s"))
    >>> study = parse_study("".join(table.format(*name, n=chr(10)) for name in names))
    >>> comparison = compare(study, usual_plans(study, seed=1))
    >>> [c.name for c in comparison.candidates], comparison.best
    (['optimal', 'composite', 'factorial', 'optimal, interactions'], 'composite')
    """
    candidates = tuple(candidate(study, name, plan) for name, plan in plans.items())
    budget = study.time.budget_min
    fitting = [c for c in candidates if c.cost.minutes <= budget] or list(candidates)
    near = AS_GOOD * min(c.error for c in fitting)
    best = min((c for c in fitting if c.error <= near), key=lambda c: c.cost.minutes)
    return Comparison(candidates, best.name, _reason(best, candidates, budget))


def _reason(best: Candidate, candidates: tuple[Candidate, ...], budget: float) -> str:
    others = [c for c in candidates if c is not best]
    maps = [c for c in others if c.plan.kind != "ladder"]
    why = (
        f"Take {best.name}: it leaves an expected error of {best.error:.2f} shot scatters in "
        f"{best.cost.minutes:.0f} minutes"
    )
    if maps:
        told = "; ".join(f"{c.name}: {c.error:.2f} in {c.cost.minutes:.0f}" for c in maps)
        why += f" ({told})"
    over = [c.name for c in maps if c.error < best.error and c.cost.minutes > budget]
    if over:
        why += f"; {' and '.join(over)} would predict better but not within {budget:.10g} minutes"
    if len(maps) < len(others):
        why += ", after a ladder where it is not known between which pressures parts fill and flash"
    return f"{why}."


def more_time(
    study: Study,
    minutes: float,
    *,
    extra: float = HALF_HOUR,
    seed: int = 1,
    model: str | None = None,
) -> MoreTime:
    """Return the best optimal plan in so many minutes, and what some more would buy.

    The model is the largest that the minutes allow unless it is named.

    Raises
    ------
    StudyError
        If nothing fits the minutes.
    """
    now, later = (
        candidate(study, f"{m:.10g} min", make_plan(study, minutes=m, seed=seed, model=model))
        for m in (minutes, minutes + extra)
    )
    if later.error >= now.error:
        return MoreTime(now, later, ())
    return MoreTime(now, later, tuple(_gains(now, later)))


def _gains(now: Candidate, later: Candidate) -> list[str]:
    gains = []
    if later.plan.model != now.plan.model:
        gains.append(f"the {later.plan.model} model in place of {now.plan.model}")
    for what, before, after in (
        ("shots", now.cost.shots, later.cost.shots),
        ("temperature groups", now.cost.groups, later.cost.groups),
        ("repeated groups", now.repeats, later.repeats),
    ):
        if after > before:
            gains.append(f"{what}: {after} in place of {before}")
    gains.append(
        f"an expected error of {later.error:.2f} in place of {now.error:.2f} shot scatters"
    )
    return gains
