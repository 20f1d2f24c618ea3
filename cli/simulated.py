"""A study and a simulated press -> shots recorded as somebody at that press would record them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from shotwindow.cli.commands import report_edits
from shotwindow.cli.console import show
from shotwindow.cli.practice_file import Practice, keep_practice
from shotwindow.cli.practice_press import choose_practice, practice_press
from shotwindow.cli.recorder import show_summary
from shotwindow.doe.answers import full_masses, is_over_limit, is_total_mass
from shotwindow.doe.cells import plain
from shotwindow.doe.columns import SHORT_CAVITIES, Layout
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.rows import WARM_UP, Row
from shotwindow.doe.runs import read_runs
from shotwindow.doe.seeds import generator
from shotwindow.doe.session import Session, open_session
from shotwindow.doe.study import Study
from shotwindow.models.pencil import Written, read
from shotwindow.models.press import REASONS, Press
from shotwindow.models.shooting import shoot_rows


def practice_shots(
    folder: Path, study: Study, asked: Mapping[str, Any], *, one: bool, as_json: bool
) -> None:
    """Make the shots of a study that are still to be made, or the next one, and print them."""
    practice = choose_practice(folder, read_runs(folder, study), asked)
    made, rows = shoot_folder(folder, study, practice, one=one)
    if not as_json:
        show(f"Made on a {practice.by}:")
        for row in made:
            show(_told(study, row))
    show_summary(str(folder), rows, as_json=as_json)


def shoot_folder(
    folder: Path, study: Study, practice: Practice, *, one: bool
) -> tuple[list[Row], tuple[Row, ...]]:
    """Make the shots of a study that are still to be made, or the next one; return these and all.

    Raises
    ------
    StudyError
        If the press cannot take the study, or the study cannot be written to.
    """
    press = practice_press(study, practice)
    with open_session(folder, study, who=practice.by) as session:
        keep_practice(folder, practice)
        edits = session.take_edits()
        report_edits(edits.values, edits.put_back)
        made = shoot_open(session, press, practice, one=one)
        return made, tuple(session.rows)


def shoot_open(session: Session, press: Press, practice: Practice, *, one: bool) -> list[Row]:
    """Make and record the shots that are still to be made, or (`one`) the next of them.

    Whatever the recorder does after heavy flash happens here too. Return the rows as recorded.

    Raises
    ------
    StudyError
        If a planned setting lies outside the limits of the study: nothing is then made.
    """
    _check_limits(session.study, session.rows)
    recorded = []
    while (row := session.next_shot()) is not None:
        made = [r for r in session.rows if r.outcome in ("ok", "no part", "void")] + [row]
        _record(session, row, _written(session.study, press, practice, made))
        recorded.append(session.row(row.shot))
        if one:
            break
    return recorded


def _check_limits(study: Study, rows: Sequence[Row]) -> None:
    """Refuse what the press is not rated for, as a press would trip."""
    problems = []
    for row in rows:
        for factor, value in zip(study.factors, row.settings, strict=True):
            low, high = factor.limits
            if not low <= value <= high:
                limits = f"{factor.text(low)} to {factor.text(high)}, the press's rating"
                place = f'runs.csv, shot {row.shot}, "{factor.label}"'
                problems.append(Problem(place, factor.text(value), limits, "the press trips"))
    if problems:
        raise StudyError(problems)


def _written(
    study: Study, press: Press, practice: Practice, made: Sequence[Row]
) -> tuple[Written, int]:
    """Return what is written down about the last of the shots made so far, and its reject."""
    shots = shoot_rows(
        press,
        [row.settings for row in made],
        [row.group for row in made],
        lots=[row.lot for row in made],
        seed=practice.chance,
    )
    last = replace(shots, **{name: value[-1:] for name, value in vars(shots).items()})
    rng = generator(practice.chance, "pencil", made[-1].shot)
    return read(press, last, study.fill, study.flash, rng=rng), int(last.rejects[0])


def _record(session: Session, row: Row, seen: tuple[Written, int]) -> None:
    written, reject = seen
    if row.kind == WARM_UP:
        session.accept(row.shot, {})
    elif written.no_part[0]:
        session.no_part(row.shot)
    else:
        values = _cells(session.study, session.layout, written)
        if reject:
            values["other"] = REASONS[reject - 1]
        session.accept(row.shot, values, sure=True)


def _cells(study: Study, layout: Layout, written: Written) -> dict[str, str]:
    """Return what is written down about one shot, by heading."""
    values: dict[str, str] = {}
    if is_total_mass(study, layout):
        assert written.mass is not None and written.full is not None  # as is weighed together
        short = np.flatnonzero(~written.full[0]) + 1
        values[layout.fill[0]] = plain(round(float(written.mass.sum()), 6))
        values[SHORT_CAVITIES] = " ".join(map(str, short)) or "none"
    else:
        values |= dict(zip(layout.fill, _fill_words(study, layout, written), strict=True))
    flash = [float(value) for value in written.flash[0]]
    if len(layout.flash) < len(flash):
        flash = [max(flash)]
    return values | dict(zip(layout.flash, map(plain, flash), strict=True))


def _fill_words(study: Study, layout: Layout, written: Written) -> list[str]:
    """Return the fill of each cavity, or of the worst one where only that is asked for."""
    words = [] if written.full is None else ["full" if f else "short" for f in written.full[0]]
    if study.fill.measured == "full-or-short":
        return words if len(layout.fill) == len(words) else [min(words, key=lambda w: w == "full")]
    values = written.mass if written.fill is None else written.fill
    assert values is not None  # one of the three is written
    read = [float(value) for value in values[0]]
    if len(layout.fill) < len(read):
        read = [min(read)]
    # A cavity that gave nothing, beside others that did, is short: there is nothing to measure.
    least = [1.0 if full is None else 0.0 for full in full_masses(study, layout)]
    masses = [plain(v) if v > low else "short" for v, low in zip(read, least, strict=True)]
    if written.mass is None or len(masses) < len(words):
        return masses
    # Nobody weighs a part with its flash on: it is written down as it looks.
    flashed = [is_over_limit(study, float(value)) for value in written.flash[0]]
    return [w if f else m for m, w, f in zip(masses, words, flashed, strict=True)]


def _told(study: Study, row: Row) -> str:
    """Return what was set for a shot and what came out, in one line."""
    set_to = ", ".join(
        f"{factor.text(value)} {factor.unit}"
        for factor, value in zip(study.factors, row.settings, strict=True)
    )
    if row.kind == WARM_UP:
        return f"{row.shot:3d}  {set_to}: warm-up, set aside"
    if row.outcome != "ok":
        return f"{row.shot:3d}  {set_to}: {row.outcome}"
    unit = {"mass": " g", "eye": " %", "full-or-short": ""}[study.fill.measured]
    fill = " ".join(v if isinstance(v, str) else plain(v) for v in row.fill if v is not None)
    flash = " ".join(plain(value) for value in row.flash if value is not None)
    measured = (
        f"grade {flash}" if study.flash.measured == "grade" else f"{flash} {study.flash.unit}"
    )
    other = f", {row.other}" if row.other else ""
    return f"{row.shot:3d}  {set_to}: fill {fill}{unit}, flash {measured}{other}"
