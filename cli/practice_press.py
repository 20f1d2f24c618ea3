"""A study and what is asked for -> the simulated press that it is practiced on."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from shotwindow.cli.practice_file import Practice, read_practice
from shotwindow.cli.wording import numbers
from shotwindow.doe.errors import StudyError, guess
from shotwindow.doe.factors import Factor
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study
from shotwindow.models.families import FAMILIES
from shotwindow.models.presets import PRESETS, preset
from shotwindow.models.press import STANDARD, Press
from shotwindow.models.presses import press_for


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
        expected = f"the press that it is practiced on: {begun.by}"
        raise StudyError.one(str(folder), found, expected, "practice in a new folder")
    return begun


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
    if practice.made_for is not None:
        return _press_of_class(study, practice, practice.made_for)
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


def _press_of_class(study: Study, practice: Practice, made_for: Study) -> Press:
    """Return the press of a class for one team, which may have chosen other ranges and steps."""
    press = practice_press(made_for, replace(practice, made_for=None))
    ours, theirs = (
        [(f.name, f.unit, f.reads) if f.name in STANDARD else _as_it_is(f) for f in one.factors]
        for one in (made_for, study)
    )
    if ours != theirs or made_for.cavities != study.cavities:
        raise StudyError.one(
            "study.toml, for the press of the class",
            f"{_told(study)}",
            f"{_told(made_for)}, in this order and with the ranges of factors that are not usual",
            "take them from the study.toml of the class; other ranges of usual factors are fine",
        )
    return replace(press, factors=study.factors)


def _as_it_is(factor: Factor) -> tuple[str, ...]:
    """Return what sets the effect of a factor that is not a standard one on a press."""
    return (factor.name, factor.unit, factor.acts_as or "", f"{factor.low:g} to {factor.high:g}")


def _told(study: Study) -> str:
    names = ", ".join(factor.label for factor in study.factors)
    return f"the factors {names} and cavities = {study.cavities}"
