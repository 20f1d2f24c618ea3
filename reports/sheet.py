"""A study and its rows -> the run sheet, line by line, for paper and for the screen.

Made once here, so that HTML and PDF say the same: what to set, what to wait for, what to write
down. A setting is marked as changed only where it differs from the line above: that is what hands
have to do.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shotwindow.doe.cells import plain
from shotwindow.doe.columns import Layout
from shotwindow.doe.factors import Factor
from shotwindow.doe.groups import change_minutes
from shotwindow.doe.headings import layout_of
from shotwindow.doe.records import RUNS_FILE, read_state
from shotwindow.doe.rows import WARM_UP, Row, part_labels
from shotwindow.doe.study import Study
from shotwindow.reports.naming import axis_label, plural, shortened, spoken, with_unit

#: On paper "optimal", as a plan calls its shots, reads like the best setting.
_ON_PAPER = {"optimal": "planned"}
#: What grades 0, 1, ... of flash mean.
GRADES = ("none", "witness line within the limit", "over the limit and trims off", "heavy")
MOST_CELLS = 12  # readings that get a cell of their own; more share one wide cell


@dataclass(frozen=True)
class Setting:
    """One setting of a shot, and whether it has to be changed for it."""

    text: str
    changed: bool


@dataclass(frozen=True)
class ShotLine:
    """A shot to be made.

    Attributes
    ----------
    shot : int
    kind : str
    is_warm_up : bool
        Made and thrown away.
    settings : tuple of Setting
    readings : tuple of str
        What is recorded already; "" where something is to be written down.
    note : str
    labels : tuple of str
        What is written on its parts; a warm-up shot has none.
    """

    shot: int
    kind: str
    is_warm_up: bool
    settings: tuple[Setting, ...]
    readings: tuple[str, ...]
    note: str
    labels: tuple[str, ...] = ()


@dataclass(frozen=True)
class GroupLine:
    """What is done before a group of shots."""

    text: str


@dataclass(frozen=True)
class RunSheet:
    """Everything on a run sheet.

    Attributes
    ----------
    title : str
    facts : tuple of (str, str)
        Mold, press, material and what is held, each with its name.
    how : tuple of str
        How fill and flash are read.
    setting_heads, reading_heads : tuple of str
    lines : tuple of GroupLine or ShotLine
        In running order.
    cautions : tuple of str
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    how: tuple[str, ...]
    setting_heads: tuple[str, ...]
    reading_heads: tuple[str, ...]
    lines: tuple[GroupLine | ShotLine, ...]
    cautions: tuple[str, ...]

    @property
    def label(self) -> str:
        """As much of the title as there is room for on a label."""
        return shortened(self.title, 60)

    @property
    def shots(self) -> tuple[ShotLine, ...]:
        """The shots, without the lines between them."""
        return tuple(line for line in self.lines if isinstance(line, ShotLine))


def current_layout(folder: Path, study: Study) -> Layout:
    """Return the columns that the study's run sheet has now, which a user may have changed."""
    state = read_state(folder, study)
    names = state.sheet.columns if state.edits is None else state.edits.columns
    return layout_of(study, names, RUNS_FILE)


def run_sheet(
    study: Study, layout: Layout, rows: Sequence[Row], cautions: tuple[str, ...]
) -> RunSheet:
    """Return the run sheet of a study, with what is recorded already."""
    heads = layout.fill + layout.flash
    if len(heads) > MOST_CELLS:
        heads = (f"{layout.fill[0]} to {len(layout.fill)}", *layout.flash)
    return RunSheet(
        title=study.title or study.mold.name or "Run sheet",
        facts=facts(study),
        how=reading_rules(study),
        setting_heads=tuple(axis_label(factor) for factor in study.factors),
        reading_heads=heads,
        lines=tuple(_lines(study, rows, len(heads))),
        cautions=cautions,
    )


