"""A plan -> the files of a study; these files -> its rows."""

from pathlib import Path
from typing import TYPE_CHECKING

from shotwindow.doe.columns import columns
from shotwindow.doe.errors import StudyError
from shotwindow.doe.history import PLAN, Sheet, with_values
from shotwindow.doe.journal import mend_journal
from shotwindow.doe.plan_file import PLAN_FILE, planned_sheet, read_plan, write_plan_file
from shotwindow.doe.records import (
    Action,
    State,
    begun,
    log,
    read_state,
    rows_of,
    take_edits,
    write_runs,
)
from shotwindow.doe.rows import Row
from shotwindow.doe.store import one_writer
from shotwindow.doe.study import Study

if TYPE_CHECKING:  # making plans loads much that recording does not need
    from shotwindow.doe.plans import Plan

__all__ = ["Row", "columns", "read_plan", "read_runs", "write_plan"]


def write_plan(folder: Path, study: Study, plan: "Plan", *, who: str = "") -> None:
    """Write plan.json and runs.csv, and begin or go on with the journal.

    A plan may be replaced as long as nothing is recorded. Afterwards a new plan has to hold every
    recorded shot as it was planned; the shots after it may differ, and may be more.

    Raises
    ------
    StudyError
        If a recorded shot is missing in the new plan, or is another one there.
    """
    with one_writer(folder):
        mend_journal(folder)
        state = State((), planned_sheet(study, plan))
        new = state.sheet
        if (folder / "journal.jsonl").exists() or (folder / PLAN_FILE).exists():
            state = begun(folder, read_state(folder, study), who=who)
            state = take_edits(folder, state, who=who)
            new = _with_recorded(study, new, state.sheet)
        action = Action(PLAN, None, new.cells, new.columns, who=who)
        write_runs(folder, log(folder, state, action))
        write_plan_file(folder, study, plan)


def read_runs(folder: Path, study: Study) -> tuple[Row, ...]:
    """Return the rows of a study in running order; what was edited by hand counts.

    Parameters
    ----------
    folder : Path
        Where runs.csv, the plan and the journal lie.
    study : Study
        As `shotwindow.doe.study.read_study` returns it.

    Raises
    ------
    StudyError
        With everything that is wrong in runs.csv, or if there is no plan.
    """
    state = read_state(folder, study)
    sheet = state.sheet
    if state.edits is not None:
        if problems := state.edits.problems + state.edits.refused:
            raise StudyError(problems)
        sheet = with_values(sheet, state.edits.values, state.edits.columns)
    return rows_of(study, sheet)


def _with_recorded(study: Study, new: Sheet, old: Sheet) -> Sheet:
    """Return the new sheet with the recorded rows of the old one in it."""
    lost = []
    kept = {}
    planned = ("block", "group", "kind", *(factor.label for factor in study.factors))
    for row in rows_of(study, old):
        if row.outcome == "open":
            continue
        before, after = old.cells[row.shot], new.cells.get(row.shot)
        if after is None or any(before.get(name) != after.get(name) for name in planned):
            lost.append(row.shot)
        kept[row.shot] = before
    if lost:
        raise StudyError.one(
            PLAN_FILE,
            f"a plan with recorded shots ({_numbers(lost)})",
            "one without, since planning anew would lose them",
            "add shots with `plan --grow` or `shotwindow next`, or plan in a new folder",
        )
    columns = old.columns if kept else new.columns
    return with_values(Sheet(columns, new.cells), kept)


def _numbers(shots: list[int]) -> str:
    few = ", ".join(str(shot) for shot in shots[:5])
    return few + (f", ... {len(shots)} in all" if len(shots) > 5 else "")
