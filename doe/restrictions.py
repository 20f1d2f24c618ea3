"""A plan turned into its clock, its pellets, and sentences about what it is not free to do.

Random order is what guards a plan against drift. Whatever a plan of this kind is not random in, or
cannot tell, is said here in plain words.
"""

from dataclasses import dataclass

import numpy as np

from shotwindow.doe.clamping import clamp_rules
from shotwindow.doe.groups import (
    day_minutes,
    free_minutes,
    pellet_grams,
    same_slow,
    slow_positions,
)
from shotwindow.doe.plans import CRITERIA, Plan
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.doe.terms import MODELS, model_terms


@dataclass(frozen=True)
class Cost:
    """What a plan costs.

    Attributes
    ----------
    minutes : float
        By the clock in the order planned, from heating up to cleaned up, every block's day.
    free_minutes : float
        The same shots in an entirely random order, on average.
    shots, warm_up_shots : int
        Shots that are fitted, and shots that are thrown away.
    groups : int
        Temperature groups.
    pellets_g : float or None
        For all shots, without purging; None where the study names neither a charge nor masses.
    """

    minutes: float
    free_minutes: float
    shots: int
    warm_up_shots: int
    groups: int
    pellets_g: float | None


def cost(study: Study, plan: Plan) -> Cost:
    """Return what a plan costs in minutes, shots and pellets."""
    rng = generator(plan.seed, "free order")
    free = 0.0
    for block in dict.fromkeys(shot.block for shot in plan.shots):
        shots = [shot.settings for shot in plan.fitted() if shot.block == block]
        free += free_minutes(study, np.array(shots), rng)
    fitted = len(plan.fitted())
    return Cost(
        minutes=sum(_day_minutes(study, plan).values()),
        free_minutes=free,
        shots=fitted,
        warm_up_shots=len(plan.shots) - fitted,
        groups=len({shot.group for shot in plan.shots}),
        pellets_g=pellet_grams(study, len(plan.shots)),
    )


def _day_minutes(study: Study, plan: Plan) -> dict[str, float]:
    """Return the minutes of each block: a day of its own, from heating up to cleaned up."""
    minutes = {}
    for block in dict.fromkeys(shot.block for shot in plan.shots):
        shots = [shot for shot in plan.shots if shot.block == block]
        first = {shot.group: shot.settings for shot in reversed(shots)}
        openings = np.array([first[group] for group in sorted(first)])
        fitted = sum(shot.kind != "warm-up" for shot in shots)
        minutes[block] = day_minutes(study, openings, fitted)
    return minutes


def repeated_groups(study: Study, plan: Plan) -> int:
    """Return how many groups repeat the slow settings of an earlier one.

    Examples
    --------
    >>> from shotwindow.doe.plans import Plan, PlannedShot
    >>> from shotwindow.doe.restrictions import repeated_groups
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... [factors.melt_temperature]
    ... unit = "degC"
    ... low = 205
    ... high = 235
    ... step = 1
    ... soak_min = 15
    ... ''')
    >>> shots = enumerate((210.0, 220.0, 210.0), start=1)
    >>> rows = [PlannedShot(n, "1", "", n, "optimal", (melt,)) for n, melt in shots]
    >>> repeated_groups(study, Plan("optimal", "first-order", 1, tuple(rows)))
    1
    """
    first = {shot.group: shot.settings for shot in reversed(plan.shots)}
    same = same_slow(study, np.array(list(first.values())))
    return len(same) - len(set(same.tolist()))


def restrictions(study: Study, plan: Plan) -> tuple[str, ...]:
    """Return sentences on what is not random, not measured, not told apart or not kept."""
    said = [*_of_order(study, plan), *_of_groups(study, plan), *_of_clamp(study)]
    whole = len(model_terms(MODELS[-1], study.names))
    own = len(model_terms(plan.model, study.names))
    if plan.model != MODELS[-1] and plan.kind in CRITERIA:
        said.append(
            f"The full quadratic of {len(study.factors)} factors has {whole} terms. This plan is "
            f"sure to tell apart those of the {plan.model} model ({own} terms) alone; more would "
            "take more shots, minutes or groups."
        )
    days = _day_minutes(study, plan)
    if len(days) > 1:
        said.append(
            f"Blocks {', '.join(days)} are fitted each with a level of its own, so that a change "
            "of day or lot is not taken for an effect."
        )
    over = max(days.values()) - study.time.budget_min
    if over > 0:
        said.append(
            f"This takes {np.ceil(over):.0f} minutes more than the budget of "
            f"{study.time.budget_min:.10g}."
        )
    return tuple(said)


def _of_clamp(study: Study) -> list[str]:
    return [
        f"Above {highest:.4g} {factor.unit} of {factor.name.replace('_', ' ')} the melt could push "
        "the mold open: the clamp holds no more, and such settings are left out."
        for rule in clamp_rules(study)
        for factor in study.factors
        for _, highest in [rule.get(factor.name, ("", 0.0))]
        if factor.name in rule
    ]


def _of_order(study: Study, plan: Plan) -> list[str]:
    if plan.kind == "ladder":
        return ["Pressure only rises, cold before hot: a drift in time would look like pressure."]
    opening = any(factor.role == "pressure" for factor in study.factors)
    said = []
    if opening:
        said.append("Each group opens at its lowest pressure; its other shots are in random order.")
    if slow_positions(study):
        said.append(
            "Groups are in an order that saves soaks, drawn from all that take about as little "
            "time and do not begin with the hottest."
        )
    return said


def _of_groups(study: Study, plan: Plan) -> list[str]:
    slow = [study.factors[j].name.replace("_", " ") for j in slow_positions(study)]
    if not slow:
        return []
    repeats = repeated_groups(study, plan)
    ratio = study.press.group_scatter
    size = "as large as that of shots" if ratio == 1 else f"{ratio:.10g} times that of shots"
    told = f"{size}: group_scatter in study.toml [press]"
    if repeats == 0:
        return [
            "No slow setting is set twice: group-to-group scatter is assumed, not measured "
            f"({told}), and effects of {' and '.join(slow)} cannot be judged from this plan alone."
        ]
    times = "One group repeats" if repeats == 1 else f"{repeats} groups repeat"
    return [
        f"{times} earlier slow settings, which shows how much groups scatter. The plan takes their "
        f"scatter to be {told}."
    ]