def facts(study: Study) -> tuple[tuple[str, str], ...]:
    """Return what identifies the job and what is kept as it is, each with its name.

    What nobody told stays an empty string, to be filled in by hand.
    """
    mold, press, material = study.mold, study.press, study.material
    cavities = plural(mold.cavities, "cavity", "cavities")
    dried = ""
    if material.dried_degC is not None and material.dried_h is not None:
        dried = f"{material.dried_degC:g} degC for {material.dried_h:g} h"
    grade = f"grade {material.grade}" if material.grade else ""
    ratio = ""
    if press.area_ratio is not None:
        ratio = f"{press.area_ratio:g} times the gauge pressure"
    return (
        ("mold", ", ".join(filter(None, (mold.name, cavities)))),
        ("revision", mold.revision),
        ("press", press.name),
        ("melt pressure", ratio),
        ("material", ", ".join(filter(None, (material.name, grade)))),
        ("lot", material.lot),
        ("dried", dried),
        ("regrind", f"{material.regrind_percent:g} %"),
        *((spoken(held.name), held.text) for held in study.held),
    )


def reading_rules(study: Study) -> tuple[str, ...]:
    """Return how fill and flash are read off a shot's parts."""
    fill, flash = study.fill, study.flash
    rules = {
        "mass": f"Fill: weigh each part to {fill.step:g} g, gate and flash as molded.",
        "eye": f"Fill: percent of a full part by eye, in steps of {fill.step:g}; 100 is full.",
        "full-or-short": "Fill: write full or short.",
    }
    if flash.measured == "grade":
        grades = ", ".join(f"{grade} {words}" for grade, words in enumerate(GRADES))
        seen = f"Flash: {grades}. Good up to {flash.good:g}."
    else:
        seen = (
            f"Flash: widest place in {flash.unit}, in steps of {flash.step:g}; 0 for none. "
            f"Good up to {flash.good:g} {flash.unit}."
        )
    return (
        rules[fill.measured],
        seen,
        'No part at all: write "no part". Spoiled shot: write "void" and why. After heavy flash '
        "do not go on to higher settings.",
    )


def _lines(study: Study, rows: Sequence[Row], cells: int) -> list[GroupLine | ShotLine]:
    lines: list[GroupLine | ShotLine] = []
    before: Row | None = None
    for row in rows:
        if before is None or (row.group, row.block) != (before.group, before.block):
            lines.append(GroupLine(_group_text(study, rows, row, before)))
        lines.append(_shot_line(study, row, before, cells))
        before = row
    return lines


def _group_text(study: Study, rows: Sequence[Row], row: Row, before: Row | None) -> str:
    """Return what is done before the first shot of a group."""
    warm_up = sum(r.kind == WARM_UP and (r.group, r.block) == (row.group, row.block) for r in rows)
    thrown = f"{plural(warm_up, 'warm-up shot')} to throw away" if warm_up else "no warm-up shot"
    slow = [(f, v) for f, v in zip(study.factors, row.settings, strict=True) if f.is_slow]
    if before is None or before.block != row.block:
        where = ", ".join(f"{spoken(f.name)} {with_unit(f, v)}" for f, v in slow)
        heat = f"heat up{f' to {where}' if where else ''}, {study.time.start_up_min:g} min"
        return f"Group {row.group}: {heat}; then {thrown}."
    moves = [
        _move(f, new, old)
        for f, new, old in zip(study.factors, row.settings, before.settings, strict=True)
        if f.is_slow and new != old
    ]
    soak = change_minutes(study, np.array(before.settings), np.array(row.settings))
    wait = f"{', '.join(moves)}; soak {float(soak):.0f} min" if moves else "as before"
    return f"Group {row.group}: {wait}; then {thrown}."


def _move(factor: Factor, new: float, old: float) -> str:
    return f"{spoken(factor.name)} from {factor.text(old)} to {with_unit(factor, new)}"


def _shot_line(study: Study, row: Row, before: Row | None, cells: int) -> ShotLine:
    settings = tuple(
        Setting(f.text(value), before is None or value != before.settings[j])
        for j, (f, value) in enumerate(zip(study.factors, row.settings, strict=True))
    )
    seen = [_seen(value) for value in row.fill + row.flash]
    readings = tuple(seen) if len(seen) == cells else ("",) * cells
    if row.kind == WARM_UP:
        readings = ("-",) * cells
    status = row.status if row.status not in ("", "ok") else ""
    note = "; ".join(filter(None, (status, row.other, row.note)))
    warm_up = row.kind == WARM_UP
    labels = () if warm_up else part_labels(row.shot, study.cavities)
    kind = _ON_PAPER.get(row.kind, row.kind)
    return ShotLine(row.shot, kind, warm_up, settings, readings, note, labels)


def _seen(value: float | str | None) -> str:
    if value is None or isinstance(value, str):
        return value or ""
    return plain(value)
