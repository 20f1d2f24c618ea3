"""The command pictures: every picture as PNG and SVG, with a file of what they show."""

import json
from pathlib import Path

import pytest
from invented_folders import write_study
from invented_shots import STUDIES, planned, study

from shotwindow.cli.main import run
from shotwindow.doe.runs import write_plan
from shotwindow.reports.picture_files import write_all


def test_pictures__recorded_study__each_in_two_kinds_and_in_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_study(tmp_path / "box", "cube")
    assert run(["pictures", str(folder), "--growth", "--json"]) == 0
    files = [Path(file) for file in json.loads(capsys.readouterr().out)["files"]]
    assert all(file.stat().st_size > 0 for file in files)
    place = folder / "out" / "pictures"
    assert sorted(files) == sorted(place.iterdir())
    stems = {file.stem for file in files} - {"words"}
    assert {"window", "ruler-pressure", "small-maps", "effects", "cavities", "seen"} < stems
    assert {"growth", "half-normal", "residuals", "plan-space", "plan-time"} < stems
    for stem in stems:
        assert (place / f"{stem}.png").read_bytes().startswith(b"\x89PNG")
        assert b"<svg" in (place / f"{stem}.svg").read_bytes()
    told = (place / "words.txt").read_text("utf-8").split("\n\n")
    assert {part.split("\n")[0] for part in told} == stems
    assert all(len(part.split("\n")[1]) > 60 for part in told)


def test_write_all__same_folder__same_bytes(tmp_path: Path) -> None:
    folder = write_study(tmp_path / "cap", "dial")
    first = {path: path.read_bytes() for path in write_all(folder)}
    assert "growth.svg" not in {path.name for path in first}
    assert {path: path.read_bytes() for path in write_all(folder)} == first


def test_pictures__nothing_recorded__the_plan_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "study.toml").write_text(STUDIES["dial"][0])
    write_plan(tmp_path, study("dial"), planned("dial"))
    assert run(["pictures", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "plan-time.svg" in out and "window" not in out


def test_pictures__no_plan__says_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "study.toml").write_text(STUDIES["dial"][0])
    assert run(["pictures", str(tmp_path)]) == 1
    assert "shotwindow plan" in capsys.readouterr().err
