"""Answers given at the press -> entries in the journal and rows of runs.csv. Knows no screen.

Whatever changes something is on the disk before it returns. A screen asks for `next_shot`, puts
its own questions, and hands the answers over as the text that was typed.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from shotwindow.doe.columns import REMARKS, Layout
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.headings import layout_of
from shotwindow.doe.history import (
    DRAFT,
    NOTE,
    UNDO,
    Sheet,
    Values,
    drafts,
    last_undoable,
    replay,
    taken_back,
)
from shotwindow.doe.journal import Entry, mend_journal
from shotwindow.doe.merging import merge
from shotwindow.doe.records import (
    RUNS_FILE,
    Action,
    begun,
    compared,
    log,
    now,
    read_state,
    rows_of,
    take_edits,
    write_runs,
)
from shotwindow.doe.rows import Row
from shotwindow.doe.saving import (
    Saved,
    check_answer,
    check_open,
    checked_values,
    checked_with,
    find_row,
    joined,
    printable,
    skips_after,
)
from shotwindow.doe.store import one_writer
from shotwindow.doe.study import Study
from shotwindow.doe.tables import read_table

_FOR_OPEN_SHOTS = ("accept", "no part", "skip")


@contextmanager
def open_session(
    folder: Path, study: Study, *, who: str = "", clock: Callable[[], str] = now
) -> Iterator["Session"]:
    """Open the recorder of a study, and keep other writers out until it is left.

    Parameters
    ----------
    folder : Path
    study : Study
    who : str, optional
        Who records.
    clock : function, optional
        Gives the time as text.

    Raises
    ------
    StudyError
        If there is no plan, or someone else is recording.
    """
    with one_writer(folder):
        yield Session(folder, study, who, clock)


class Session:
    """The recorder of one study; `open_session` makes it.

    Attributes
    ----------
    study : Study
    who : str
        Who records from now on.
    torn : str or None
        A line of the journal that a crash left half written; it is kept in journal.torn.
    """

    def __init__(self, folder: Path, study: Study, who: str, clock: Callable[[], str]) -> None:
        self.study = study
        self.who = printable(who)
        self.torn = mend_journal(folder)
        self._folder = folder
        self._clock = clock
        self._rows: tuple[Sheet, tuple[Row, ...]] | None = None
        self._state = begun(folder, read_state(folder, study), who=self.who, time=clock())

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The journal."""
        return self._state.entries

    @property
    def layout(self) -> Layout:
        """The columns of the run sheet."""
        return layout_of(self.study, self._state.sheet.columns, RUNS_FILE)

    @property
    def rows(self) -> tuple[Row, ...]:
        """All rows in running order."""
        if self._rows is None or self._rows[0] != self._state.sheet:
            self._rows = (self._state.sheet, rows_of(self.study, self._state.sheet))
        return self._rows[1]

    def row(self, shot: int) -> Row:
        """Return the row of a shot."""
        return find_row(self.rows, shot)

    def next_shot(self) -> Row | None:
        """Return the first shot that is still to be made, or None when all are."""
        return next((row for row in self.rows if row.outcome == "open"), None)

    def typed(self, shot: int) -> dict[str, str]:
        """Return the answers that were given for a shot that is not accepted yet, by heading."""
        return drafts(self.entries).get(shot, {})

    def at(self, seq: int) -> tuple[Row, ...]:
        """Return the rows as they were after an entry of the journal."""
        return rows_of(self.study, replay(self.entries[:seq]))

    def check(self, shot: int, heading: str, text: str) -> None:
        """Raise a StudyError if one answer does not hold what it should; "" is always right."""
        check_answer(self.study, self.layout, shot, heading, text)

    def questions(self, shot: int, values: Mapping[str, str]) -> tuple[Problem, ...]:
        """Return what should be asked before these answers are accepted."""
        self.row(shot)
        return checked_with(self.study, self._state.sheet, shot, values).questions

    def take_edits(self) -> Saved:
        """Take what was changed in runs.csv by hand, or bring the file up to the journal.

        Raises
        ------
        StudyError
            With everything that is wrong in runs.csv; nothing is then taken or overwritten.
        """
        before = self._state.sheet
        state = compared(self._folder, self.study, self._state)
        self._state = take_edits(self._folder, state, who=self.who, time=self._clock())
        edits = state.edits
        if edits is None:
            return Saved({})
        skips = skips_after(self.study, before, edits.values, edits.columns)
        if skips:
            self._commit("skip", skips)
        return Saved(edits.values, tuple(skips), edits.questions, put_back=edits.put_back)

    def draft(self, shot: int, heading: str, text: str) -> None:
        """Keep one answer for a shot that is not complete yet; runs.csv does not change."""
        self.check(shot, heading, text)
        action = Action(
            DRAFT, shot, {shot: {heading: printable(text)}}, who=self.who, time=self._clock()
        )
        self._state = log(self._folder, self._state, action)

    def accept(
        self, shot: int, values: Mapping[str, str], *, sure: bool = False, keep_hot: bool = False
    ) -> Saved:
        """Record a shot that was made.

        Parameters
        ----------
        shot : int
        values : mapping of str to str
            By heading, what was typed; a warm-up shot needs nothing.
        sure : bool, optional
            Take readings that are questionable.
        keep_hot : bool, optional
            Leave later shots in the plan even after heavy flash.

        Raises
        ------
        StudyError
            With everything that is wrong; nothing is then taken.
        """
        cells = {"status": "ok", **self._made(), **values}
        return self._save("accept", {shot: cells}, sure=sure, keep_hot=keep_hot)

    def no_part(self, shot: int, note: str = "") -> Saved:
        """Record that a shot gave no part, which says that it was far too short."""
        return self._save("no part", {shot: {"status": "no part", **self._made()}}, note=note)

    def void(self, shot: int, reason: str) -> Saved:
        """Put a shot aside that says nothing about the mold; the reason goes to its note."""
        made = {} if self.row(shot).made_at else self._made()
        return self._save("void", {shot: {"status": "void", **made}}, note=reason)

    def skip(self, shots: Sequence[int], reason: str = "") -> Saved:
        """Leave planned shots out."""
        return self._save("skip", {shot: {"status": "skipped"} for shot in shots}, note=reason)

    def reopen(self, shots: Sequence[int]) -> Saved:
        """Put shots back into the plan, to be made (again); the journal keeps what was there."""
        layout = self.layout
        emptied = (*layout.actual, *layout.readings, *(name for name in REMARKS if name != "note"))
        return self._save("reopen", {shot: dict.fromkeys(emptied, "") for shot in shots})

    def note(self, shot: int, text: str) -> Saved:
        """Add to the note of a shot."""
        return self._save(NOTE, {shot: {}}, note=text)

    def change(
        self, shot: int, values: Mapping[str, str], *, sure: bool = False, keep_hot: bool = False
    ) -> Saved:
        """Correct cells of a shot, by heading."""
        return self._save("change", {shot: values}, sure=sure, keep_hot=keep_hot)

    def undo(self) -> Entry | None:
        """Take back the newest entry that is not taken back yet; None if there is none."""
        self.take_edits()
        entry = last_undoable(self.entries)
        if entry is not None:
            before = replay(self.entries[: entry.seq - 1])
            columns = None if entry.columns is None else before.columns
            values = taken_back(entry, before)
            self._write(Action(UNDO, entry.shot, values, columns, undoes=entry.seq))
        return entry

    def take_table(
        self, file: str, data: bytes, *, take_good: bool = False, keep_hot: bool = False
    ) -> Saved:
        """Take a filled-in sheet back, all of it or (`take_good`) the rows that are right.

        Raises
        ------
        StudyError
            With everything that is wrong in the file; nothing is then taken.
        """
        edited = self.take_edits().values
        table = read_table(file, data)
        taken = merge(self.study, self._state.sheet, table, whole=False)
        if taken.problems or (taken.refused and not take_good):
            raise StudyError(taken.problems + taken.refused)
        skips = self._commit("import", taken.values, taken.columns, keep_hot=keep_hot)
        return Saved(taken.values, skips, taken.questions, taken.refused, edited=edited)

    def _made(self) -> dict[str, str]:
        return {"made_at": self._clock(), "by": self.who}

    def _save(
        self,
        action: str,
        changed: Values,
        *,
        note: str = "",
        sure: bool = False,
        keep_hot: bool = False,
    ) -> Saved:
        edited = self.take_edits().values  # first, so that they are seen and not written over
        rows = {shot: self.row(shot) for shot in changed}
        if action in _FOR_OPEN_SHOTS:
            check_open(rows.values())
        if note:
            changed = {
                shot: {**cells, "note": joined(rows[shot].note, note)}
                for shot, cells in changed.items()
            }
        values = checked_values(self.study, self._state.sheet, changed, sure=sure)
        skipped = self._commit(action, values, keep_hot=keep_hot)
        return Saved(values, skipped, edited=edited)

    def _commit(
        self,
        action: str,
        values: Values,
        columns: tuple[str, ...] | None = None,
        *,
        keep_hot: bool = True,
    ) -> tuple[int, ...]:
        """Journal checked values and write runs.csv; return what was skipped for heavy flash."""
        sheet = self._state.sheet
        new_columns = None if columns in (None, sheet.columns) else columns
        shot = next(iter(values)) if len(values) == 1 else None
        skips = {} if keep_hot else skips_after(self.study, sheet, values, columns or sheet.columns)
        if any(values.values()) or new_columns:
            # One entry for both: a crash cannot part the flash from what follows of it.
            self._write(Action(action, shot, {**values, **skips}, new_columns))
        return tuple(skips)

    def _write(self, action: Action) -> None:
        action = replace(action, who=self.who, time=self._clock())
        self._state = log(self._folder, self._state, action)
        write_runs(self._folder, self._state)
