"""The command pictures: every picture as PNG and SVG, with a file of what they show."""

import json
from pathlib import Path

import pytest
from invented_folders import write_study
from invented_shots import STUDIES, planned, study

from shotwindow.cli.main import run
from shotwindow.doe.runs import write_plan
from shotwindow.reports.alt_text import alt_text
from shotwindow.reports.dials import dial_figure, dial_words
from shotwindow.reports.effect_figure import effect_exhibit
from shotwindow.reports.figures import window_figure
from shotwindow.reports.findings import read_findings
from shotwindow.reports.picture_files import write_all
from shotwindow.reports.theme import picture


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
    names = {path.name for path in first}
    assert "growth.svg" not in names
    assert not any(name.startswith("ruler") for name in names)  # the window is a ruler already
    assert {path: path.read_bytes() for path in write_all(folder)} == first


def test_write_all__seed_and_prior__each_picture_and_its_words_are_of_that_fit(
    tmp_path: Path,
) -> None:
    folder = write_study(tmp_path / "clip", "map")
    drawn = {path.name: path.read_bytes() for path in write_all(folder, seed=2, prior="weak")}
    told = dict(part.split("\n") for part in drawn["words.txt"].decode().strip().split("\n\n"))
    found = read_findings(folder, seed=2, prior="weak")
    effects = effect_exhibit(found)
    assert effects is not None
    wanted = {
        "window": (window_figure(found), alt_text(found)),
        "ruler-pressure": (dial_figure(found, 0), dial_words(found, 0)),
        "ruler-melt-temperature": (dial_figure(found, 1), dial_words(found, 1)),
        "effects": (effects.figure, effects.alt),
    }
    for name, (figure, words) in wanted.items():
        assert drawn[f"{name}.svg"] == picture(figure, "svg") and told[name] == words
    assert len(set(told.values())) == len(told)


def test_pictures__nothing_recorded__the_plan_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "study.toml").write_text(STUDIES["dial"][0])
    write_plan(tmp_path, study("dial"), planned("dial"))
    assert run(["pictures", str(tmp_path)]) == 0
    out, err = capsys.readouterr()
    assert "plan-time.svg" in out and "window" not in out
    assert "Next: shotwindow record" in err  # a report needs a shot


def test_pictures__no_plan__says_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "study.toml").write_text(STUDIES["dial"][0])
    assert run(["pictures", str(tmp_path)]) == 1
    assert "shotwindow plan" in capsys.readouterr().err
