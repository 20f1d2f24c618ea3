"""The commands plan and sheet, run as they are typed."""

import json
from pathlib import Path
from typing import Any

import pytest
from invented_shots import STUDIES

from shotwindow.cli.main import run


@pytest.fixture
def cap(tmp_path: Path) -> str:
    """Return a folder with a study of one setting and nothing else."""
    (tmp_path / "study.toml").write_text(STUDIES["dial"][0])
    return str(tmp_path)


def _json(capsys: pytest.CaptureFixture[str], *args: str) -> Any:
    assert run([*args]) == 0
    return json.loads(capsys.readouterr().out)


def test_plan__text__written_with_seed_and_hint(
    cap: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", cap, "--shots", "6", "--seed", "7"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Invented cap: 6 shots and 2 warm-up shots")
    assert "  seed               7\n" in out and "Next: shotwindow sheet" in err
    assert json.loads((Path(cap) / "plan.json").read_text())["seed"] == 7
    assert len((Path(cap) / "runs.csv").read_text().splitlines()) == 9


def test_plan__json__is_what_was_written(cap: str, capsys: pytest.CaptureFixture[str]) -> None:
    document = _json(capsys, "plan", cap, "--kind", "ladder", "--json")
    assert document["kind"] == "ladder" and document["schema"] == 1
    written = json.loads((Path(cap) / "plan.json").read_text())["shots"]
    assert [run["shot"] for run in document["runs"]] == [shot["shot"] for shot in written]


def test_plan__same_seed__same_bytes(cap: str, capsys: pytest.CaptureFixture[str]) -> None:
    first = _json(capsys, "plan", cap, "--json", "--seed", "5", "--dry-run")
    assert _json(capsys, "plan", cap, "--json", "--seed", "5", "--dry-run") == first


def test_plan__dry_run__writes_nothing(cap: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", cap, "--dry-run"]) == 0
    assert "nothing was written" in capsys.readouterr().err
    assert [path.name for path in Path(cap).iterdir()] == ["study.toml"]


def test_plan__over_recorded_shots__is_refused_and_loses_nothing(
    cap: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", cap, "--shots", "6"]) == 0
    runs = Path(cap) / "runs.csv"
    lines = runs.read_text().splitlines()
    heads = lines[0].split(",")
    cells = lines[3].split(",")
    cells[heads.index("fill (%)")], cells[heads.index("flash (mm)")] = "90", "0.04"
    runs.write_text("\n".join([*lines[:3], ",".join(cells), *lines[4:]]) + "\n")
    before = runs.read_text()
    assert run(["plan", cap, "--kind", "ladder"]) == 1
    err = capsys.readouterr().err
    assert "plan with recorded shots" in err and "add shots with `plan --grow`" in err
    assert runs.read_text().splitlines()[3] == before.splitlines()[3]


def test_sheet__default__page_and_pdf(cap: str, capsys: pytest.CaptureFixture[str]) -> None:
    run(["plan", cap])
    capsys.readouterr()
    files = _json(capsys, "sheet", cap, "--json")["files"]
    assert [Path(file).name for file in files] == ["sheet.html", "sheet.pdf"]
    assert Path(files[1]).read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("kind", ["html", "pdf", "xlsx"])
def test_sheet__one_kind__only_that_file_and_the_same_bytes(
    cap: str, capsys: pytest.CaptureFixture[str], kind: str
) -> None:
    run(["plan", cap])
    assert run(["sheet", cap, f"--{kind}", "--paper", "letter"]) == 0
    (path,) = (Path(cap) / "out").iterdir()
    first = path.read_bytes()
    assert path.name == f"sheet.{kind}"
    assert run(["sheet", cap, f"--{kind}", "--paper", "letter"]) == 0
    assert path.read_bytes() == first
    if kind == "xlsx":
        assert "--from" in capsys.readouterr().err


def test_sheet__no_plan__says_what_to_do(cap: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["sheet", cap]) == 1
    assert "run `shotwindow plan" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["plan", "sheet"])
def test_help__has_a_worked_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command, "--help"]) == 0
    out = capsys.readouterr().out
    assert f"shotwindow {command} plant-label" in out and "--json" in out
    assert max(map(len, out.splitlines())) <= 80
