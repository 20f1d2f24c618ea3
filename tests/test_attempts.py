"""confirm.json is read back as it was written, and told when it is not."""

from pathlib import Path

import pytest

from shotwindow.doe.attempts import Attempt, read_attempts, write_attempts
from shotwindow.doe.errors import StudyError

ONE = Attempt(1, 0.9, 0.95, 1, 3, (4.2, 220.0), ((4.0, 215.0),), (41, 42, 43), 0.7, 5, "weak", "ab")


def test_attempts__written_and_read__the_same(tmp_path: Path) -> None:
    assert read_attempts(tmp_path) == ()
    write_attempts(tmp_path, [ONE])
    assert read_attempts(tmp_path) == (ONE,)


def test_attempts__damaged_file__told(tmp_path: Path) -> None:
    (tmp_path / "confirm.json").write_text('{"schema": 1, "attempts": [{"number": 1}]}')
    with pytest.raises(StudyError, match=r"confirm\.json"):
        read_attempts(tmp_path)
