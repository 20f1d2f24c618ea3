"""confirm.json is read back as it was written, and told when it is not."""

import json
from pathlib import Path

import pytest

from shotwindow.doe.attempts import Attempt, read_attempts, write_attempts
from shotwindow.doe.errors import StudyError

ONE = Attempt(1, 0.9, 0.95, 1, 3, (4.2, 220.0), ((4.0, 215.0),), (41, 42, 43), 0.7, 5, "weak", "ab")


def test_attempts__written_and_read__the_same(tmp_path: Path) -> None:
    assert read_attempts(tmp_path) == ()
    write_attempts(tmp_path, [ONE])
    assert read_attempts(tmp_path) == (ONE,)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"schema": 1}', '{"schema": 1, "attempts": 3}',
                                  '{"schema": "1", "attempts": []}'])  # fmt: skip
def test_attempts__no_such_file__told(text: str, tmp_path: Path) -> None:
    (tmp_path / "confirm.json").write_text(text)
    with pytest.raises(StudyError, match=r"confirm\.json: found something else") as caught:
        read_attempts(tmp_path)
    assert "not for editing" in str(caught.value)


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("number", 2, "attempt 1 number: found 2; expected 1"),
        ("reliability", 1.0, "attempt 1 reliability: found 1.0; expected less than 1"),
        ("confidence", "0.9", 'attempt 1 confidence: found "0.9"; expected a number'),
        ("failures", -1, "attempt 1 failures: found -1; expected 0 or more"),
        ("groups", 0, "attempt 1 groups: found 0; expected 1 or more"),
        ("setpoint", [], "attempt 1 setpoint: found []; expected a number or more"),
        ("setpoint", None, "attempt 1 setpoint: found None; expected a list"),
        ("corners", [["x"]], 'attempt 1 corners, number 1: found "x"; expected a number'),
        ("shots", [], "attempt 1 shots: found []; expected a number or more"),
        ("shots", [41, 4.5], "attempt 1 shots, number 2: found 4.5; expected a whole number"),
        ("chance", float("nan"), "attempt 1 chance: found nan; expected a finite number"),
        ("seed", "1", 'attempt 1 seed: found "1"; expected a whole number'),
        ("prior", 3, "attempt 1 prior: found 3; expected text"),
        ("fingerprint", None, "attempt 1 fingerprint: found None; expected text"),
        ("cavity", 3, "attempt 1 cavity: found an unknown key"),
    ],
)
def test_attempts__damaged_field__named_with_what_belongs_there(
    field: str, value: object, told: str, tmp_path: Path
) -> None:
    write_attempts(tmp_path, [ONE])
    kept = json.loads((tmp_path / "confirm.json").read_text())
    kept["attempts"][0][field] = value
    (tmp_path / "confirm.json").write_text(json.dumps(kept))
    with pytest.raises(StudyError) as caught:
        read_attempts(tmp_path)
    (problem,) = caught.value.problems
    assert told in str(problem) and problem.do == "put back a copy of it; it is not for editing"


def test_attempts__fields_left_out__all_told_at_once(tmp_path: Path) -> None:
    (tmp_path / "confirm.json").write_text('{"schema": 1, "attempts": [{"number": 1}, 5]}')
    with pytest.raises(StudyError) as caught:
        read_attempts(tmp_path)
    said = [str(problem) for problem in caught.value.problems]
    assert len(said) == 12 and "attempt 1 reliability: found nothing" in said[0]
    assert "attempt 2: found something else; expected an attempt to confirm" in said[-1]


def test_attempts__of_a_newer_program__told(tmp_path: Path) -> None:
    (tmp_path / "confirm.json").write_text('{"schema": 9, "attempts": []}')
    with pytest.raises(StudyError, match="a newer shotwindow"):
        read_attempts(tmp_path)
