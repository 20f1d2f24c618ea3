"""A plan -> what happens when: heating up, soaks, warm-up shots, shots, cleaning up.

The same minutes as those that a plan is priced with, laid end to end.
"""

from dataclasses import dataclass
from itertools import groupby

import numpy as np

from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.groups import change_minutes
from shotwindow.doe.plans import Plan
from shotwindow.doe.study import Study

#: What a stretch of time is spent on, in the order of a day.
USES = ("heating up", "soak", "warm-up shot", "shot", "cleaning up")


@dataclass(frozen=True)
class Stretch:
    """A stretch of time at the press.

    Attributes
    ----------
    use : str
        One of `USES`.
    start, end : float
        Minutes since the press was switched on, on the day of its block.
    block : str
    group : int
        Temperature group that it belongs to or leads to.
    shot : PlannedShot or None
        None where nothing is shot.
    """

    use: str
    start: float
    end: float
    block: str
    group: int
    shot: PlannedShot | None = None


def timeline(study: Study, plan: Plan) -> tuple[Stretch, ...]:
    """Return everything that a plan takes time for, in order; each block is a day of its own.

    Examples
    --------
    >>> from shotwindow.doe.plans import Plan, PlannedShot
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.doe.timeline import timeline
    >>> study = parse_study('''
    ... [time]
    ... start_up_min = 20
    ... clean_up_min = 15
    ... shot_min = 3
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.1
    ... ''')
    >>> plan = Plan("ladder", "first-order", 1, (PlannedShot(1, "1", "", 1, "ladder", (3.0,)),))
    >>> [(s.use, s.start, s.end) for s in timeline(study, plan)]
    [('heating up', 0.0, 20.0), ('shot', 20.0, 23.0), ('cleaning up', 23.0, 38.0)]
    """
    return tuple(
        stretch
        for block, shots in groupby(plan.shots, key=lambda shot: shot.block)
        for stretch in _day(study, block, list(shots))
    )


def _day(study: Study, block: str, shots: list[PlannedShot]) -> list[Stretch]:
    time, day = (
        study.time,
        [Stretch("heating up", 0.0, study.time.start_up_min, block, shots[0].group)],
    )

    def spend(use: str, minutes: float, group: int, shot: PlannedShot | None = None) -> None:
        if minutes > 0:
            start = day[-1].end
            day.append(Stretch(use, start, start + minutes, block, group, shot))

    before = shots[0]
    for shot in shots:
        if shot.group != before.group:
            soak = change_minutes(study, np.array(before.settings), np.array(shot.settings))
            spend("soak", float(soak), shot.group)
        use = "warm-up shot" if shot.kind == "warm-up" else "shot"
        spend(use, time.shot_min, shot.group, shot)
        before = shot
    spend("cleaning up", time.clean_up_min, before.group)
    return day
