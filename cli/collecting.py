"""The folders of a class -> what each team found, and one page with all of them."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from shotwindow.cli.console import hint, show
from shotwindow.cli.practice_file import Practice, read_class, read_practice
from shotwindow.cli.practice_press import practice_press
from shotwindow.cli.revealing import spent
from shotwindow.cli.wording import numbers
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cautions import CAUTIONS, cautions
from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.plan_file import PLAN_FILE, read_plan
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_runs
from shotwindow.doe.store import disk_told, write_whole
from shotwindow.doe.study import read_study
from shotwindow.models.scoring import score
from shotwindow.reports.class_page import class_html
from shotwindow.reports.class_words import class_document, class_lines
from shotwindow.reports.classroom import Classroom, Team, classroom
from shotwindow.reports.documents import json_text
from shotwindow.reports.findings import read_findings
from shotwindow.reports.naming import plural
from shotwindow.reports.verdicts import fit_failed


def collect(folder: Path, *, reveal: bool, as_json: bool) -> None:
    """Write the page of a class, out/class.html, and print what is on it.

    Parameters
    ----------
    folder : Path
        Of a class; or one in whose folders teams keep studies of their own, shot on a real press
        or on simulated ones.
    reveal : bool
        Tell the truth about the press, too, and how near each team came.

    Raises
    ------
    StudyError
        If there is no team, or the page cannot be written.
    """
    room = _read_room(folder, reveal=reveal)
    path = folder / "out" / "class.html"
    with disk_told(path.parent):
        path.parent.mkdir(exist_ok=True)
    write_whole(path, class_html(room, _cautions(room, folder)).encode())
    if as_json:
        return show(json_text({**class_document(room), "files": [str(path)]}))
    show("\n".join(class_lines(room)))
    show(f"Wrote {path}")
    if not reveal:
        hint(f"talk about it, then: shotwindow practice {folder} --collect --reveal")


def _read_room(folder: Path, *, reveal: bool) -> Classroom:
    kept = read_class(folder)
    title = folder.resolve().name
    if kept is not None:
        names = kept.teams
        title = read_study(folder).title or title
    else:
        names = tuple(sorted(path.parent.name for path in folder.glob("*/study.toml")))
    if not names:
        expected = "a class, or folders with studies"
        do = f"shotwindow practice {folder} --class 6 makes a class of six"
        raise StudyError.one(str(folder), "no team", expected, do)
    return classroom(
        title, [read_team(folder / name, reveal=reveal) for name in names], told=reveal
    )


def _cautions(room: Classroom, folder: Path) -> tuple[str, ...]:
    """Return the cautions for the work at a press: the same page may be about a real one."""
    studies = [team.found.study for team in room.teams if team.found is not None]
    said = [cautions(one, find_card(one.material.name, folder)) for one in studies] or [CAUTIONS]
    return tuple(dict.fromkeys(caution for each in said for caution in each))


def read_team(path: Path, *, reveal: bool) -> Team:
    """Return what a team spent and found; whatever is wrong with its folder is said in a remark."""
    team = Team(path.name)
    if not path.is_dir():
        return replace(team, remarks=("its folder is gone.",))
    if not (path / PLAN_FILE).exists():
        return replace(team, remarks=("no plan yet.",))
    try:
        study = read_study(path)
        rows = read_runs(path, study)
        shots, minutes = spent(study, rows)
        left = sum(row.outcome == "open" for row in rows)
        plan = read_plan(path).kind
        team = replace(team, plan=plan, shots=shots, minutes=minutes, left=left)
        return _answered(path, team, rows, reveal=reveal) if shots else team
    except (StudyError, Unanswerable) as fault:
        return replace(team, remarks=(*team.remarks, f"{fault}.".replace("\n", "; ")))
    except OSError as fault:
        told = f"its files cannot be read ({fault.strerror or fault})."
        return replace(team, remarks=(*team.remarks, told))


def _answered(path: Path, team: Team, rows: Sequence[Row], *, reveal: bool) -> Team:
    """Return a team with what it found, and with the truth where it is to be told."""
    practice = read_practice(path)
    team = replace(team, remarks=_strangers(rows, practice))
    found = read_findings(path)
    if found.window is None:
        return replace(team, found=found, remarks=(*team.remarks, fit_failed(found)))
    team = replace(team, found=found)
    if not reveal or practice is None:
        return team
    press = practice_press(found.study, practice)
    near = score(press, found.study, found.window, found.setpoint)
    return replace(team, press=press, made_by=practice.told, score=near)


def _strangers(rows: Sequence[Row], practice: Practice | None) -> tuple[str, ...]:
    """Return a remark on shots that the simulated press did not make, if there are any."""
    if practice is None:
        return ()
    made = [row for row in rows if row.outcome in ("ok", "no part", "void")]
    others = [row.shot for row in made if row.by != practice.by]
    told = f"its simulated press did not make {plural(len(others), 'shot')}: {numbers(others)}."
    return (told,) if others else ()
