"""Rows, columns and changes -> the plain words in which the press side hears of them."""

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from shotwindow.doe.answers import is_total_mass
from shotwindow.doe.columns import SHORT_CAVITIES, Layout
from shotwindow.doe.factors import Factor
from shotwindow.doe.groups import change_minutes, soak_minutes
from shotwindow.doe.history import Values
from shotwindow.doe.journal import Entry
from shotwindow.doe.rows import WARM_UP, Row
from shotwindow.doe.study import Study

#: What flash grades 0, 1, ... mean.
GRADES = ("none", "line within limit", "over it", "heavy")


@dataclass(frozen=True)
class Move:
    """One factor that is to be set.

    Attributes
    ----------
    factor : Factor
    value : float
    before : float or None
        Where it is set now; None where nobody knows.
    remark : str
        Where it was, and how long it soaks.
    """

    factor: Factor
    value: float
    before: float | None
    remark: str


def moves_to(study: Study, row: Row, before: Row | None) -> tuple[Move, ...]:
    """Return what is to be set for a shot: everything, or only what changes.

    Parameters
    ----------
    study : Study
    row : Row
    before : Row or None
        The shot for which the press is set now; None where nobody knows.
    """
    old = [None] * len(study.factors) if before is None else before.settings
    return tuple(
        Move(factor, value, was, _remark(factor, value, was))
        for factor, value, was in zip(study.factors, row.settings, old, strict=True)
        if value != was
    )


def soak_whole_minutes(study: Study, row: Row, before: Row) -> int:
    """Return the minutes that the press soaks between two shots, a started one as a whole one."""
    old, new = np.array(before.settings), np.array(row.settings)
    return math.ceil(float(change_minutes(study, old, new)) - 1e-9)


def shot_title(row: Row, warm_ups: int, last: int) -> str:
    """Return which shot this is; warm-up shots are counted down."""
    if row.kind != WARM_UP:
        return f"Shot {row.shot} of {last} ({row.kind})"
    more = f"{warm_ups - 1} more to come" if warm_ups > 1 else "the last one"
    return f"Shot {row.shot} of {last} (warm-up, is set aside; {more})"


def announcement(study: Study, row: Row, moves: Sequence[Move], warm_ups: int, last: int) -> str:
    """Return what to set for a shot in plain lines; see `large_announcement`."""
    lines = [shot_title(row, warm_ups, last)]
    for move in moves:
        name, value = move.factor.name.replace("_", " "), move.factor.text(move.value)
        joint = ", " if move.before is None and move.remark else " " if move.remark else ""
        lines.append(f"  Set {name} to {value} {move.factor.unit}{joint}{move.remark}")
    if not moves:
        lines.append("  Leave everything as it is.")
    if moves and all(move.before is None for move in moves):
        lines += [f"  Keep {held.name.replace('_', ' ')} at {held.text}" for held in study.held]
    return "\n".join(lines)


def _remark(factor: Factor, value: float, before: float | None) -> str:
    """Return where a factor was and how long it soaks; "" where there is nothing to say."""
    if before is None:
        soak = factor.soak_min
        return f"and if it was elsewhere, let it soak {soak:g} min" if soak else ""
    was = f"(it was {factor.text(before)})"
    if not factor.soak_min:
        return was
    # the minutes that the plan and its clock count, a started one as a whole one
    soak = math.ceil(float(soak_minutes(factor, np.array(before), np.array(value))) - 1e-9)
    return f"{was}, then let it soak {soak} min"


def one_key_answers(study: Study, layout: Layout, heading: str) -> dict[str, str]:
    """Return, by key, the answers that need no Enter: grades, and full or short.

    On a numeric pad 1 is full and 0 is short.
    """
    if heading in layout.flash and study.flash.measured == "grade":
        return {key: key for key in "0123"}
    if heading in layout.fill and study.fill.measured == "full-or-short":
        return {"f": "full", "F": "full", "1": "full", "s": "short", "S": "short", "0": "short"}
    return {}


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
        listed = ", ".join(f"{grade} {words}" for grade, words in enumerate(GRADES))
        asked = f"flash grade ({listed})"
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


def entry_text(entry: Entry) -> str:
    """Return which entry of the journal it is, and what it did."""
    about = f" of shot {entry.shot}" if entry.shot is not None else ""
    return f"entry {entry.seq}, {entry.action}{about}"


def put_back_text(shots: Collection[int]) -> str:
    """Return what is said of recorded shots that were empty in runs.csv."""
    return (
        f"runs.csv had lost what is recorded of {shots_text(shots)}, as an old copy"
        " saved over it does; it is put back from the journal."
    )


def skipped_text(shots: Collection[int]) -> str:
    """Return what is said of shots that are skipped for heavy flash."""
    return (
        "Heavy flash. Now skipped, being at least as high in every setting:"
        f" {shots_text(shots)}. Each flashed shot widens the gap."
    )


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
