"""The whole way on a shipped example, as `demo` goes it."""

import io
import json
from collections.abc import Iterator
from contextlib import redirect_stdout
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from shotwindow.cli import tour
from shotwindow.cli.main import run, shotwindow
from shotwindow.doe.runs import read_runs
from shotwindow.doe.study import read_study


def told(result: Result) -> str:
    assert result.exit_code == 1
    return str(result.exception)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    folder = tmp_path_factory.mktemp("demo") / "kept"
    shown = io.StringIO()
    with redirect_stdout(shown):
        assert run(["demo", "--keep", str(folder)]) == 0
    yield folder / "plant-label", shown.getvalue()


def test_demo__the_whole_way__shown_as_typed(kept: tuple[Path, str]) -> None:
    folder, shown = kept
    commands = [line.split()[2] for line in shown.splitlines() if line.startswith("$ shotwindow")]
    assert commands == ["plan", "sheet", "practice", "surfaces", "window", "report", "practice"]
    assert "Run at pressure" in shown
    assert "overlap of the two" in shown
    for name in ("window.png", "window.svg", "report.html", "sheet.html"):
        assert (folder / "out" / name).stat().st_size > 0


def test_demo__kept_study__goes_on_from_anywhere(kept: tuple[Path, str]) -> None:
    folder, _ = kept
    study = read_study(folder)
    assert all(row.outcome != "open" for row in read_runs(folder, study))
    assert run(["history", str(folder), "--shot", "3"]) == 0


def test_demo__folder_in_use__refused(tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("mine")
    result = CliRunner().invoke(shotwindow, ["demo", "--keep", str(tmp_path)])
    assert "a folder with files in it" in told(result)
    assert [path.name for path in tmp_path.iterdir()] == ["thesis.txt"]


def test_demo__unknown_example__guesses() -> None:
    result = CliRunner().invoke(shotwindow, ["demo", "--example", "plant-lable"])
    assert "did you mean plant-label?" in told(result)


def test_demo__json__every_step_in_one_document(monkeypatch: pytest.MonkeyPatch) -> None:
    def echo(args: list[str]) -> int:
        print(json.dumps({"called": args}))
        return 0

    monkeypatch.setattr(tour, "run", echo)
    result = CliRunner().invoke(shotwindow, ["demo", "--json", "--example", "seed-tray-clip"])
    steps = json.loads(result.stdout)["steps"]
    assert [step["command"][0] for step in steps][:2] == ["plan", "sheet"]
    assert all(step["result"]["called"] == [*step["command"], "--json"] for step in steps)


def test_demo__example_that_grew__both_steps_in_order(monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[list[str]] = []

    def note(args: list[str]) -> int:
        given.append(args)
        return 0

    monkeypatch.setattr(tour, "run", note)
    assert run(["demo", "--example", "gland-cap"]) == 0
    assert [args[0] for args in given[:5]] == ["plan", "sheet", "practice", "plan", "practice"]
    assert given[3] == ["plan", "gland-cap", "--grow", "axial"]


def test_demo__step_that_fails__its_exit_code(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tour, "run", lambda args: 3 if args[0] == "window" else 0)
    assert run(["demo"]) == 3
    assert run(["demo", "--json"]) != 0
