"""Findings -> the picture of the window in words and numbers, for those who do not see it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.window import LIKELY, SURE
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import axis_label, listed, percent, setting_words, spoken, with_unit
from shotwindow.reports.own_marks import marks_over
from shotwindow.reports.rulers import stretches
from shotwindow.reports.slices import map_axes

Flags = NDArray[np.bool_]

MOST_ROWS = 11


@dataclass(frozen=True)
class PictureTable:
    """The numbers behind the picture: heads, and rows of text."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def picture_table(found: Findings) -> PictureTable:
    """Return for marks of the factor that goes up where the window lies along the other one."""
    factors, chances = marks_over(found, map_axes(found.study.factors))
    likely, sure = chances >= LIKELY, chances >= SURE
    across = factors[0]
    heads = (f"likely window, {axis_label(across)}", f"sure window, {axis_label(across)}")
    if len(factors) == 1:
        row = (_reach(across, likely), _reach(across, sure))
        return PictureTable(heads, (row,))
    up = factors[1]
    every = -(-up.count // MOST_ROWS)
    here = int(np.abs(up.marks - found.best_settings[map_axes(found.study.factors)[1]]).argmin())
    shown = [m for m in range(up.count) if m % every == here % every]
    rows = tuple(
        (up.text(up.marks[m]), _reach(across, likely[:, m]), _reach(across, sure[:, m]))
        for m in reversed(shown)
    )
    return PictureTable((axis_label(up), *heads), rows)


def _reach(factor: Factor, flags: Flags) -> str:
    """Return the stretches of marks where flags are true."""
    parts = [
        factor.text(factor.marks[a])
        if a == b
        else f"{factor.text(factor.marks[a])} to {factor.text(factor.marks[b])}"
        for a, b in stretches(flags)
    ]
    return listed(parts) or "none"


def alt_text(found: Findings) -> str:
    """Return the picture of the window as a few sentences."""
    axes = map_axes(found.study.factors)
    factors = [found.study.factors[j] for j in axes]
    spans = [f"{axis_label(f)} from {f.text(f.low)} to {f.text(f.high)}" for f in factors]
    kept = [j for j in range(len(found.study.factors)) if j not in axes]
    at = ""
    if kept:
        others = [found.study.factors[j] for j in kept]
        at = ", at " + setting_words(others, [found.best_settings[j] for j in kept])
    words = f"{'Map' if len(axes) > 1 else 'Ruler'} of {listed(spans)}{at}. "
    over, chances = marks_over(found, axes)
    for which, least in (("sure", SURE), ("likely", LIKELY)):
        words += _extent(over, chances >= least, which) + " "
    if found.setpoint is None:
        return words + "There is no setpoint."
    where = [with_unit(f, found.setpoint.settings[j]) for f, j in zip(factors, axes, strict=True)]
    return words + f"The setpoint is at {listed(where)}."


def _extent(factors: tuple[Factor, ...], flags: Flags, which: str) -> str:
    """Return how far one window, as flags over marks, reaches on the picture."""
    if not flags.any():
        return f"There is no {which} window on it."
    spans = []
    for axis, factor in enumerate(factors):
        held = np.flatnonzero(flags.any(axis=1 - axis) if flags.ndim > 1 else flags)
        low, high = factor.marks[held[0]], factor.marks[held[-1]]
        spans.append(f"{spoken(factor.name)} {factor.text(low)} to {with_unit(factor, high)}")
    share = percent(float(flags.mean()))
    return f"The {which} window covers {share} of it, within {listed(spans)}."
