"""Entries -> a journal that only grows, each line forced to the disk before the next; and back.

The journal is the truth about a study: runs.csv can be made again from it. Entries are numbered,
so that a clock that goes back changes nothing.
"""

import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shotwindow.doe.errors import StudyError
from shotwindow.doe.store import disk_told, settle

JOURNAL = "journal.jsonl"
_TORN = "journal.torn"


@dataclass(frozen=True)
class Entry:
    """One line of the journal.

    Attributes
    ----------
    seq : int
        1, 2, 3, ...; the order of entries, whatever the clock did.
    time : str
        ISO 8601, for people.
    who, action : str
    shot : int or None
        The shot that the entry is about; None if it is about many.
    values : mapping of int to mapping of str to str
        By shot and heading, the text of each cell that changed.
    runs : str
        Fingerprint of runs.csv with this entry in it.
    columns : tuple of str or None
        All headings, where the entry changed them.
    undoes : int or None
        The entry that this one takes back.
    """

    seq: int
    time: str
    who: str
    action: str
    shot: int | None
    values: Mapping[int, Mapping[str, str]]
    runs: str
    columns: tuple[str, ...] | None = None
    undoes: int | None = None


def append_entry(folder: Path, entry: Entry, file: str = JOURNAL) -> None:
    """Add a line to the journal and wait until the disk has it.

    Parameters
    ----------
    folder : Path
    entry : Entry
    file : str, optional
        Another file that is kept in the same way.

    Raises
    ------
    StudyError
        If it cannot be written, and the journal is then as it was; or if something stands behind
        the entry that should be the last.
    """
    path = folder / file
    with disk_told(path):
        _check_last(path, entry.seq - 1)
        is_new = not path.exists()
        with open(path, "ab", buffering=0) as opened:
            size = opened.tell()
            try:
                _write_all(opened.fileno(), _line(entry))
                os.fsync(opened.fileno())
            except OSError:
                with suppress(OSError):
                    os.ftruncate(opened.fileno(), size)
                raise
        if is_new:
            settle(folder)


def read_journal(folder: Path, file: str = JOURNAL) -> tuple[Entry, ...]:
    """Return the entries of a study's journal; a last line that a crash tore is left out.

    Parameters
    ----------
    folder : Path
    file : str, optional
        Another file that is kept in the same way.

    Raises
    ------
    StudyError
        If another line is not an entry, or lines are missing.
    """
    entries, _ = _parse(folder / file)
    return entries


def mend_journal(folder: Path, file: str = JOURNAL) -> str | None:
    """Put a torn last line aside, to journal.torn, and return its text; None if there is none.

    Call this only where no one else writes.
    """
    path = folder / file
    _, whole = _parse(path)
    data = path.read_bytes() if path.exists() else b""
    torn = data[whole:]
    if not torn:
        return None
    with disk_told(path):
        with open(folder / _TORN, "ab") as aside:
            aside.write(torn + b"\n")
            aside.flush()
            os.fsync(aside.fileno())
        with open(path, "r+b") as opened:
            opened.truncate(whole)
            os.fsync(opened.fileno())
    return torn.decode(errors="replace")


def _parse(path: Path) -> tuple[tuple[Entry, ...], int]:
    """Return the entries and how many bytes of the file they take up."""
    if not path.exists():
        return (), 0
    data = path.read_bytes()
    whole = data.rfind(b"\n") + 1  # what comes after the last line break was never accepted
    entries = []
    for number, line in enumerate(data[:whole].split(b"\n")[:-1], start=1):
        try:
            entry = _entry(json.loads(line))
        except (ValueError, KeyError, TypeError, AttributeError) as fault:
            raise _broken(path.name, number, "a line that is no entry") from fault
        if entry.seq != number:
            raise _broken(path.name, number, f"entry {entry.seq}")
        entries.append(entry)
    return tuple(entries), whole


def _check_last(path: Path, seq: int) -> None:
    """Refuse to write behind anything but a whole entry with this number.

    A disk that failed may have kept half an entry, or one that was never accepted; a disk without
    locks may let two recorders write.
    """
    last = _last_line(path)
    try:
        found = json.loads(last)["seq"] if last.endswith(b"\n") else None if last else 0
    except (ValueError, KeyError, TypeError):
        found = None
    if found != seq:
        raise StudyError.one(
            path.name,
            "something behind the last entry that was accepted here",
            f"entry {seq} as the last",
            "leave (q) and start again: what was accepted is safe, and the rest is put in order",
        )


def _last_line(path: Path) -> bytes:
    """Return what stands behind the last line break but one."""
    if not path.exists():
        return b""
    tail, block = b"", 4096
    with open(path, "rb") as file:
        start = file.seek(0, os.SEEK_END)
        while start and tail.count(b"\n", 0, -1) == 0:
            start = max(start - block, 0)
            file.seek(start)
            tail = file.read()
            block *= 4
    return tail[tail.rfind(b"\n", 0, -1) + 1 :]


def _broken(file: str, number: int, found: str) -> StudyError:
    return StudyError.one(
        f"{file}, line {number}",
        found,
        f"entry {number}, as it was written",
        "this file is not for editing: put back a copy of it",
    )


def _line(entry: Entry) -> bytes:
    fields: dict[str, Any] = {
        "seq": entry.seq,
        "time": entry.time,
        "who": entry.who,
        "action": entry.action,
        "shot": entry.shot,
        "values": {str(shot): dict(cells) for shot, cells in entry.values.items()},
        "runs": entry.runs,
    }
    if entry.columns is not None:
        fields["columns"] = list(entry.columns)
    if entry.undoes is not None:
        fields["undoes"] = entry.undoes
    return json.dumps(fields, ensure_ascii=False).encode() + b"\n"


def _entry(fields: dict[str, Any]) -> Entry:
    columns = fields.get("columns")
    return Entry(
        seq=fields["seq"],
        time=fields["time"],
        who=fields["who"],
        action=fields["action"],
        shot=fields["shot"],
        values={int(shot): dict(cells) for shot, cells in fields["values"].items()},
        runs=fields["runs"],
        columns=None if columns is None else tuple(columns),
        undoes=fields.get("undoes"),
    )


def _write_all(descriptor: int, data: bytes) -> None:
    while data:
        data = data[os.write(descriptor, data) :]
