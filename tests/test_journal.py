import os
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.doe.errors import StudyError
from shotwindow.doe.journal import (
    JOURNAL,
    Entry,
    append_entry,
    mend_journal,
    read_journal,
)

FIRST = Entry(1, "2025-03-01T09:00:00+00:00", "Ada", "accept", 7, {7: {"fill (%)": "96"}}, "ab")
# The clock of the press's computer went back by a day.
SECOND = replace(FIRST, seq=2, time="2025-02-28T09:00:00+00:00", columns=("shot",), undoes=1)


def written(folder: Path) -> bytes:
    append_entry(folder, FIRST)
    append_entry(folder, SECOND)
    return (folder / JOURNAL).read_bytes()


def test_append_entry__read_back__the_same_in_order(tmp_path: Path) -> None:
    written(tmp_path)
    assert read_journal(tmp_path) == (FIRST, SECOND)


@given(note=st.text(st.characters(exclude_categories=["Cs"])))
def test_append_entry__any_text__one_line(
    note: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("study")
    entry = replace(FIRST, values={7: {"note": note}})
    append_entry(folder, entry)
    assert (folder / JOURNAL).read_bytes().count(b"\n") == 1
    assert read_journal(folder) == (entry,)


def test_mend_journal__torn_anywhere__aside_and_never_fatal(tmp_path: Path) -> None:
    data = written(tmp_path)
    first = data.index(b"\n") + 1
    cuts = [*range(first, len(data) - 1, 9), len(data) - 1, len(data)]
    for cut in cuts:
        (tmp_path / JOURNAL).write_bytes(data[:cut])
        whole = cut == len(data)
        expected = (FIRST, SECOND) if whole else (FIRST,)
        assert read_journal(tmp_path) == expected
        torn = mend_journal(tmp_path)
        assert torn == (None if whole or cut == first else data[first:cut].decode())
        append_entry(tmp_path, replace(FIRST, seq=len(expected) + 1))
        assert len(read_journal(tmp_path)) == len(expected) + 1
    aside = (tmp_path / "journal.torn").read_bytes()
    assert aside.count(b"\n") == len(cuts) - 2


@pytest.mark.parametrize("step", ["fsync", "write"])
def test_append_entry__failing_disk__journal_as_it_was(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    append_entry(tmp_path, FIRST)
    before = (tmp_path / JOURNAL).read_bytes()
    whole_write = os.write

    def half(descriptor: int, data: bytes) -> int:
        if len(data) < 20:
            raise OSError(28, "No space left on device")
        return whole_write(descriptor, data[: len(data) // 2])

    def refuse(descriptor: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, step, half if step == "write" else refuse)
    with pytest.raises(StudyError, match="cannot be written"):
        append_entry(tmp_path, SECOND)
    monkeypatch.undo()
    assert (tmp_path / JOURNAL).read_bytes() == before
    append_entry(tmp_path, SECOND)
    assert read_journal(tmp_path) == (FIRST, SECOND)


@pytest.mark.parametrize(
    ("line", "found"),
    [(b"{}\n", "no entry"), (b"shot 7 was fine\n", "no entry"), (b"[1]\n", "no entry")],
)
def test_read_journal__edited__names_the_line(tmp_path: Path, line: bytes, found: str) -> None:
    data = written(tmp_path)
    (tmp_path / JOURNAL).write_bytes(line + data)
    with pytest.raises(StudyError, match=f"line 1: found a line that is {found}"):
        read_journal(tmp_path)


def test_read_journal__line_lost__said(tmp_path: Path) -> None:
    data = written(tmp_path)
    (tmp_path / JOURNAL).write_bytes(data[data.index(b"\n") + 1 :])
    with pytest.raises(StudyError, match="found entry 2; expected entry 1"):
        read_journal(tmp_path)
