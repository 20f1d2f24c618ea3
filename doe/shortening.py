"""A plan and the minutes that are left of a day turned into the shots that are still worth making.

Nothing is planned anew: whole temperature groups are dropped from what is still to be made, or the
end of one, so that the run sheet stays the one in hand. Which, is tried out.
"""

from collections.abc import Collection, Iterator
from dataclasses import replace
from itertools import combinations

import numpy as np

from shotwindow.doe.aliases import rank
from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.groups import change_minutes
from shotwindow.doe.growth import until, without
from shotwindow.doe.kinds import largest_model
from shotwindow.doe.plans import Plan
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import block_columns
from shotwindow.doe.terms import model_terms
from shotwindow.doe.worth import expected_error

# More choices of groups than this are not tried; those that drop the last groups come first.
MOST_CHOICES = 300


def shorten(
    study: Study, plan: Plan, last: int, minutes: float, lost: Collection[int] = ()
) -> Plan:
    """Return the plan less those shots after the last made one that do not fit the minutes.

    Parameters
    ----------
    study, plan
        The study and the whole plan.
    last
        Number of the last shot that was made; 0 if none was.
    minutes
        Left at the press, clean-up included.
    lost
        Numbers of made shots that were void or skipped: what is kept makes up for them.

    Returns
    -------
    Plan
        Of all that fit, the one that is expected to predict best. Shots keep their order and are
        numbered on without gaps; those made stay as they are. Its model is the largest that is
        left, where the plan's own is not.

    Raises
    ------
    StudyError
        If not one more shot fits.
    """
    made = list(until(plan, last).shots)
    ahead = _groups([shot for shot in plan.shots if shot.shot > last])
    fitting = [
        _joined(plan, made, chosen)
        for chosen in _choices(ahead)
        if _minutes(study, made, chosen) <= minutes
    ]
    if not fitting:
        raise StudyError.one(
            "plan --left", f"{minutes:.10g}", "enough for one more shot", "clean up, go on later"
        )
    best = min(fitting, key=lambda shorter: expected_error(study, without(shorter, lost)))
    return _with_model(study, best, lost)


def _with_model(study: Study, plan: Plan, lost: Collection[int]) -> Plan:
    """Return a plan that is for its model no longer where its shots do not tell that apart."""
    kept = without(plan, lost)
    coded = coded_settings(study.factors, kept.settings())
    blocks = block_columns([shot.block for shot in kept.fitted()])
    terms = model_terms(plan.model, study.names)
    if rank(terms, coded, blocks) == len(terms):
        return plan
    return replace(plan, model=largest_model(study, kept.settings(), blocks))


def _groups(shots: list[PlannedShot]) -> list[list[PlannedShot]]:
    numbers = dict.fromkeys(shot.group for shot in shots)
    return [[shot for shot in shots if shot.group == number] for number in numbers]


def _choices(ahead: list[list[PlannedShot]]) -> Iterator[list[list[PlannedShot]]]:
    """Give what may be kept: some groups, the last of them perhaps only its first shots."""
    tried = 0
    for size in range(len(ahead), 0, -1):
        for kept in combinations(ahead, size):
            end = kept[-1]
            warm = sum(shot.kind == "warm-up" for shot in end)
            for length in range(len(end), warm, -1):
                yield [*kept[:-1], end[:length]]
                tried += 1
        if tried > MOST_CHOICES:
            return


def _minutes(study: Study, made: list[PlannedShot], chosen: list[list[PlannedShot]]) -> float:
    """Return minutes from now until cleaned up."""
    opens = [group[0].settings for group in chosen]
    before = [made[-1].settings, *opens[:-1]] if made else [opens[0], *opens[:-1]]
    soaks = change_minutes(study, np.array(before), np.array(opens)).sum()
    shots = sum(len(group) for group in chosen)
    start = 0.0 if made else study.time.start_up_min
    return float(start + soaks + shots * study.time.shot_min + study.time.clean_up_min)


def _joined(plan: Plan, made: list[PlannedShot], chosen: list[list[PlannedShot]]) -> Plan:
    shots = list(made)
    group = made[-1].group if made else 0
    before = made[-1].group if made else None
    for members in chosen:
        group += members[0].group != before
        before = members[0].group
        shots += [
            replace(shot, shot=len(shots) + place, group=group)
            for place, shot in enumerate(members, start=1)
        ]
    return replace(plan, shots=tuple(shots))
