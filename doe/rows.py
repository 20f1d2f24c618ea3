"""One shot's cells -> a checked Row, and a Row -> its cells."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from shotwindow.doe.answers import (
    Reader,
    Value,
    full_masses,
    is_over_limit,
    is_total_mass,
    readers,
)
from shotwindow.doe.cells import Wrong, plain, read_real, read_text, read_whole
from shotwindow.doe.columns import REMARKS, SHORT_CAVITIES, Layout
from shotwindow.doe.errors import Problem
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell

#: In percent of a full part. Flash adds weight: a part above this has it, or "full" is wrong.
QUESTION_PERCENT = 102.0
WARM_UP = "warm-up"


@dataclass(frozen=True)
class Row:
    """One shot: what was planned, what was set and what was seen.

    Attributes
    ----------
    shot : int
        Place in the running order, from 1.
    block, lot : str
    group : int
        Temperature group.
    kind : str
        "warm-up", "ladder", "factorial", ...
    settings : tuple of float
        As planned, one a factor, in the factors' units.
    actual : tuple of float or None
        As read off the press.
    fill : tuple of float, str or None
        Percent or grams, or "full" or "short"; one a cavity, or a single one.
    flash : tuple of float, int or None
        Width, or grade; one a cavity, or a single one for the worst.
    short_cavities : tuple of int or None
        Cavities seen to be short; None if that was not looked at.
    other : str
        Reject reason other than short or flash; "" for none.
    status : str
        "ok", "void", "no part", "skipped", or "".
    made_at, by, note : str
    extra : tuple of str
        The user's own columns.
    """

    shot: int
    block: str
    lot: str
    group: int
    kind: str
    settings: tuple[float, ...]
    actual: tuple[float | None, ...]
    fill: tuple[float | str | None, ...]
    flash: tuple[float | int | None, ...]
    short_cavities: tuple[int, ...] | None = None
    other: str = ""
    status: str = ""
    made_at: str = ""
    by: str = ""
    note: str = ""
    extra: tuple[str, ...] = ()

    @property
    def outcome(self) -> str:
        """What became of the shot: its status, "ok" if readings are there, else "open"."""
        read = any(value is not None for value in self.fill + self.flash)
        return self.status or ("ok" if read else "open")

    @property
    def is_fitted(self) -> bool:
        """Whether the shot says something about the mold: made, not void, not for warming up."""
        return self.kind != WARM_UP and self.outcome in ("ok", "no part")


@dataclass(frozen=True)
class Checked:
    """A row that was read, or the problems that kept it from being read.

    `questions` are readings that can be right but seldom are; they keep nothing back.
    """

    row: Row | None
    problems: tuple[Problem, ...] = ()
    questions: tuple[Problem, ...] = ()


def check_row(
    study: Study, layout: Layout, cells: Mapping[str, Cell], place: Callable[[str], str]
) -> Checked:
    """Return the row that a shot's cells stand for, or everything that is wrong with them.

    Parameters
    ----------
    study : Study
    layout : Layout
    cells : mapping of str to Cell
        By heading; what is not there counts as empty. The planned columns have to be there.
    place : function of str
        Where the cell under a heading stands, for messages.
    """
    values: dict[str, Value] = {}
    problems: list[Problem] = []
    reading = {**_planned_readers(study), **readers(study, layout)}
    for heading in layout.names:
        cell = cells.get(heading)
        if cell is None or not cell.text:
            continue
        try:
            values[heading] = reading[heading](cell)
        except Wrong as wrong:
            problems.append(wrong.at(place(heading), cell))
    filled = {heading for heading, cell in cells.items() if cell.text}
    problems += _status_problems(study, layout, values, filled, place)
    if problems:
        return Checked(None, tuple(problems))
    row = _row(layout, values)
    return Checked(row, (), _questions(study, layout, row, place))


def row_cells(study: Study, layout: Layout, row: Row) -> dict[str, str]:
    """Return the text of each of a row's cells, by heading in the order of the file."""
    settings = [
        factor.text(value) for factor, value in zip(study.factors, row.settings, strict=True)
    ]
    short = row.short_cavities
    by_heading = {
        "shot": str(row.shot),
        "block": row.block,
        "lot": row.lot,
        "group": str(row.group),
        "kind": row.kind,
        **dict(zip(layout.settings, settings, strict=True)),
        **dict(zip(layout.actual, map(_text, row.actual), strict=True)),
        **dict(zip(layout.fill, map(_text, row.fill), strict=True)),
        SHORT_CAVITIES: "" if short is None else " ".join(map(str, short)) or "none",
        **dict(zip(layout.flash, map(_text, row.flash), strict=True)),
        **{name: getattr(row, name) for name in REMARKS},
        **dict(zip(layout.extra, row.extra, strict=True)),
    }
    return {name: by_heading[name] for name in layout.names}


