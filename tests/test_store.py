import errno
import os
import stat
import time
from pathlib import Path

import pytest

from shotwindow.doe.errors import StudyError
from shotwindow.doe.store import disk_told, fingerprint, one_writer, write_whole


def refuse(*_: object) -> None:
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_write_whole__failing_disk__old_file_intact(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "runs.csv"
    write_whole(path, b"old")
    monkeypatch.setattr(os, step, refuse)
    with pytest.raises(StudyError, match="No space left on device"):
        write_whole(path, b"new and longer")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("rights", [0o664, 0o757])
def test_write_whole__new_text__complete_and_with_the_old_rights(
    tmp_path: Path, rights: int
) -> None:
    path = tmp_path / "runs.csv"
    write_whole(path, b"old")
    path.chmod(rights)
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert stat.S_IMODE(path.stat().st_mode) == rights


def test_write_whole__link__stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    link = tmp_path / "runs.csv"
    link.symlink_to(tmp_path / "there" / "runs.csv")
    write_whole(link, b"new")
    assert link.is_symlink()
    assert (tmp_path / "there" / "runs.csv").read_bytes() == b"new"


def test_one_writer__second__clear_message_and_free_again(tmp_path: Path) -> None:
    with one_writer(tmp_path):
        with pytest.raises(StudyError, match="go on in that window, or leave it there"):
            with one_writer(tmp_path):
                pass
    with one_writer(tmp_path):
        pass


def test_one_writer__second__told_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def wait(_: float) -> None:
        raise AssertionError("nobody waits for the other one")

    monkeypatch.setattr(time, "sleep", wait)
    with one_writer(tmp_path), pytest.raises(StudyError, match="is writing to this study"):
        with one_writer(tmp_path):
            pass


@pytest.mark.parametrize(
    ("fault", "found", "do"),
    [
        (OSError(errno.ENOSPC, "full", "runs.csv"), "(full)", "make room on the disk"),
        (OSError(errno.EROFS, "only read", "runs.csv"), "(only read)", "copied to where you may"),
        (OSError(errno.EIO, "worn out", "runs.csv"), "(worn out)", "see that the disk is there"),
        (OSError("cut off"), "(cut off)", "see that the disk is there"),
    ],
)
def test_disk_told__each_fault__what_was_said_of_it_and_what_to_do(
    fault: OSError, found: str, do: str
) -> None:
    with pytest.raises(StudyError) as told, disk_told(Path("runs.csv")):
        raise fault
    assert found in str(told.value) and do in str(told.value)


def test_one_writer__no_folder__said(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="no such folder"):
        with one_writer(tmp_path / "none"):
            pass


def test_fingerprint__sha_256_of_nothing() -> None:
    # FIPS 180-4 gives the algorithm; this digest of the empty message is from memory.
    empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert fingerprint(b"") == empty
