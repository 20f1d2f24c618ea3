"""Which press a study is practiced on, as kept in its folder; in a class, as the class keeps it.

A team's folder may be looked at by the team. So it only says that it belongs to a class; press and
seed stand in class.json, in the folder above it, which whoever teaches may keep elsewhere.
"""

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shotwindow.doe.errors import StudyError
from shotwindow.doe.seeds import generator
from shotwindow.doe.store import write_whole
from shotwindow.doe.study import Study, read_study

PRACTICE_FILE = "practice.json"
CLASS_FILE = "class.json"
_SCHEMA = 1


@dataclass(frozen=True)
class Practice:
    """Which press a study is practiced on: everything that its shots follow from.

    Attributes
    ----------
    press : str
        "A" or "B" for a random press of that family, or the name of a preset.
    seed : int
        Of the press where it is a random one, and of the scatter.
    team : str
        Teams with the same seed have the same press and each its own scatter.
    made_for : Study or None
        In a class the study that the press was made for, whatever a team makes of its own; None
        for a study by itself.
    """

    press: str
    seed: int
    team: str
    made_for: Study | None = None

    @property
    def in_class(self) -> bool:
        """Whether the press is that of a class, of which its teams are told nothing."""
        return self.made_for is not None

    @property
    def by(self) -> str:
        """Who is said to have made the shots."""
        if self.in_class:
            return f"simulated press of the class, {self.team}"
        return self.told + (f", team {self.team}" if self.team else "")

    @property
    def told(self) -> str:
        """Press and seed, for when the truth is told."""
        return f"simulated press {self.press}, seed {self.seed}"

    @property
    def chance(self) -> int:
        """Seed of everything that nobody set."""
        return int(generator(self.seed, "practice", self.team).integers(2**31))


@dataclass(frozen=True)
class Class:
    """A class: its press, and the names of its teams, which are those of their folders.

    Attributes
    ----------
    press : str
        As in `Practice`.
    seed : int
        Of all presses and all luck of this class.
    own : bool
        Whether each team has a press of its own.
    teams : tuple of str
    """

    press: str
    seed: int
    own: bool
    teams: tuple[str, ...]

    def practice(self, team: str, made_for: Study) -> Practice:
        r"""Return the press of one team.

        Examples
        --------
        >>> from shotwindow.cli.practice_file import Class
        >>> from shotwindow.doe.study import parse_study
        >>> pressure = 'unit = "bar"\nlow = 3\nhigh = 5\nstep = 0.1'
        >>> study = parse_study(f"[factors.pressure]\n{pressure}")
        >>> both = [Class("A", 7, False, ()).practice(team, study) for team in ("red", "blue")]
        >>> len({one.seed for one in both}), len({one.chance for one in both})
        (1, 2)
        """
        # drawn, so that nobody meets this press by practicing alone with the same small seed
        whose = team if self.own else ""
        seed = int(generator(self.seed, "press of a class", whose).integers(2**31))
        return Practice(self.press, seed, team, made_for)


def read_practice(folder: Path) -> Practice | None:
    """Return the press on which a study is practiced; None where none was chosen yet.

    Raises
    ------
    StudyError
        If the file is not one of ours, or the study is that of a team whose class is not above it.
    """
    path = folder / PRACTICE_FILE
    if not path.exists():
        return None
    fields = _read(path, "a practice press")
    if fields.get("class") is True:
        return _of_class(folder.resolve())
    with _told(path, "a practice press"):
        return Practice(str(fields["press"]), int(fields["seed"]), str(fields["team"]))


def _of_class(folder: Path) -> Practice:
    """Return the press of a team's folder, from the class's folder above it."""
    found = read_class(folder.parent)
    if found is None or folder.name not in found.teams:
        raise StudyError.one(
            str(folder / PRACTICE_FILE),
            f"the team {folder.name} of a class, and above its folder no class with that team",
            f"the folder of the class, with its {CLASS_FILE}",
            "hand this folder in: its shots are made where the class's folder is",
        )
    return found.practice(folder.name, read_study(folder.parent))


def keep_practice(folder: Path, practice: Practice) -> None:
    """Write down on which press a study is practiced; of a class's press nothing but that."""
    kept: dict[str, Any] = {"class": True, "team": practice.team}
    if not practice.in_class:
        kept = {"press": practice.press, "seed": practice.seed, "team": practice.team}
    _write(folder / PRACTICE_FILE, kept)


def read_class(folder: Path) -> Class | None:
    """Return the class that is kept in a folder; None where there is none.

    Raises
    ------
    StudyError
        If the file is not one of ours.
    """
    path = folder / CLASS_FILE
    if not path.exists():
        return None
    fields = _read(path, "a class")
    with _told(path, "a class"):
        teams = tuple(str(team) for team in fields["teams"])
        return Class(str(fields["press"]), int(fields["seed"]), bool(fields["own"]), teams)


def keep_class(folder: Path, kept: Class) -> None:
    """Write down the press of a class and its teams."""
    _write(folder / CLASS_FILE, vars(kept))


def _write(path: Path, fields: Mapping[str, Any]) -> None:
    text = json.dumps({"schema": _SCHEMA, **fields}, ensure_ascii=False)
    write_whole(path, f"{text}\n".encode())


def _read(path: Path, expected: str) -> dict[str, Any]:
    with _told(path, expected):
        return dict(json.loads(path.read_bytes()))


@contextmanager
def _told(path: Path, expected: str) -> Iterator[None]:
    """Turn a file that holds something else into a message."""
    try:
        yield
    except (ValueError, KeyError, TypeError) as fault:
        do = "it is not for editing; practice in a new folder"
        raise StudyError.one(str(path), "something else", expected, do) from fault
