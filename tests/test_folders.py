"""A study folder that is not there: every command says what to do instead."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from shotwindow.cli.main import shotwindow

COMMANDS = (
    "plan rehearse sheet record history surfaces window next confirm compare report pictures "
    "practice"
).split()


@pytest.mark.parametrize("command", COMMANDS)
def test_folder__not_there__how_to_make_it(command: str, tmp_path: Path) -> None:
    folder = tmp_path / "seed-scoop"
    result = CliRunner().invoke(shotwindow, [command, str(folder)])
    assert result.exit_code == 2
    assert f"there is no folder '{folder}'; `shotwindow start {folder}` makes it" in result.output
    assert not folder.exists()


@pytest.mark.parametrize("command", COMMANDS)
def test_folder__slip_in_its_name__the_study_that_was_meant(command: str, tmp_path: Path) -> None:
    study = tmp_path / "seed-scoop"
    study.mkdir()
    (study / "study.toml").touch()
    result = CliRunner().invoke(shotwindow, [command, str(tmp_path / "seed-scop")])
    assert result.exit_code == 2
    assert f"did you mean {study}?" in result.output
