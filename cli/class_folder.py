"""A class's folder -> a folder for each team, all with its study, and the shots of all teams."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from shotwindow.cli.console import hint, say, show
from shotwindow.cli.practice_file import (
    CLASS_FILE,
    PRACTICE_FILE,
    Class,
    Practice,
    keep_class,
    keep_practice,
    read_class,
    read_practice,
)
from shotwindow.cli.practice_press import practice_press
from shotwindow.cli.simulated import shoot_folder
from shotwindow.doe.errors import Problem, StudyError, Unanswerable
from shotwindow.doe.plan_file import PLAN_FILE
from shotwindow.doe.store import disk_told, one_writer, write_whole
from shotwindow.doe.study import read_study
from shotwindow.models.presets import PRESETS
from shotwindow.reports.documents import json_text
from shotwindow.reports.naming import plural
from shotwindow.reports.words import columns

_COPIED = ("study.toml", "cards.csv")
_NOT_IN_NAMES = '/\\:*?"<>|'  # no system's folders are called so


def practice_class(folder: Path, asked: Mapping[str, Any], *, as_json: bool) -> None:
    """Make a class or a team of it, or make the shots of its teams, whichever is asked for.

    Parameters
    ----------
    folder : Path
    asked : mapping
        The options of `practice`, None or False where they were not given.

    Raises
    ------
    StudyError
        If the truth is asked for, which a class tells with its page.
    """
    kept, team = read_class(folder), asked["team"]
    if asked["reveal"]:
        do = f"shotwindow practice {folder} --collect --reveal"
        raise StudyError.one(str(folder), "--reveal alone", "--collect with it, for a class", do)
    if kept is None or asked["teams"] is not None or (team and not (folder / team).is_dir()):
        return make_class(folder, asked, as_json=as_json)
    _begun(folder, asked)
    if team is not None and team not in kept.teams:
        raise StudyError.one("--team", team, f"one of {', '.join(kept.teams)}, or a new name")
    shoot_class(folder, kept, team, one=asked["one"], as_json=as_json)


def make_class(folder: Path, asked: Mapping[str, Any], *, as_json: bool) -> None:
    """Make the folders of a class's teams, as far as they are not there yet, and print them.

    Parameters
    ----------
    folder : Path
        Holds the study.toml that all teams begin with.
    asked : mapping
        `teams`: how many are asked for, or None; `team`: one that is to be added, or None;
        `press`, `seed` and `own` as in `Class`, or None.

    Raises
    ------
    StudyError
        If there is no study, another press is asked for than the class has, or a folder is in
        the way.
    """
    study = read_study(folder)
    with one_writer(folder):
        begun = _begun(folder, asked)
        names = [] if asked["teams"] is None else _names(asked["teams"])
        names += [] if asked["team"] is None else [asked["team"]]
        teams = tuple(dict.fromkeys([*begun.teams, *names]))
        kept = replace(begun, teams=teams)
        _check_names(folder, set(teams) - set(begun.teams))
        for practice in {p.seed: p for p in (kept.practice(t, study) for t in teams)}.values():
            practice_press(study, practice)  # a press that does not fit is told before any folder
        keep_class(folder, kept)
        for team in teams:
            _make_folder(folder, kept.practice(team, study))
    if as_json:
        show(json_text({"teams": [str(folder / team) for team in teams], **_press(kept)}))
    else:
        show(f"{plural(len(teams), 'team')} in {folder}, each with the study of {folder}:")
        show("\n".join(f"  {folder / team}" for team in teams))
    if asked["seed"] is None and not begun.teams:
        text = f"the seed is {kept.seed}; with --seed and a number of your own nobody can guess it."
        say(text, kind="warning")
    say(f"{folder / CLASS_FILE} tells the press; keep it from the teams.")
    hint(
        f"each team plans (shotwindow plan {folder / teams[0]}), then: shotwindow practice {folder}"
    )


def _press(kept: Class) -> dict[str, object]:
    return {"press": kept.press, "seed": kept.seed, "own": kept.own}


def _begun(folder: Path, asked: Mapping[str, Any]) -> Class:
    """Return the class as it is there, or a new one without teams."""
    wished = {key: asked[key] for key in ("press", "seed") if asked[key] is not None}
    wished |= {"own": True} if asked["own"] else {}
    begun = read_class(folder)
    if begun is not None:
        if any(getattr(begun, key) != value for key, value in wished.items()):
            found = ", ".join(f"--{key} {value}" for key, value in wished.items())
            do = f"leave them away, or make another class; {CLASS_FILE} tells what this one has"
            raise StudyError.one(str(folder), found, "the press that this class has", do)
        return begun
    if (folder / PRACTICE_FILE).exists():
        do = "make the class in a new folder"
        raise StudyError.one(
            str(folder / PRACTICE_FILE), "a study by itself", "only a study.toml", do
        )
    new = replace(Class("A", 1, False, ()), **wished)
    if new.own and new.press in PRESETS:
        expected = "--press A or B, of which there are as many as teams"
        raise StudyError.one("--own", f"--press {new.press}, always the same", expected)
    return new


def _names(count: int) -> list[str]:
    return [f"team-{number:02d}" for number in range(1, count + 1)]


def _check_names(folder: Path, new: set[str]) -> None:
    """Refuse names that are no names of folders, and folders that hold something else."""
    problems = []
    for team in sorted(new):
        if set(team) & set(_NOT_IN_NAMES) or team.strip(". ") != team or team in ("", "out"):
            expected = "a name that a folder can have, such as red or team-03"
            problems.append(Problem("--team", repr(team), expected))
        elif (folder / team).exists():
            do = "move it away, or take another name"
            problems.append(Problem(str(folder / team), "something", "no such folder yet", do))
    if problems:
        raise StudyError(problems)


def _make_folder(folder: Path, practice: Practice) -> None:
    """Make the folder of one team; what it holds already stays."""
    path = folder / practice.team
    with disk_told(path):
        path.mkdir(exist_ok=True)
    for name in _COPIED:
        if (folder / name).is_file() and not (path / name).exists():
            write_whole(path / name, (folder / name).read_bytes())
    if not (path / PRACTICE_FILE).exists():
        keep_practice(path, practice)


@dataclass(frozen=True)
class Shot:
    """What was made of one team's plan.

    Attributes
    ----------
    team : str
    made : int
        Shots made just now.
    left : int or None
        Shots still to be made; None where that cannot be told.
    problem : str
        Why nothing was made; empty where nothing is wrong.
    """

    team: str
    made: int
    left: int | None
    problem: str


def shoot_class(folder: Path, kept: Class, only: str | None, *, one: bool, as_json: bool) -> None:
    """Make the shots that the teams have planned, or one team's, and print how many.

    A team whose folder needs mending is told, and keeps no other team waiting.
    """
    study = read_study(folder)
    teams = kept.teams if only is None else (only,)
    shot = [_shoot_team(folder / team, kept.practice(team, study), one=one) for team in teams]
    if as_json:
        show(json_text({"teams": [asdict(each) for each in shot]}))
    else:
        rows = [(each.team, plural(each.made, "shot"), _left(each)) for each in shot]
        show("\n".join(columns([("team", "made now", "still to be made"), *rows])))
    for each in shot:
        if each.problem:
            say(f"{each.team}: {each.problem}", kind="warning")
    hint(f"shotwindow practice {folder} --collect")


def _left(shot: Shot) -> str:
    return "not known" if shot.left is None else str(shot.left)


def _shoot_team(path: Path, practice: Practice, *, one: bool) -> Shot:
    try:
        _check_team(path)
        made, rows = shoot_folder(path, read_study(path), practice, one=one)
    except (StudyError, Unanswerable) as fault:
        return Shot(practice.team, 0, None, str(fault))
    return Shot(practice.team, len(made), sum(row.outcome == "open" for row in rows), "")


def _check_team(path: Path) -> None:
    """Refuse a folder that is gone, has no plan, or was practiced on another press."""
    if not path.is_dir():
        do = f"shotwindow practice {path.parent} --team {path.name} makes it again"
        raise StudyError.one(str(path), "no such folder", "the folder of a team", do)
    practice = read_practice(path)
    if practice is None or not practice.in_class:
        raise StudyError.one(
            str(path / PRACTICE_FILE),
            "nothing of the class" if practice is None else "a press of its own",
            "the mark of the class, as it was made",
            "begin again with a folder of the class",
        )
    if not (path / PLAN_FILE).exists():
        do = f"shotwindow plan {path}"
        raise StudyError.one(str(path / PLAN_FILE), "no plan yet", "a plan", do)
