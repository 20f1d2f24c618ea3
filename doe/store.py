"""Bytes -> a file that is whole or not written at all, by one writer at a time.

A file is replaced by writing its new text beside it, forcing that to the disk and then renaming,
so that a crash leaves the old file or the new one and never half of one.
"""

import errno
import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from shotwindow.doe.errors import StudyError

_LOCK = "journal.lock"
_MAKE_ROOM = "make room on the disk, and try again; what was accepted before is safe"
_GET_RIGHT = (
    "close the file if a spreadsheet has it open, and try again; a folder that may only be read "
    "has to be copied to where you may write"
)
_DO = dict.fromkeys((errno.ENOSPC, errno.EDQUOT, errno.EFBIG), _MAKE_ROOM)
_DO |= dict.fromkeys((errno.EACCES, errno.EPERM, errno.EROFS), _GET_RIGHT)


def fingerprint(data: bytes) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


@contextmanager
def one_writer(folder: Path) -> Iterator[None]:
    """Keep every other program from writing to a study for as long as this lasts.

    Raises
    ------
    StudyError
        If another one is writing already, or the folder cannot be written to.
    """
    from filelock import FileLock, Timeout

    with disk_told(folder / _LOCK):
        if not folder.is_dir():
            raise StudyError.one(str(folder), "no such folder", "a folder with a study")
        lock = FileLock(folder / _LOCK, timeout=0)
        try:
            lock.acquire()
        except Timeout as fault:
            raise StudyError.one(
                str(folder),
                "another shotwindow that is writing to this study",
                "one at a time",
                "go on in that window, or leave it there (q; Ctrl-C where it serves a page) and "
                "start again here",
            ) from fault
    try:
        yield
    finally:
        lock.release()


def write_whole(path: Path, data: bytes) -> None:
    """Replace a file by new bytes, all or nothing.

    Raises
    ------
    StudyError
        If it cannot be written; the old file is then as it was.
    """
    path = path.resolve()  # a link stays a link
    beside = path.with_name(f".{path.name}.part")
    with disk_told(path):
        try:
            with open(beside, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            if path.exists():
                os.chmod(beside, path.stat().st_mode & 0o777)
            os.replace(beside, path)
        except OSError:
            with suppress(OSError):
                beside.unlink()
            raise
        settle(path.parent)


def settle(folder: Path) -> None:
    """Force a new or changed name in a folder to the disk, where the system can do that."""
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


@contextmanager
def disk_told(path: Path) -> Iterator[None]:
    """Turn a disk that does not take what is written to it into a message."""
    try:
        yield
    except OSError as fault:
        raise StudyError.one(
            str(path),
            f"a file that cannot be written ({fault.strerror or fault})",
            "a disk with room and the right to write",
            _DO.get(fault.errno or 0, "see that the disk is there and sound, and try again"),
        ) from fault
