"""The shots of a plan -> its temperature groups with their soaks, and its blocks, as tables."""

from collections.abc import Sequence

import numpy as np

from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.groups import change_minutes, slow_positions
from shotwindow.doe.plans import Plan
from shotwindow.doe.study import Study
from shotwindow.reports.naming import axis_label
from shotwindow.reports.words import columns


def group_lines(study: Study, plan: Plan) -> list[str]:
    """Return the temperature groups with their soaks, or that every setting changes at once."""
    slow = slow_positions(study)
    if not slow:
        span = _span(plan.shots)
        return [f"Shots {span}, each setting changes at once"]
    heads = ("group", *(axis_label(study.factors[j]) for j in slow), "shots", "soak before")
    rows = [heads]
    for group, soak in zip(grouped(plan.shots), soaks(study, plan.shots), strict=True):
        rows.append(
            (
                str(group[0].group),
                *(study.factors[j].text(group[0].settings[j]) for j in slow),
                _span(group),
                "heat up" if soak is None else f"{soak:.0f} min",
            )
        )
    return ["Temperature groups in running order", *columns(rows)]


def block_lines(plan: Plan) -> list[str]:
    r"""Return the days or lots of a plan with their shots; nothing for a single one.

    Examples
    --------
    >>> from shotwindow.doe.plans import Plan, PlannedShot
    >>> from shotwindow.reports.plan_groups import block_lines
    >>> shots = (
    ...     PlannedShot(1, "Monday", "A", 1, "reference", (4.0,)),
    ...     PlannedShot(2, "Tuesday", "B", 2, "reference", (4.0,)),
    ... )
    >>> print("\n".join(block_lines(Plan("optimal", "first-order", 1, shots))))
    Blocks: each may lie higher or lower as a whole, which is fitted
      block    lot  shots  reference shot
      Monday   A    1      1
      Tuesday  B    2      2
    """
    names = list(dict.fromkeys(shot.block for shot in plan.shots))
    if len(names) < 2:
        return []
    rows = [("block", "lot", "shots", "reference shot")]
    for name in names:
        shots = [shot for shot in plan.shots if shot.block == name]
        reference = [str(shot.shot) for shot in shots if shot.kind == "reference"]
        rows.append((name, shots[0].lot or "-", _span(shots), ", ".join(reference) or "-"))
    return ["Blocks: each may lie higher or lower as a whole, which is fitted", *columns(rows)]


def _span(shots: Sequence[PlannedShot]) -> str:
    first, last = shots[0].shot, shots[-1].shot
    return f"{first} to {last}" if first < last else str(first)


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
