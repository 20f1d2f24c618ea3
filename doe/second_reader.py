"""A second person's readings of a blind list -> entries in grading.jsonl, checked before."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from shotwindow.doe.answers import readers
from shotwindow.doe.blind_lists import GRADING, BlindList, Part, newest_list
from shotwindow.doe.cells import Wrong, plain
from shotwindow.doe.columns import fill_headings, flash_headings, heading_key
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.journal import Entry, append_entry, mend_journal, read_journal
from shotwindow.doe.records import now
from shotwindow.doe.regrading import GRADE, first_rows, read_by
from shotwindow.doe.session import Session
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell, Table, read_table

#: Heading of the labels in a blind list.
PART = "part"


class SecondReader:
    """A second person's readings of the newest list; each is on the disk when it is taken.

    Parameters
    ----------
    folder : Path
    session : Session
        Keeps other writers out, and says who this is.
    response : str
        "fill" or "flash".

    Attributes
    ----------
    study : Study
    listed : BlindList

    Raises
    ------
    StudyError
        If no list was drawn, or this is nobody, or the person who read the parts first.
    """

    def __init__(self, folder: Path, session: Session, response: str) -> None:
        mend_journal(folder, GRADING)
        self.study, self._folder, self._session = session.study, folder, session
        self._entries = read_journal(folder, GRADING)
        listed = newest_list(self._entries, session.study, session.layout, response)
        if listed is None:
            do = f"draw one: shotwindow sheet {folder} --blind {response}"
            raise StudyError.one(GRADING, f"no blind list for {response}", "a list", do)
        self.listed = listed
        first = first_rows(session.study, session.entries, listed)
        _check_who(session.who, {first[part.shot].by for part in listed.parts})

    def read(self) -> dict[Part, str]:
        """Return what this person has read so far."""
        return read_by(self._entries, self.listed, self._session.who)

    def checked(self, part: Part, cell: Cell) -> str:
        """Return a reading in its shortest form.

        Raises
        ------
        Wrong
            If the cell holds no such reading.
        """
        value = readers(self._session.study, self._session.layout)[part.heading](cell)
        assert not isinstance(value, tuple)
        return value if isinstance(value, str) else plain(value)

    def take(self, texts: Mapping[Part, str]) -> None:
        """Keep checked readings, all at once; one that was there before is replaced, not lost."""
        before = self.read()
        values: dict[int, dict[str, str]] = {}
        for part, text in texts.items():
            if before.get(part) != text:
                values.setdefault(part.shot, {})[part.heading] = text
        if values:
            shot = next(iter(values)) if len(values) == 1 else None
            seq, who, runs = len(self._entries) + 1, self._session.who, self.listed.runs
            entry = Entry(seq, now(), who, GRADE, shot, values, runs)
            append_entry(self._folder, entry, GRADING)
            self._entries = (*self._entries, entry)

    def take_table(self, file: str, data: bytes) -> tuple[Part, ...]:
        """Take a list back that was filled in; empty cells are parts that are not there any more.

        Raises
        ------
        StudyError
            With everything that is wrong in the file; nothing is then taken.
        """
        texts = _texts(self, read_table(file, data, key=PART))
        self.take(texts)
        return tuple(texts)


def reading_heading(study: Study, response: str) -> str:
    """Return the heading of the readings in a blind list, which is the same for all cavities."""
    headings = fill_headings(study) if response == "fill" else flash_headings(study)
    return headings[0][0]


def _texts(reader: SecondReader, table: Table) -> dict[Part, str]:
    """Return the checked readings of a table, or raise all that is wrong in it."""
    columns = {heading_key(cell.text): place for place, cell in enumerate(table.header)}
    reading = reading_heading(reader.study, reader.listed.response)
    missing = [name for name in (PART, reading) if heading_key(name) not in columns]
    if missing:
        place = f"{table.name}, row {table.header[0].row}"
        raise StudyError(Problem(place, "no such column", f'a column "{m}"') for m in missing)
    by_label = {part.label: part for part in reader.listed.parts}
    texts: dict[Part, str] = {}
    problems: list[Problem] = []
    for row in table.rows:
        label, cell = (_cell(row, columns[heading_key(name)]) for name in (PART, reading))
        part = by_label.pop(label.text, None)
        if part is None:
            problems.append(_wrong_label(table, label, reader.listed))
        elif cell.text:
            try:
                texts[part] = reader.checked(part, cell)
            except Wrong as wrong:
                problems.append(wrong.at(table.place(cell.row, reading, cell.column), cell))
    if problems:
        raise StudyError(problems)
    return texts


def _check_who(who: str, first: set[str]) -> None:
    if not who:
        raise StudyError.one("--by", "no name", "who reads the parts a second time")
    if who.casefold() in {name.casefold() for name in first}:
        found = f"{who}, who read these parts the first time"
        raise StudyError.one("--by", found, "a second person")


def _cell(row: Sequence[Cell], place: int) -> Cell:
    return row[place] if place < len(row) else Cell("", row[0].row, place + 1)


def _wrong_label(table: Table, label: Cell, listed: BlindList) -> Problem:
    wrong = Wrong(f"a part of the newest list, such as {listed.parts[0].label}, once")
    if label.kind == "date":
        wrong = Wrong("shot and cavity of a part, as text", "write it with an apostrophe: '7-2")
    return wrong.at(table.place(label.row, PART, label.column), label)
