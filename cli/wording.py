"""Rows, columns and changes -> the plain words in which the press side hears of them."""

import math
from collections.abc import Collection, Iterable

import numpy as np

from shotwindow.doe.answers import is_total_mass
from shotwindow.doe.columns import SHORT_CAVITIES, Layout
from shotwindow.doe.factors import Factor
from shotwindow.doe.groups import soak_minutes
from shotwindow.doe.history import Values
from shotwindow.doe.rows import WARM_UP, Row
from shotwindow.doe.study import Study

_GRADES = "0 none, 1 witness line within the limit, 2 over the limit and trims off, 3 heavy"


def announcement(study: Study, row: Row, before: Row | None, last: int) -> str:
    """Return what to set for a shot: everything, or only what changes since the one before.

    Parameters
    ----------
    study : Study
    row : Row
    before : Row or None
        The shot for which the press is set now; None where nobody knows.
    last : int
        Number of the last shot.
    """
    what = "warm-up, is set aside" if row.kind == WARM_UP else row.kind
    lines = [f"Shot {row.shot} of {last} ({what})"]
    moves = [
        _move(factor, value, None if before is None else before.settings[j])
        for j, (factor, value) in enumerate(zip(study.factors, row.settings, strict=True))
    ]
    lines += [f"  {move}" for move in moves if move] or ["  Leave everything as it is."]
    if before is None:
        lines += [f"  Keep {held.name.replace('_', ' ')} at {held.text}" for held in study.held]
    return "\n".join(lines)


def _move(factor: Factor, value: float, before: float | None) -> str:
    """Return how to set one factor; "" where it stays."""
    if value == before:
        return ""
    name = factor.name.replace("_", " ")
    text = f"Set {name} to {factor.text(value)} {factor.unit}"
    if before is not None:
        text += f" (it was {factor.text(before)})"
    if not factor.soak_min:
        return text
    if before is None:
        return f"{text}, and if it was elsewhere, let it soak {factor.soak_min:g} min"
    # the minutes that the plan and its clock count, a started one as a whole one
    soak = math.ceil(float(soak_minutes(factor, np.array(before), np.array(value))) - 1e-9)
    return f"{text}, then let it soak {soak} min"


def question(study: Study, layout: Layout, heading: str) -> str:
    """Return the question whose answer goes under a heading."""
    if heading in layout.actual:
        return heading[0].upper() + heading[1:]
    if heading == SHORT_CAVITIES:
        return 'Which cavities are short (numbers, or "none")'
    if heading in layout.fill:
        return _fill_question(study, layout, heading)
    if heading in layout.flash:
        return _flash_question(study, layout, heading)
    return "Rejected for another reason (Enter: no)"


def _fill_question(study: Study, layout: Layout, heading: str) -> str:
    asked = {
        "eye": "fill in % (100 is full)",
        "mass": "mass in g",
        "full-or-short": "full or short",
    }[study.fill.measured]
    if is_total_mass(study, layout):
        return "All parts together, mass in g"
    return _of_cavity(study, layout.fill, heading, asked)


def _flash_question(study: Study, layout: Layout, heading: str) -> str:
    asked = f'widest flash in {study.flash.unit} (0 or "none" for none)'
    if study.flash.measured == "grade":
        asked = f"flash grade ({_GRADES})"
    return _of_cavity(study, layout.flash, heading, asked)


def _of_cavity(study: Study, headings: tuple[str, ...], heading: str, asked: str) -> str:
    if study.cavities == 1:
        return asked[0].upper() + asked[1:]
    if len(headings) == 1:
        return f"Worst cavity, {asked}"
    return f"Cavity {headings.index(heading) + 1}, {asked}"


def changed_cells(values: Values) -> list[str]:
    """Return a line for each shot with the cells that changed."""
    return [
        f"shot {shot}: " + ", ".join(f"{name} {text or 'emptied'}" for name, text in cells.items())
        for shot, cells in values.items()
    ]


def shots_text(shots: Collection[int]) -> str:
    """Return shots as people name them.

    Examples
    --------
    >>> from shotwindow.cli.wording import shots_text
    >>> shots_text([1, 2, 3, 7]), shots_text([5])
    ('shots 1-3, 7', 'shot 5')
    """
    return ("shot " if len(shots) == 1 else "shots ") + numbers(shots)


def numbers(shots: Iterable[int]) -> str:
    """Return shot numbers as people write them.

    Examples
    --------
    >>> from shotwindow.cli.wording import numbers
    >>> numbers([1, 2, 3, 7])
    '1-3, 7'
    """
    runs: list[list[int]] = []
    for shot in sorted(shots):
        if runs and shot == runs[-1][-1] + 1:
            runs[-1].append(shot)
        else:
            runs.append([shot])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)
