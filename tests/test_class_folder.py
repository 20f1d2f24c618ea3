"""A class: its folders, what they keep to themselves, its shots, and its page."""

import json
import shutil
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner, Result
from invented_shots import STUDIES

from shotwindow.cli.main import shotwindow
from shotwindow.cli.practice_file import CLASS_FILE, PRACTICE_FILE, Class, read_class, read_practice
from shotwindow.cli.practice_press import practice_press
from shotwindow.doe.runs import read_runs
from shotwindow.doe.session import open_session
from shotwindow.doe.study import parse_study, read_study

MAP = STUDIES["map"][0]
SEED = "73914"
SCHEMA = Path(__file__).parent / "reference" / "schemas" / "class.json"


def typed(command: str, *words: object) -> Result:
    return CliRunner().invoke(shotwindow, [command, *map(str, words)])


def done(command: str, *words: object) -> Result:
    result = typed(command, *words)
    assert result.exit_code == 0, (result.output, result.exception)
    return result


def collected(folder: Path, *words: str) -> dict[str, Any]:
    """Return what is collected of a class, having held it against its schema."""
    found: dict[str, Any] = json.loads(
        done("practice", folder, "--collect", *words, "--json").stdout
    )
    schema = json.loads(SCHEMA.read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(found, schema)
    return found


def told(result: Result) -> str:
    assert result.exit_code == 1
    return str(result.exception)


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """Return a folder with a class of two teams."""
    folder = tmp_path / "room"
    folder.mkdir()
    (folder / "study.toml").write_text(MAP, encoding="utf-8")
    done("practice", folder, "--class", 2, "--seed", SEED)
    return folder


@pytest.fixture(scope="module")
def shot(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a class of three teams: two have shot, one has no plan; tests copy it."""
    folder = tmp_path_factory.mktemp("shot") / "room"
    folder.mkdir()
    (folder / "study.toml").write_text(MAP, encoding="utf-8")
    done("practice", folder, "--class", 3, "--seed", SEED)
    for team, words in {"team-01": (), "team-02": ("--kind", "composite")}.items():
        done("plan", folder / team, *words)
    done("practice", folder)
    return folder


@pytest.fixture
def copied(shot: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(shot, tmp_path / "room"))


def test_class__folders__each_with_the_study_and_a_name(room: Path) -> None:
    for name in ("team-01", "team-02"):
        assert (room / name / "study.toml").read_bytes() == (room / "study.toml").read_bytes()
    assert read_class(room) == Class("A", int(SEED), False, ("team-01", "team-02"))
    found = {path.name for path in (room / "team-01").iterdir()}
    assert found == {"study.toml", PRACTICE_FILE}


def test_class__teams_folders__hold_nothing_of_press_seed_or_truth(shot: Path) -> None:
    kept = read_class(shot)
    assert kept is not None
    practice = kept.practice("team-01", read_study(shot))
    secrets = [SEED, str(practice.seed), str(practice.chance), "press A", '"press"', "family"]
    files = [path for path in shot.glob("team-*/**/*") if path.is_file()]
    assert {path.name for path in files} >= {"journal.jsonl", "runs.csv", PRACTICE_FILE}
    for path in files:
        text = path.read_text(encoding="utf-8")
        assert not [secret for secret in secrets if secret in text], path
    rows = read_runs(shot / "team-01", read_study(shot / "team-01"))
    assert {row.by for row in rows} == {"simulated press of the class, team-01"}


def test_class__what_a_team_is_shown__tells_nothing_either(room: Path) -> None:
    team = room / "team-01"
    done("plan", team, "--shots", 8)
    shown = done("practice", team).output
    other = told(typed("practice", team, "--seed", 5))
    truth = told(typed("practice", team, "--reveal"))
    assert "simulated press of the class" in shown and "--collect --reveal" in truth
    for text in (shown, other, truth):
        assert SEED not in text and "press A" not in text


def test_class__press__one_for_all_and_not_that_of_the_same_seed_alone(room: Path) -> None:
    study = read_study(room)
    one, other = (read_practice(room / f"team-0{n}") for n in (1, 2))
    assert one is not None and other is not None
    assert practice_press(study, one) == practice_press(study, other)
    assert one.chance != other.chance and one.seed != int(SEED)


def test_class__own__a_press_for_each_team(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(MAP, encoding="utf-8")
    done("practice", tmp_path, "--class", 2, "--seed", 3, "--own")
    study = read_study(tmp_path)
    one, other = (read_practice(tmp_path / f"team-0{n}") for n in (1, 2))
    assert one is not None and other is not None
    assert practice_press(study, one) != practice_press(study, other)


def test_class__same_seed__same_shots_whoever_asks_for_them(shot: Path, tmp_path: Path) -> None:
    folder = tmp_path / "again"
    folder.mkdir()
    (folder / "study.toml").write_text(MAP, encoding="utf-8")
    done("practice", folder, "--class", 1, "--seed", SEED)
    done("plan", folder / "team-01")
    done("practice", folder / "team-01")  # by the team, and before by the class
    one, other = (read_runs(f / "team-01", read_study(f)) for f in (shot, folder))
    assert [(r.fill, r.flash) for r in one] == [(r.fill, r.flash) for r in other]


def test_class__more_teams_and_named_ones__are_added(room: Path) -> None:
    before = (room / CLASS_FILE).read_bytes()
    done("practice", room, "--class", 2)
    assert (room / CLASS_FILE).read_bytes() == before
    done("practice", room, "--class", 3)
    done("practice", room, "--team", "the back row")
    kept = read_class(room)
    assert kept == Class("A", int(SEED), False, ("team-01", "team-02", "team-03", "the back row"))
    assert (room / "the back row" / "study.toml").exists()
    done("plan", room / "the back row", "--shots", 8)
    shown = json.loads(done("practice", room, "--team", "the back row", "--json").stdout)
    assert [(team["team"], team["left"]) for team in shown["teams"]] == [("the back row", 0)]


@pytest.mark.parametrize("name", ["", "..", "a/b", "out", " red", "x:y"])
def test_class__team_that_no_folder_can_be_called__refused(room: Path, name: str) -> None:
    before = sorted(room.rglob("*"))
    assert typed("practice", room, "--team", name).exit_code == 1
    assert sorted(room.rglob("*")) == before


def test_class__folder_in_the_way__refused_before_anything_is_made(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(MAP, encoding="utf-8")
    (tmp_path / "team-02").mkdir()
    assert "team-02" in told(typed("practice", tmp_path, "--class", 3))
    assert not (tmp_path / "team-01").exists() and not (tmp_path / CLASS_FILE).exists()


def test_class__another_press_than_it_has__refused(room: Path) -> None:
    for words in (("--seed", 5), ("--press", "B"), ("--own",)):
        assert "that this class has" in told(typed("practice", room, "--class", 2, *words))
    assert "that this class has" in told(typed("practice", room, "--seed", 5))
    wrong = told(typed("practice", room, "--reveal"))
    assert "--collect" in wrong


def test_class__without_study_or_with_a_press_that_does_not_fit__told(tmp_path: Path) -> None:
    assert "study.toml" in told(typed("practice", tmp_path, "--class", 2))
    (tmp_path / "study.toml").write_text(MAP, encoding="utf-8")
    for press in ("narow", "clip"):
        assert typed("practice", tmp_path, "--class", 2, "--press", press).exit_code == 1
    assert "always the same" in told(
        typed("practice", tmp_path, "--class", 2, "--press", "narrow", "--own")
    )
    assert not (tmp_path / "team-01").exists()


def test_class__study_practiced_by_itself__is_no_class(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text(MAP, encoding="utf-8")
    done("plan", tmp_path, "--shots", 8)
    done("practice", tmp_path, "--shot-by-shot")
    assert "a study by itself" in told(typed("practice", tmp_path, "--class", 2))


def test_class__team_with_other_ranges__the_same_press(room: Path) -> None:
    team = room / "team-01"
    practice = read_practice(team)
    assert practice is not None
    as_made = practice_press(read_study(team), practice)
    wider = parse_study(MAP.replace("low = 3.0", "low = 2.0"))
    moved = practice_press(wider, practice)
    assert moved.factors == wider.factors
    assert moved.melt == as_made.melt and moved.flash == as_made.flash
    other = parse_study(MAP.replace("melt_temperature", "mold_temperature"))
    for study in (other, parse_study("mold.cavities = 2\n" + MAP)):
        with pytest.raises(Exception, match="for the press of the class"):
            practice_press(study, practice)


def test_class__team_taken_away_from_its_class__told(room: Path, tmp_path: Path) -> None:
    away = tmp_path / "stick"
    shutil.copytree(room / "team-01", away)
    done("plan", away, "--shots", 8)
    assert "hand this folder in" in told(typed("practice", away))
    assert not any(row.by for row in read_runs(away, read_study(away)))


def test_shoot_class__one_team_without_plan_and_one_gone__others_shoot(copied: Path) -> None:
    shutil.rmtree(copied / "team-02")
    done("plan", copied / "team-01", "--grow", "center", "--shots", 2)
    result = done("practice", copied)
    assert "no plan yet" in result.stderr and "no such folder" in result.stderr
    study = read_study(copied)
    assert all(row.outcome != "open" for row in read_runs(copied / "team-01", study))
    shown = json.loads(done("practice", copied, "--json").stdout)
    assert [team["left"] for team in shown["teams"]] == [0, None, None]


def test_shoot_class__mark_taken_off_or_another_press__told(copied: Path) -> None:
    (copied / "team-01" / PRACTICE_FILE).unlink()
    fields = {"schema": 1, "press": "A", "seed": 1, "team": ""}
    (copied / "team-02" / PRACTICE_FILE).write_text(json.dumps(fields))
    shown = json.loads(done("practice", copied, "--json").stdout)
    problems = [team["problem"] for team in shown["teams"]]
    assert "nothing of the class" in problems[0] and "a press of its own" in problems[1]


def test_collect__hidden_and_told__page_and_table(copied: Path) -> None:
    hidden = done("practice", copied, "--collect")
    page = (copied / "out" / "class.html").read_text(encoding="utf-8")
    assert "3 team-03: no plan yet." in page and "3 team-03: no plan yet." in hidden.stdout
    assert "overlap" not in hidden.stdout and SEED not in page and "seed" not in page
    assert "true window of" not in page and "Nearest to the truth" not in page
    shown = done("practice", copied, "--collect", "--reveal")
    told_page = (copied / "out" / "class.html").read_text(encoding="utf-8")
    assert "Nearest to the truth" in shown.stdout and "Nearest to the truth" in told_page
    again = done("practice", copied, "--collect", "--reveal")
    assert (again.stdout, told_page) == (
        shown.stdout,
        (copied / "out" / "class.html").read_text(encoding="utf-8"),
    )


def test_collect__score__as_a_study_by_itself_is_scored(copied: Path, tmp_path: Path) -> None:
    teams = collected(copied, "--reveal")["teams"]
    kept = read_class(copied)
    assert kept is not None
    practice = kept.practice("team-01", read_study(copied))
    alone = Path(shutil.copytree(copied / "team-01", tmp_path / "alone"))
    fields = {"schema": 1, "press": "A", "seed": practice.seed, "team": "team-01"}
    (alone / PRACTICE_FILE).write_text(json.dumps(fields))
    score = json.loads(done("practice", alone, "--reveal", "--json").stdout)
    for here, there in (
        ("overlap", "overlap"),
        ("setpoint_good", "setpoint_good"),
        ("shots", "shots"),
        ("minutes", "minutes"),
    ):
        assert teams[0][here] == score[there], here
    assert teams[2]["setpoint"] is None and teams[2]["overlap"] is None


def test_collect__schema__refuses_a_missing_field_and_a_truth_that_is_not_told(
    copied: Path,
) -> None:
    schema = json.loads(SCHEMA.read_text("utf-8"))
    hidden = collected(copied)
    assert hidden["told"] is False and hidden["teams"][0]["setpoint"]["pressure"] > 0
    hidden["teams"][0]["overlap"] = 0.5
    with pytest.raises(jsonschema.ValidationError, match="0.5 is not of type 'null'"):
        jsonschema.validate(hidden, schema)
    jsonschema.validate({**hidden, "told": True}, schema)
    del hidden["teams"][1]["left"]
    with pytest.raises(jsonschema.ValidationError, match="left"):
        jsonschema.validate({**hidden, "told": True}, schema)


@pytest.mark.parametrize("break_it", ["study", "runs", "plan", "empty", "gone", "binary"])
def test_collect__broken_folder__a_sentence_and_no_crash(copied: Path, break_it: str) -> None:
    team = copied / "team-02"
    if break_it == "gone":
        shutil.rmtree(team)
    elif break_it == "empty":
        for path in team.iterdir():
            path.unlink()
    elif break_it == "study":
        (team / "study.toml").write_text(MAP.replace("low = 3.0", "low = 9.0"))
    elif break_it == "runs":
        text = (team / "runs.csv").read_text()
        (team / "runs.csv").write_text(text.replace("pressure (bar)", "pressure"))
    else:
        (team / "plan.json").write_bytes(b"\xff\x00" if break_it == "binary" else b"{")
    shown = collected(copied, "--reveal")
    assert any(said.startswith("2 team-02: ") for said in shown["remarks"]), shown["remarks"]
    assert shown["teams"][0]["overlap"] > 0
    assert "2 team-02: " in (copied / "out" / "class.html").read_text(encoding="utf-8")


def test_collect__shots_that_the_press_did_not_make__are_named(copied: Path) -> None:
    team = copied / "team-01"
    done("plan", team, "--grow", "center", "--shots", 1)
    with open_session(team, read_study(team), who="somebody") as session:
        while (row := session.next_shot()) is not None:
            cells = {} if row.kind == "warm-up" else {"fill (%)": "100", "flash (mm)": "0.04"}
            session.accept(row.shot, cells, sure=True)
            last = row.shot
    remarks = collected(copied)["remarks"]
    told_of = next(said for said in remarks if said.startswith("1 team-01"))
    assert "its simulated press did not make" in told_of and str(last) in told_of


def test_collect__folders_of_teams_at_a_real_press__no_truth(shot: Path, tmp_path: Path) -> None:
    for name in ("team-01", "team-02"):
        shutil.copytree(shot / name, tmp_path / name)
        (tmp_path / name / PRACTICE_FILE).unlink()
    shown = collected(tmp_path, "--reveal")
    assert [team["team"] for team in shown["teams"]] == ["team-01", "team-02"]
    assert all(team["setpoint"] and team["overlap"] is None for team in shown["teams"])
    assert shown["remarks"] == []


def test_collect__nothing_there__told(tmp_path: Path) -> None:
    assert "no team" in told(typed("practice", tmp_path, "--collect"))
    assert not (tmp_path / "out").exists()


def test_own__without_class__wrong_usage(room: Path) -> None:
    assert typed("practice", room / "team-01", "--own").exit_code == 2
