"""The headings of a table -> which column of the run sheet each of them is."""

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from shotwindow.doe.columns import (
    SHORT_CAVITIES,
    Layout,
    all_headings,
    fill_headings,
    flash_headings,
    heading_key,
)
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell, Table

_Choices = tuple[tuple[str, ...], tuple[str, ...]]


@dataclass(frozen=True)
class Match:
    """Which column of a table is which.

    Attributes
    ----------
    layout : Layout
    where : dict of str to int
        Position in the table's header of each of the layout's columns that the table has.
    problems : tuple of Problem
    """

    layout: Layout
    where: dict[str, int]
    problems: tuple[Problem, ...]


def match_columns(study: Study, table: Table) -> Match:
    """Return which column each heading of a table is, tolerant of case, spaces and order.

    A heading that is nearly one of a missing column is a problem that guesses which; any other
    unknown heading is the user's own column and is kept.
    """
    known = {heading_key(name): name for name in all_headings(study)}
    where, problems = _positions(table, known)
    fill, flash = (_chosen(c, where) for c in (fill_headings(study), flash_headings(study)))
    missing = _missing(study, where, fill, flash)
    for name in [name for name in where if heading_key(name) not in known]:
        if meant := _meant(name, missing):
            place = _place(table, table.header[where[name]])
            problems.append(
                Problem(place, "a heading that is not known", f'"{meant}"', "correct the heading")
            )
            missing.remove(meant)
    place = f"{table.name}, row {table.header[0].row}"
    problems += _lacking(study, place, missing, fill + flash)
    problems += _contradictions(study, place, where)
    labels = tuple(factor.label for factor in study.factors)
    extra = tuple(name for name in where if heading_key(name) not in known)
    layout = Layout(labels, fill, flash, SHORT_CAVITIES in where, extra)
    return Match(layout, where, tuple(problems))


def layout_of(study: Study, names: Sequence[str], file: str) -> Layout:
    """Return the layout that a list of headings stands for.

    Raises
    ------
    StudyError
        If the headings do not fit the study.
    """
    header = tuple(Cell(name, 1, j) for j, name in enumerate(names, start=1))
    match = match_columns(study, Table(file, "", header, ()))
    if match.problems:
        raise StudyError(match.problems)
    return match.layout


def _positions(table: Table, known: dict[str, str]) -> tuple[dict[str, int], list[Problem]]:
    where: dict[str, int] = {}
    problems = []
    for position, cell in enumerate(table.header):
        name = known.get(heading_key(cell.text), cell.text)
        if name in where:
            found = f'the column "{name}" a second time'
            problems.append(
                Problem(_place(table, cell), found, "each column once", "remove one of them")
            )
        elif name:
            where[name] = position
    return where, problems


def _place(table: Table, cell: Cell) -> str:
    return table.place(cell.row, cell.text, cell.column)


def _chosen(choices: _Choices, where: dict[str, int]) -> tuple[str, ...]:
    """Return the headings for each cavity, or the single one where only that is there."""
    single, numbered = choices
    only_single = single[0] in where and not any(name in where for name in numbered)
    return single if only_single or len(numbered) == 1 and numbered[0] not in where else numbered


def _missing(
    study: Study, where: dict[str, int], fill: tuple[str, ...], flash: tuple[str, ...]
) -> list[str]:
    """Return the known headings that the table lacks, less those of the way it does not use."""
    missing = [name for name in all_headings(study) if name not in where]
    for used, choices in ((fill, fill_headings(study)), (flash, flash_headings(study))):
        if all(name in where for name in used):
            missing = [name for name in missing if name not in choices[0] + choices[1]]
    return missing


def _meant(heading: str, missing: Sequence[str]) -> str | None:
    """Return the missing column that a heading nearly is: a slip of typing, or another unit."""
    bare = {heading_key(name).partition("(")[0]: name for name in reversed(missing)}
    close = get_close_matches(heading_key(heading).partition("(")[0], bare, n=1, cutoff=0.81)
    return bare[close[0]] if close else None


def _lacking(
    study: Study, place: str, missing: Sequence[str], readings: tuple[str, ...]
) -> list[Problem]:
    problems = []
    if "shot" in missing:
        problems.append(
            Problem(place, "no column shot", 'a column "shot"', "number the rows as in the plan")
        )
    for name in readings:
        if name in missing:
            table = "flash" if name.startswith("flash") else "fill"
            measured = (study.flash if table == "flash" else study.fill).measured
            why = f'study.toml says [{table}] measured = "{measured}"'
            problems.append(Problem(place, "no such column", f'a column "{name}"', why))
    return problems


def _contradictions(study: Study, place: str, where: dict[str, int]) -> list[Problem]:
    problems = []
    for single, numbered in (fill_headings(study), flash_headings(study)):
        both = [name for name in numbered if name in where]
        if single[0] in where and both:
            found = f'"{single[0]}" beside "{both[0]}"'
            problems.append(Problem(place, found, "one of the two ways", "remove one of them"))
    total, numbered = fill_headings(study)
    by_mass = study.fill.measured == "mass" and study.cavities > 1
    if by_mass and total[0] in where and SHORT_CAVITIES not in where:
        problems.append(
            Problem(
                place,
                f'one total mass for {study.cavities} cavities ("{total[0]}")',
                f'a mass for each cavity ("{numbered[0]}", ...)',
                f'or list the cavities that are short in a column "{SHORT_CAVITIES}"',
            )
        )
    return problems