def place_of(shot: int, heading: str) -> str:
    """Return how messages name a cell that was typed at the press."""
    return f'shot {shot}, "{heading}"'


def part_labels(shot: int, cavities: int) -> tuple[str, ...]:
    """Return what is written on each part of a shot: shot and cavity.

    Examples
    --------
    >>> from shotwindow.doe.rows import part_labels
    >>> part_labels(7, 2)
    ('7-1', '7-2')
    """
    return tuple(f"{shot}-{cavity}" for cavity in range(1, cavities + 1))


def _text(value: float | str | None) -> str:
    if value is None or isinstance(value, str):
        return value or ""
    return plain(value)


def _planned_readers(study: Study) -> dict[str, Reader]:
    return {
        "shot": read_whole,
        "block": read_text,
        "group": read_whole,
        "kind": read_text,
        **{factor.label: partial(read_real, unit=factor.unit) for factor in study.factors},
    }


def _status_problems(
    study: Study,
    layout: Layout,
    values: Mapping[str, Value],
    filled: set[str],
    place: Callable[[str], str],
) -> list[Problem]:
    """Check the status against what is filled in; a cell that cannot be read counts as filled."""
    status = values.get("status", "")
    if status == "void":
        do = "say in the note why the shot is void"
        return [] if "note" in filled else [Problem(place("note"), "an empty cell", "a reason", do)]
    if values["kind"] == WARM_UP:
        return []
    needed = layout.fill + layout.flash
    if is_total_mass(study, layout):
        needed = layout.readings
    read = [heading for heading in layout.readings if heading in filled]
    if status in ("no part", "skipped"):
        do = f'clear it, or give the shot the status ok in place of "{status}"'
        return [Problem(place(heading), "a reading", "an empty cell", do) for heading in read]
    if status != "ok" and not read and not values.get("other"):
        return []
    do = "fill it in, or give the shot the status void (with a note) or no part"
    missing = [heading for heading in needed if heading not in filled]
    return [Problem(place(heading), "an empty cell", "a reading", do) for heading in missing]


def _row(layout: Layout, values: Mapping[str, Any]) -> Row:
    return Row(
        shot=values["shot"],
        group=values["group"],
        settings=tuple(values[name] for name in layout.settings),
        actual=tuple(values.get(name) for name in layout.actual),
        fill=tuple(values.get(name) for name in layout.fill),
        flash=tuple(values.get(name) for name in layout.flash),
        short_cavities=values.get(SHORT_CAVITIES),
        extra=tuple(values.get(name, "") for name in layout.extra),
        **{name: values.get(name, "") for name in ("block", "lot", "kind", *REMARKS)},
    )


def _questions(
    study: Study, layout: Layout, row: Row, place: Callable[[str], str]
) -> tuple[Problem, ...]:
    """Ask about parts that weigh more than a full one though no flash was seen on them."""
    if any(is_over_limit(study, value) for value in row.flash):
        return ()
    questions = []
    for heading, value, full in zip(layout.fill, row.fill, full_masses(study, layout), strict=True):
        if full and isinstance(value, float) and value > full * QUESTION_PERCENT / 100:
            percent = f"{plain(value)} g, {100 * value / full:.1f} % of a full part"
            expected = f"at most {QUESTION_PERCENT:.0f} % without flash"
            do = "flash, or a wrong full mass in study.toml?"
            questions.append(Problem(place(heading), percent, expected, do))
    return tuple(questions)
