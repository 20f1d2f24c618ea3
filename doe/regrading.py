"""A blind list and what a second person reads -> both persons' readings, side by side.

The first readings are those of the moment when the list was drawn: what was corrected since, maybe
after a look at the second ones, does not count.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from shotwindow.doe.answers import readers
from shotwindow.doe.blind_lists import (
    GRADING,
    RESPONSES,
    BlindList,
    Part,
    Value,
    headings_of,
    is_good,
    newest_list,
)
from shotwindow.doe.columns import Layout
from shotwindow.doe.errors import StudyError
from shotwindow.doe.headings import layout_of
from shotwindow.doe.history import replay
from shotwindow.doe.journal import Entry, read_journal
from shotwindow.doe.records import RUNS_FILE, rows_of
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell

#: What an entry with readings is called in grading.jsonl.
GRADE = "grade"


@dataclass(frozen=True)
class Pair:
    """A part that was read twice: what was read, and whether that is on the good side."""

    part: Part
    first: Value
    second: Value
    first_good: bool
    second_good: bool


@dataclass(frozen=True)
class Regraded:
    """What a second person read of a list, beside the first readings.

    Attributes
    ----------
    response : str
        "fill" or "flash".
    who : str
        The second person.
    first_by : tuple of str
        Who read these parts first, as far as that was noted.
    pairs : tuple of Pair
    left : int
        Parts of the list that this person has not read.
    """

    response: str
    who: str
    first_by: tuple[str, ...]
    pairs: tuple[Pair, ...]
    left: int


def regraded(folder: Path, study: Study) -> tuple[Regraded, ...]:
    """Return what each second person read of the newest lists, beside the first readings.

    Raises
    ------
    StudyError
        If grading.jsonl was edited, or is not this study's.
    """
    grading = read_journal(folder, GRADING)
    if not grading:
        return ()
    entries = read_journal(folder)
    if not entries:
        raise _foreign()
    layout = layout_of(study, replay(entries).columns, RUNS_FILE)
    found = []
    for response in RESPONSES:
        listed = newest_list(grading, study, layout, response)
        if listed is None:
            continue
        first = first_rows(study, entries, listed)
        for who in _persons(grading, listed):
            second = (who, read_by(grading, listed, who))
            found.append(_beside(study, layout, listed, first, second))
    return tuple(found)


def second_persons(folder: Path, study: Study, layout: Layout, response: str) -> tuple[str, ...]:
    """Return who read parts of the newest list of fill or flash."""
    grading = read_journal(folder, GRADING)
    listed = newest_list(grading, study, layout, response)
    return () if listed is None else _persons(grading, listed)


def _persons(grading: Sequence[Entry], listed: BlindList) -> tuple[str, ...]:
    names = dict.fromkeys(entry.who for entry in grading if entry.action == GRADE)
    return tuple(who for who in names if read_by(grading, listed, who))


def _beside(
    study: Study,
    layout: Layout,
    listed: BlindList,
    first: Mapping[int, Row],
    second: tuple[str, Mapping[Part, str]],
) -> Regraded:
    who, texts = second
    reading = readers(study, layout)
    own = headings_of(layout, listed.response)
    pairs = []
    for part in listed.parts:
        if part not in texts:
            continue
        before = getattr(first[part.shot], listed.response)[own.index(part.heading)]
        after = reading[part.heading](Cell(texts[part], 0, 0))
        assert before is not None and not isinstance(after, tuple)
        good = [is_good(study, layout, part.heading, value) for value in (before, after)]
        pairs.append(Pair(part, before, after, bool(good[0]), bool(good[1])))
    by = tuple(sorted({first[part.shot].by for part in listed.parts} - {""}))
    return Regraded(listed.response, who, by, tuple(pairs), len(listed.parts) - len(pairs))


def first_rows(study: Study, entries: Sequence[Entry], listed: BlindList) -> dict[int, Row]:
    """Return the rows as they were when a list was drawn, by shot."""
    for count, entry in enumerate(entries, start=1):
        if entry.runs == listed.runs:
            return {row.shot: row for row in rows_of(study, replay(entries[:count]))}
    raise _foreign()


def _foreign() -> StudyError:
    do = "put back the copy of this folder that the list was drawn in, or draw a new list"
    return StudyError.one(GRADING, "a list of another study", "one of this study's shots", do)


def read_by(entries: Sequence[Entry], listed: BlindList, who: str) -> dict[Part, str]:
    """Return what somebody read of a list; the newest reading of a part counts."""
    texts = {
        (shot, heading): text
        for entry in entries[listed.seq :]
        if entry.action == GRADE and entry.who == who
        for shot, cells in entry.values.items()
        for heading, text in cells.items()
    }
    keys = {part: (part.shot, part.heading) for part in listed.parts}
    return {part: texts[key] for part, key in keys.items() if key in texts}
