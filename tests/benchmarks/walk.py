"""A trial -> what somebody finds who turns one setting at a time, with as many shots."""

from dataclasses import replace

import numpy as np
from benchmarks.trials import Found, Trial

from shotwindow.models.walking import walk


def one_at_a_time(trial: Trial) -> Found:
    """Walk along one factor after the other on the press of a trial."""
    factors = trial.study.factors
    found = walk(trial.study, trial.press, len(trial.plan.fitted()), seed=trial.seed)
    inside = np.full(len(trial.marks), found.any_good)
    for axis, (first, last) in enumerate(found.box):
        tiny = 1e-6 * factors[axis].step
        along = trial.marks[:, axis]
        inside &= (along >= first - tiny) & (along <= last + tiny)
    ends = {f.name: ends for f, ends in zip(factors, found.box, strict=True)}
    return Found(
        likely=inside,
        sure=None,
        stated=None,
        setpoint=found.setpoint if found.any_good else None,
        ends=ends if found.any_good else {},
        plan=replace(trial.plan, shots=found.shots),
    )
