"""The journal and runs.csv -> the state of a study; one more entry -> both files.

The entry goes to the journal first. If the program dies in between, runs.csv is one entry behind,
which its fingerprint tells; a fingerprint that the journal does not know is somebody's editing.
"""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path

from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.headings import layout_of
from shotwindow.doe.history import DRAFT, PLAN, Sheet, render, replay, with_values
from shotwindow.doe.journal import Entry, append_entry, read_journal
from shotwindow.doe.merging import Merge, merge
from shotwindow.doe.plan_file import planned_sheet, read_plan
from shotwindow.doe.rows import Row, check_row, place_of
from shotwindow.doe.store import fingerprint, write_whole
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell, read_table

RUNS_FILE = "runs.csv"


@dataclass(frozen=True)
class State:
    """What the journal and runs.csv of a study say together.

    Attributes
    ----------
    entries : tuple of Entry
        The journal.
    sheet : Sheet
        The run sheet as the journal has it.
    edits : Merge or None
        What somebody changed in runs.csv by hand since; None where the file is as it was written.
    is_behind : bool
        Whether runs.csv is older than the journal, as after a crash, or gone.
    """

    entries: tuple[Entry, ...]
    sheet: Sheet
    edits: Merge | None = None
    is_behind: bool = False


@dataclass(frozen=True)
class Action:
    """What is about to become an entry; its parts are those of `Entry`."""

    action: str
    shot: int | None
    values: Mapping[int, Mapping[str, str]]
    columns: tuple[str, ...] | None = None
    undoes: int | None = None
    who: str = ""
    time: str = ""


def now() -> str:
    """Return the time by this machine's clock, with its distance from UTC."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def read_state(folder: Path, study: Study) -> State:
    """Return what a study's files say, without changing them.

    Raises
    ------
    StudyError
        If there is no plan, or it does not fit the study any more.
    """
    entries = read_journal(folder)
    # A study may come without its journal: the plan is then its beginning.
    sheet = replay(entries) if entries else planned_sheet(study, read_plan(folder))
    _check_fit(study, sheet)
    return compared(folder, study, State(entries, sheet))


def compared(folder: Path, study: Study, state: State) -> State:
    """Return a state with what runs.csv says now held against its journal."""
    entries, sheet = state.entries, state.sheet
    path = folder / RUNS_FILE
    if not path.exists():
        return State(entries, sheet, is_behind=True)
    data = path.read_bytes()
    if data == render(sheet):
        return State(entries, sheet)
    if fingerprint(data) in {entry.runs for entry in entries}:
        return State(entries, sheet, is_behind=True)
    edits = merge(study, sheet, read_table(RUNS_FILE, data), whole=True)
    return State(entries, sheet, edits)


def log(folder: Path, state: State, action: Action) -> State:
    """Return the state after an action, which is in the journal when this returns."""
    sheet = state.sheet
    if action.action != DRAFT:
        planned = action.action == PLAN
        sheet = with_values(sheet, action.values, action.columns, plan=planned)
    entry = Entry(
        seq=len(state.entries) + 1,
        runs=fingerprint(render(sheet)),
        **vars(replace(action, time=action.time or now())),
    )
    append_entry(folder, entry)
    return State((*state.entries, entry), sheet)


def begun(folder: Path, state: State, *, who: str = "", time: str = "") -> State:
    """Return the state with its plan in the journal, for a study that came without a journal."""
    if state.entries:
        return state
    action = Action(PLAN, None, state.sheet.cells, state.sheet.columns, who=who, time=time)
    return replace(log(folder, state, action), edits=state.edits, is_behind=state.is_behind)


def write_runs(folder: Path, state: State) -> None:
    """Write runs.csv as the journal has it.

    Raises
    ------
    StudyError
        If it cannot be written; it then stays behind the journal until it can.
    """
    try:
        write_whole(folder / RUNS_FILE, render(state.sheet))
    except StudyError as fault:
        safe = "what was entered is safe in the journal; "
        raise StudyError(replace(p, do=safe + p.do) for p in fault.problems) from fault


def take_edits(folder: Path, state: State, *, who: str = "", time: str = "") -> State:
    """Return the state with what was changed in runs.csv by hand in the journal.

    Raises
    ------
    StudyError
        With everything that is wrong in runs.csv; nothing is then taken.
    """
    edits = state.edits
    if edits is not None:
        problems = edits.problems + edits.refused
        if problems:
            raise StudyError(problems)
        if edits.values or edits.columns != state.sheet.columns:
            columns = edits.columns if edits.columns != state.sheet.columns else None
            shot = next(iter(edits.values)) if len(edits.values) == 1 else None
            action = Action("edit", shot, edits.values, columns, who=who, time=time)
            state = log(folder, state, action)
    if state.is_behind or (edits is not None and (edits.values or edits.put_back)):
        # Where that fails runs.csv stays as it is, and whatever is entered next says so: a file
        # that a spreadsheet has open is no reason to stop recording.
        with suppress(StudyError):
            write_runs(folder, state)
    return State(state.entries, state.sheet)


def rows_of(study: Study, sheet: Sheet) -> tuple[Row, ...]:
    """Return the rows of a sheet, in running order.

    Raises
    ------
    StudyError
        If the sheet does not fit the study any more.
    """
    layout = layout_of(study, sheet.columns, RUNS_FILE)
    rows: list[Row] = []
    problems: list[Problem] = []
    for shot, cells in sheet.cells.items():
        placed = {name: Cell(text, 0, 0) for name, text in cells.items()}
        checked = check_row(study, layout, placed, partial(place_of, shot))
        problems += checked.problems
        rows += [checked.row] if checked.row else []
    if problems:
        raise StudyError(problems)
    return tuple(rows)


def _check_fit(study: Study, sheet: Sheet) -> None:
    """Refuse a study whose factors or scales are not those of its plan any more."""
    do = "put study.toml back, or start another folder for the changed study"
    first = sheet.columns.index("kind") + 1
    planned = sheet.columns[first : sheet.columns.index(f"actual {sheet.columns[first]}")]
    labels = tuple(factor.label for factor in study.factors)
    if planned != labels:
        expected = f"the factors of the plan: {', '.join(planned)}"
        raise StudyError.one("study.toml [factors]", ", ".join(labels), expected, do)
    try:
        layout_of(study, sheet.columns, RUNS_FILE)
    except StudyError as fault:
        read = sheet.columns[first + 2 * len(planned) : sheet.columns.index("other")]
        found = f'fill by "{study.fill.measured}" and flash by "{study.flash.measured}"'
        expected = f"the readings of the plan: {', '.join(read)}"
        raise StudyError.one("study.toml [fill], [flash]", found, expected, do) from fault
