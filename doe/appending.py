"""Settings to shoot after all that was planned -> a longer plan; what was planned stays as it is.

Shots that need no change of a slow setting go on in the temperature group that the press is in;
all others open a new group with its soak and its warm-up shots.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.groups import change_minutes, slow_positions
from shotwindow.doe.plans import Plan
from shotwindow.doe.region import check_allowed
from shotwindow.doe.study import Study

Floats = NDArray[np.float64]


class Wanted(NamedTuple):
    """One shot to append.

    Attributes
    ----------
    settings : tuple of float
        In the factors' units, on marks.
    kind : str
        One of `shotwindow.doe.drafts.KINDS`.
    fresh : bool
        Whether it opens a new temperature group even where no slow setting changes.
    """

    settings: tuple[float, ...]
    kind: str
    fresh: bool = False


def append(
    study: Study, plan: Plan, wanted: Sequence[Wanted], *, block: str = "", after: int | None = None
) -> Plan:
    """Return the plan with shots added at its end, in the order given.

    Parameters
    ----------
    study, plan
        The study, and all shots so far.
    wanted
        The shots to add.
    block
        Block of the added shots; that of the last planned shot by default.
    after
        Number of the shot whose group the press is in; the last planned one by default.

    Raises
    ------
    StudyError
        If a setting is outside the limits or meets an [[avoid]] rule.

    Examples
    --------
    >>> from shotwindow.doe.appending import Wanted, append
    >>> from shotwindow.doe.plans import make_plan
    >>> from shotwindow.doe.study import parse_study
    >>> table = "[factors.{}]{n}unit = '{}'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> names = (("pressure", "bar"), ("injection_time", "s"))
    >>> study = parse_study("".join(table.format(*name, n=chr(10)) for name in names))
    >>> plan = make_plan(study, kind="factorial")
    >>> longer = append(study, plan, [Wanted((2.0, 3.5), "next")])
    >>> longer.shots[:-1] == plan.shots, longer.shots[-1].kind, longer.shots[-1].group
    (True, 'next', 1)
    """
    check_allowed(study, "of further shots", np.array([one.settings for one in wanted]))
    slow = slow_positions(study)
    shots = list(plan.shots)
    stands = next((shot for shot in shots if shot.shot == after), shots[-1])
    for one in wanted:
        last, lot = shots[-1], study.material.lot or stands.lot
        added = PlannedShot(
            last.shot + 1, block or last.block, lot, stands.group, one.kind, one.settings
        )
        if one.fresh or any(one.settings[j] != stands.settings[j] for j in slow):
            added = replace(added, group=max(shot.group for shot in shots) + 1)
            for _ in range(study.time.warm_up_shots):
                shots.append(replace(added, kind="warm-up"))
                added = replace(added, shot=added.shot + 1)
        shots.append(added)
        stands = added
    return replace(plan, shots=tuple(shots))


def added_minutes(study: Study, plan: Plan, longer: Plan, *, cold: bool = False) -> float:
    """Return the minutes at the press that the shots added to a plan take.

    Parameters
    ----------
    study, plan, longer
        The study, the plan before and the plan after.
    cold
        Whether the press starts cold, and is cleaned up afterwards.

    Examples
    --------
    >>> from shotwindow.doe.appending import Wanted, added_minutes, append
    >>> from shotwindow.doe.plans import make_plan
    >>> from shotwindow.doe.study import parse_study
    >>> text = "[factors.pressure]{n}unit = 'bar'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> study = parse_study(text.format(n=chr(10)))
    >>> plan = make_plan(study, kind="ladder")
    >>> added_minutes(study, plan, append(study, plan, [Wanted((2.0,), "next")] * 2))
    6.0
    """
    settings = longer.settings(fitted_only=False)[len(plan.shots) - 1 :]
    soaks = float(change_minutes(study, settings[:-1], settings[1:])[int(cold) :].sum())
    ends = study.time.start_up_min + study.time.clean_up_min if cold else 0.0
    return soaks + ends + study.time.shot_min * (len(settings) - 1)
