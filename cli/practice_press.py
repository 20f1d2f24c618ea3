"""A study and what is asked for -> the simulated press that it is practiced on, kept in a file."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from shotwindow.cli.wording import numbers
from shotwindow.doe.errors import StudyError, guess
from shotwindow.doe.rows import Row
from shotwindow.doe.seeds import generator
from shotwindow.doe.store import write_whole
from shotwindow.doe.study import Study
from shotwindow.models.families import FAMILIES
from shotwindow.models.presets import PRESETS, preset
from shotwindow.models.press import Press
from shotwindow.models.presses import press_for

PRACTICE_FILE = "practice.json"
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
    """

    press: str
    seed: int
    team: str

    @property
    def by(self) -> str:
        """Who is said to have made the shots."""
        return f"simulated press {self.press}, seed {self.seed}" + (
            f", team {self.team}" if self.team else ""
        )

    @property
    def chance(self) -> int:
        """Seed of everything that nobody set."""
        return int(generator(self.seed, "practice", self.team).integers(2**31))


def read_practice(folder: Path) -> Practice | None:
    """Return the press on which a study is practiced; None where none was chosen yet."""
    path = folder / PRACTICE_FILE
    if not path.exists():
        return None
    try:
        fields = json.loads(path.read_bytes())
        return Practice(str(fields["press"]), int(fields["seed"]), str(fields["team"]))
    except (ValueError, KeyError, TypeError) as fault:
        do = "it is not for editing; practice in a new folder"
        raise StudyError.one(str(path), "something else", "a practice press", do) from fault


def choose_practice(folder: Path, rows: Sequence[Row], asked: Mapping[str, Any]) -> Practice:
    """Return the press on which a study is practiced.

    Parameters
    ----------
    folder : Path
    rows : sequence of Row
        As far as they are recorded.
    asked : mapping
        Press, seed and team that are asked for, each None if not; a study stays with the press
        that made its first shot.

    Raises
    ------
    StudyError
        If another press made shots of this study, or a real one did.
    """
    begun = read_practice(folder)
    if begun is None:
        _check_untouched(rows)
        given = {key: value for key, value in asked.items() if value is not None}
        return replace(Practice("A", 1, ""), **given)
    other = {key: v for key, v in asked.items() if v not in (None, getattr(begun, key))}
    if other:
        found = ", ".join(f"--{key} {value}" for key, value in other.items())
        expected = f"the press that made the first shots: {begun.by}"
        raise StudyError.one(str(folder), found, expected, "practice in a new folder")
    return begun


def keep_practice(folder: Path, practice: Practice) -> None:
    """Write down on which press a study is practiced."""
    text = json.dumps({"schema": _SCHEMA, **vars(practice)}, ensure_ascii=False)
    write_whole(folder / PRACTICE_FILE, f"{text}\n".encode())


def _check_untouched(rows: Sequence[Row]) -> None:
    """Refuse to mix simulated shots with those of a real press."""
    real = [row.shot for row in rows if row.outcome in ("ok", "no part", "void")]
    if real:
        found = f"shots that no simulated press made ({numbers(real)})"
        do = "copy study.toml to a new folder and practice there"
        raise StudyError.one("runs.csv", found, "no recorded shots", do)


def practice_press(study: Study, practice: Practice) -> Press:
    """Return the press, fit for the factors, units and cavities of a study.

    Raises
    ------
    StudyError
        If there is no such press, or it cannot take this study.
    """
    if practice.press in FAMILIES:
        return press_for(study, practice.press, practice.seed)
    if practice.press not in PRESETS:
        known = (*FAMILIES, *PRESETS)
        meant = guess(practice.press, known)
        do = f"did you mean {meant}?" if meant else ""
        raise StudyError.one("--press", practice.press, f"one of {', '.join(known)}", do)
    press = preset(practice.press)
    names = {factor.name for factor in press.factors}
    if names != set(study.names) or press.cavities != study.cavities:
        expected = f"the factors {', '.join(sorted(names))} and cavities = {press.cavities}"
        found = f"{', '.join(study.names)} and {study.cavities}"
        do = f"take --press {' or '.join(FAMILIES)}, which fit any study"
        raise StudyError.one(f"the study, for the press {practice.press}", found, expected, do)
    masses = study.mold.full_mass_g or press.full_mass_g
    return replace(press, factors=study.factors, full_mass_g=masses)
