"""Attempts to confirm a setpoint <-> confirm.json: what each is to show, fixed beforehand."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, ValidationError

from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.rows import Row
from shotwindow.doe.store import write_whole
from shotwindow.doe.study_problems import problems_of
from shotwindow.doe.study_tables import Table

ATTEMPTS_FILE = "confirm.json"
KIND = "confirm"
_SCHEMA = 1
MEND = "put back a copy of it; it is not for editing"

_Share = Annotated[float, Field(gt=0, lt=1)]
_Count = Annotated[int, Field(ge=1)]
_Settings = Annotated[list[float], Field(min_length=1)]


@dataclass(frozen=True)
class Attempt:
    """One attempt; all that its verdict hangs on but the shots themselves.

    Attributes
    ----------
    number : int
        From one.
    reliability, confidence : float
    failures, groups : int
    setpoint : tuple of float
    corners : tuple of tuple of float
        Challenge settings, one shot each.
    shots : tuple of int
        Numbers of its rows in runs.csv, warm-up shots left out.
    chance : float
        Of passing, as it was seen before the shots.
    seed : int
    prior : str
        What was believed before the shots by the fit that predicted it.
    fingerprint : str
        Of the data behind that fit.
    """

    number: int
    reliability: float
    confidence: float
    failures: int
    groups: int
    setpoint: tuple[float, ...]
    corners: tuple[tuple[float, ...], ...]
    shots: tuple[int, ...]
    chance: float
    seed: int
    prior: str
    fingerprint: str

    @property
    def block(self) -> str:
        """Name of its block in runs.csv."""
        return f"{KIND} {self.number}"

    def before(self, rows: Sequence[Row]) -> tuple[Row, ...]:
        """Return the rows that came before it: those that predicted its shots."""
        return tuple(row for row in rows if row.shot < self.shots[0])

    def own(self, rows: Sequence[Row]) -> tuple[Row, ...]:
        """Return its own rows."""
        numbers = set(self.shots)
        return tuple(row for row in rows if row.shot in numbers)


def read_attempts(folder: Path) -> tuple[Attempt, ...]:
    """Return all attempts of a study, the first one first; none where there is no file.

    Raises
    ------
    StudyError
        If the file is not as it was written.
    """
    path = folder / ATTEMPTS_FILE
    if not path.exists():
        return ()
    try:
        fields: dict[str, Any] = json.loads(path.read_bytes())
        if fields["schema"] > _SCHEMA:
            raise StudyError.one(str(path), "a file of a newer shotwindow", f"schema {_SCHEMA}")
        told = list(fields["attempts"])
    except (ValueError, KeyError, TypeError) as fault:
        raise StudyError.one(str(path), "something else", "attempts to confirm", MEND) from fault
    problems = [
        p for n, one in enumerate(told, 1) for p in _problems(one, n, f"{path} attempt {n}")
    ]
    if problems:
        raise StudyError([replace(problem, do=MEND) for problem in problems])
    return tuple(_attempt(one) for one in told)


class _Fields(Table):
    """What the file holds of one attempt; which priors there are is known to who fits."""

    number: _Count
    reliability: _Share
    confidence: _Share
    failures: int = Field(ge=0)
    groups: _Count
    setpoint: _Settings
    corners: list[_Settings]
    shots: Annotated[list[_Count], Field(min_length=1)]
    chance: float = Field(ge=0, le=1)
    seed: int
    prior: str
    fingerprint: str


def _problems(fields: object, number: int, place: str) -> list[Problem]:
    """Return what is wrong with an attempt: no two may have one number, nor may one be missing."""
    if not isinstance(fields, dict):
        return [Problem(place, "something else", "an attempt to confirm")]
    try:
        own = _Fields.model_validate(fields).number
    except ValidationError as error:
        return problems_of(error, _Fields, place)
    return [] if own == number else [Problem(f"{place} number", f"{own}", f"{number}")]


def _attempt(fields: dict[str, Any]) -> Attempt:
    return Attempt(
        **{
            **fields,
            "setpoint": tuple(fields["setpoint"]),
            "corners": tuple(tuple(corner) for corner in fields["corners"]),
            "shots": tuple(fields["shots"]),
        }
    )


def write_attempts(folder: Path, attempts: Sequence[Attempt]) -> None:
    """Write all attempts of a study."""
    fields = {"schema": _SCHEMA, "attempts": [asdict(attempt) for attempt in attempts]}
    text = json.dumps(fields, ensure_ascii=False, indent=2) + "\n"
    write_whole(folder / ATTEMPTS_FILE, text.encode())
