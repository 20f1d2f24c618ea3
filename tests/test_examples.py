"""Each folder of examples with an expected.toml: its data are whole, its results as expected."""

import json
import shutil
import tomllib
from contextlib import redirect_stdout
from functools import cache
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from shotwindow.cli.main import run
from shotwindow.cli.practice_file import read_practice
from shotwindow.cli.practice_press import practice_press
from shotwindow.doe.history import render, replay
from shotwindow.doe.journal import read_journal
from shotwindow.doe.readings import readings
from shotwindow.doe.restrictions import cost
from shotwindow.doe.runs import read_plan, read_runs
from shotwindow.doe.study import Study, read_study
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.scoring import score
from shotwindow.models.setpoint import Setpoint, find_setpoint
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.window import Window, find_window

EXAMPLES = Path(__file__).parent.parent / "examples"
FOLDERS = sorted(path.parent.name for path in EXAMPLES.glob("*/expected.toml"))
MARKS = 500  # that the truth is looked up at; the standard error of the overlap is about 0.03


def expected(name: str) -> dict[str, Any]:
    return tomllib.loads((EXAMPLES / name / "expected.toml").read_text(encoding="utf-8"))


@cache
def found(name: str) -> tuple[Study, Window, Goodness, Setpoint]:
    """The way that a user of the Python modules would go."""
    study = read_study(EXAMPLES / name)
    seen = readings(study, read_runs(EXAMPLES / name, study))
    surfaces = fit_surfaces(seen)
    assert surfaces.converged
    good = goodness(surfaces)
    window = find_window(study, seen, good)
    setpoint = find_setpoint(window, good)
    assert setpoint is not None
    return study, window, good, setpoint


def test_examples__two_at_least() -> None:
    assert len(FOLDERS) >= 2


@pytest.mark.parametrize("name", FOLDERS)
def test_example__whole_and_honest_about_its_data(name: str) -> None:
    folder = EXAMPLES / name
    study = read_study(folder)
    assert expected(name)["description"].strip()
    for text in ("study.toml", "README.md"):
        about = (folder / text).read_text(encoding="utf-8")
        assert "invented" in about and "simulated press" in about
    rows = read_runs(folder, study)
    assert all("simulated press" in row.by for row in rows if row.outcome != "skipped")
    assert all(row.outcome != "open" for row in rows)
    assert [row.shot for row in rows] == [shot.shot for shot in read_plan(folder).shots]
    assert (folder / "runs.csv").read_bytes() == render(replay(read_journal(folder)))


@pytest.mark.parametrize("name", FOLDERS)
def test_example__made_as_it_says(name: str) -> None:
    made = expected(name)["made"]
    practice = read_practice(EXAMPLES / name)
    assert practice is not None
    assert ["--press", practice.press, "--seed", str(practice.seed)] == made["practice"]
    about = (EXAMPLES / name / "README.md").read_text(encoding="utf-8")
    grown = expected(name).get("grown", {})
    for command, words in (*made.items(), *grown.items()):
        assert f"    {' '.join(['shotwindow', command, name, *words])}\n" in about


def test_examples__two_hours_on_a_slow_press_and_one_grown_in_two_steps() -> None:
    """Issue 6: what the examples must show; each kind of shot stands where it says."""
    study, plan = read_study(EXAMPLES / "coat-hook"), read_plan(EXAMPLES / "coat-hook")
    assert study.factors[1].soak_min == 15
    assert 110 < cost(study, plan).minutes <= 120 < cost(study, plan).free_minutes
    grown = read_plan(EXAMPLES / "gland-cap")
    kinds = {(shot.block, shot.kind) for shot in grown.fitted()}
    assert kinds == {("1", "factorial"), ("1", "center"), ("2", "axial"), ("2", "center")}
    assert grown.model == "quadratic"


@pytest.mark.parametrize("name", FOLDERS)
def test_example__window_and_setpoint_as_expected(name: str) -> None:
    study, window, _, setpoint = found(name)
    wanted = expected(name)
    results = {
        "share_likely": window.share_likely,
        "share_sure": window.share_sure,
        "probability_good": setpoint.probability_good,
        **dict(zip(study.names, setpoint.settings, strict=True)),
    }
    for key, limits in (wanted["window"] | wanted["setpoint"]).items():
        if isinstance(limits, dict):
            assert results[key] == pytest.approx(limits["value"], abs=limits["within"]), key
    assert list(window.open_edges) == wanted["window"]["open_edges"]
    assert setpoint.narrow is wanted["window"]["narrow"]


@pytest.mark.parametrize("name", FOLDERS)
def test_example__window_against_the_truth(name: str) -> None:
    study, window, _, setpoint = found(name)
    practice = read_practice(EXAMPLES / name)
    assert practice is not None
    result = score(practice_press(study, practice), study, window, setpoint, most=MARKS)
    for key, least in expected(name)["truth"].items():
        assert getattr(result, key) >= least, key


@pytest.mark.parametrize("name", FOLDERS)
def test_example__window_command_in_a_copy__the_same(name: str, tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / name, tmp_path / name)
    printed = StringIO()
    with redirect_stdout(printed):
        assert run(["window", str(tmp_path / name), "--json"]) == 0
    told = json.loads(printed.getvalue())
    study, window, _, setpoint = found(name)
    for factor, value in zip(study.names, setpoint.settings, strict=True):
        assert told["setpoint"][factor] == pytest.approx(value)
    assert told["window"]["share_likely"] == pytest.approx(window.share_likely, rel=1e-5)
