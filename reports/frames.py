"""Findings -> tables of pandas, to go on calculating with: numbers as numbers, not as words."""

from dataclasses import replace
from math import nan
from typing import TYPE_CHECKING, Any

import numpy as np

from shotwindow.doe.columns import Layout, fill_headings, flash_headings
from shotwindow.doe.rows import row_cells
from shotwindow.models.window import Window
from shotwindow.reports.changes import changes
from shotwindow.reports.findings import Findings
from shotwindow.reports.verdicts import margins

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from pandas import DataFrame

#: Columns of runs.csv that hold words, even where the words look like numbers.
WORDS = {"block", "lot", "kind", "other", "status", "made_at", "by", "note", "short cavities"}


def frames(found: Findings) -> dict[str, "DataFrame"]:
    """Return all tables of a study.

    Returns
    -------
    dict of DataFrame
        shots
            A row a shot in running order, under the headings of runs.csv, and its `outcome`.
        setpoint
            A row a factor: unit, setting, what the press holds, both ends of its range.
        edges
            A row an edge: factor, side, unit, the response that fails beyond, where it is, both
            bands, and how far the setpoint is from it in units and in whole marks.
        effects
            A row a response and factor: how much it is turned up, and what is added, with the ends
            that hold 90 %.
        marks
            A row a mark of all factors: settings, whether it may be set and was tried, and both
            chances; missing where there is no answer.

        What a study does not give has no rows.

    Examples
    --------
    >>> from pathlib import Path
    >>> from shotwindow.reports.findings import read_findings
    >>> from shotwindow.reports.frames import frames
    >>> tables = frames(read_findings(Path("examples/seed-tray-clip")))
    >>> sorted(tables)
    ['edges', 'effects', 'marks', 'setpoint', 'shots']
    """
    from pandas import DataFrame  # slow to load

    rows = {
        "shots": _shots(found),
        "setpoint": _setpoint(found),
        "edges": _edges(found),
        "effects": _effects(found),
    }
    marks = {} if found.window is None else _marks(found.window)
    return {**{name: DataFrame(each) for name, each in rows.items()}, "marks": DataFrame(marks)}


def _shots(found: Findings) -> list[dict[str, Any]]:
    study = found.study
    first = found.rows[0]
    layout = Layout(
        tuple(factor.label for factor in study.factors),
        fill_headings(study)[len(first.fill) > 1],
        flash_headings(study)[len(first.flash) > 1],
        any(row.short_cavities is not None for row in found.rows),
    )
    told = []
    for row in found.rows:
        cells = row_cells(study, layout, replace(row, extra=()))
        values = {name: text if name in WORDS else _number(text) for name, text in cells.items()}
        told.append({**values, "outcome": row.outcome})
    return told


def _number(text: str) -> float | str:
    """Return what stands in a cell: not a number where nothing was read; "full" stays a word."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            pass
    return text or nan


def _setpoint(found: Findings) -> list[dict[str, Any]]:
    point = found.setpoint
    if point is None:
        return []
    told = []
    for j, factor in enumerate(found.study.factors):
        low, high = found.range_ends[j] if found.range_ends else (None, None)
        told.append(
            {
                "factor": factor.name,
                "unit": factor.unit,
                "setting": point.settings[j],
                "holds": factor.holds,
                "range_low": low,
                "range_high": high,
            }
        )
    return told


def _edges(found: Findings) -> list[dict[str, Any]]:
    units = {factor.name: factor.unit for factor in found.study.factors}
    return [
        {
            "factor": edge.factor,
            "side": edge.side,
            "unit": units[edge.factor],
            "response": None if edge.median is None else edge.response,
            "median": edge.median,
            "low50": edge.band50[0],
            "high50": edge.band50[1],
            "low90": edge.band90[0],
            "high90": edge.band90[1],
            "distance": margin.distance,
            "marks": margin.marks,
        }
        for edge, margin in zip(found.edges, margins(found), strict=True)
    ]


def _effects(found: Findings) -> list[dict[str, Any]]:
    return [
        {
            "response": change.response,
            "factor": change.factor.name,
            "turned_up_by": change.delta,
            "factor_unit": change.factor.unit,
            "adds": change.effect.middle,
            "low90": change.effect.low,
            "high90": change.effect.high,
            "unit": change.unit,
        }
        for surface in found.surfaces.each
        for change in changes(found, surface)
    ]


def _marks(window: Window) -> dict[str, Any]:
    grid = np.meshgrid(*(factor.marks for factor in window.factors), indexing="ij")
    settings = {f.name: at.ravel() for f, at in zip(window.factors, grid, strict=True)}
    names = ("allowed", "tried", "probability_good", "probability_in_window")
    return {**settings, **{name: getattr(window, name).ravel() for name in names}}
