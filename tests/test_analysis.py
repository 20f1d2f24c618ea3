"""The commands surfaces, window and report, run as they are typed."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from invented_shots import STUDIES, planned, recorded, study

from shotwindow.cli.main import run
from shotwindow.doe.columns import standard_layout
from shotwindow.doe.records import read_state, rows_of
from shotwindow.doe.rows import row_cells
from shotwindow.doe.runs import write_plan
from shotwindow.doe.session import open_session


def _folder(tmp_path: Path, name: str) -> str:
    """Return a folder with one of the invented studies, recorded."""
    made, layout = study(name), standard_layout(study(name))
    (tmp_path / "study.toml").write_text(STUDIES[name][0])
    write_plan(tmp_path, made, planned(name))
    lines = [",".join(layout.names)]
    for row in recorded(name):
        cells = row_cells(made, layout, row)
        lines.append(",".join(f'"{cells[heading]}"' for heading in layout.names))
    with open_session(tmp_path, made) as session:
        session.take_table("results.csv", "\n".join(lines).encode(), keep_hot=True)
    assert all(row.outcome != "open" for row in rows_of(made, read_state(tmp_path, made).sheet))
    return str(tmp_path)


@pytest.fixture(scope="module")
def lid(tmp_path_factory: pytest.TempPathFactory) -> str:
    return _folder(tmp_path_factory.mktemp("lid"), "map")


def _json(capsys: pytest.CaptureFixture[str], *args: str, code: int = 0) -> Any:
    assert run([*args]) == code
    return json.loads(capsys.readouterr().out)


def test_window__text__then_pictures_and_a_hint(
    lid: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["window", lid]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Invented clip: 16 shots") and "Setpoint" in out
    assert "window.png" in err and "Next: shotwindow confirm" in err
    assert (Path(lid) / "out" / "window.svg").exists()


def test_window__json__nothing_else_on_stdout_and_no_picture(
    lid: str, capsys: pytest.CaptureFixture[str]
) -> None:
    for file in (Path(lid) / "out").glob("window.*"):
        file.unlink()
    document = _json(capsys, "window", lid, "--json", "--seed", "2")
    assert document["schema"] == 1 and document["seed"] == 2
    assert not list((Path(lid) / "out").glob("window.*"))


def test_window__at__points_in_order(
    lid: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "points.csv"
    table.write_text("pressure (bar);melt temperature (degC)\n4,2;220\n9;220\n")
    points = _json(capsys, "window", lid, "--at", str(table), "--json")["points"]
    assert [point["pressure"] for point in points] == [4.2, 9.0]
    assert points[0]["probability_good"] > 0.5 and points[1]["probability_good"] is None


def test_window__no_setpoint__exit_3_with_json_still_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = _folder(tmp_path, "short")
    assert run(["window", folder, "--json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["setpoint"] is None and "\nError: No setting reaches 0.9" in err
    assert run(["window", folder, "--no-pictures"]) == 3
    out, err = capsys.readouterr()
    assert "No setting reaches 0.9" in out and "Next: shotwindow next" in err


def test_window__open_edge_with_a_setpoint__exit_0(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = _json(capsys, "window", _folder(tmp_path, "full"), "--json")
    assert document["window"]["open_edges"] == ["fill", "flash"] and document["setpoint"]


def test_window__mistakes__exit_1_or_2(
    lid: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["window", str(tmp_path / "nowhere")]) == 2
    table = tmp_path / "points.csv"
    table.write_text("pressure (bar),melt temperature (degC)\nhigh,220\n")
    assert run(["window", lid, "--at", str(table)]) == 1
    assert 'row 2, "pressure (bar)" (A2): found "high"' in capsys.readouterr().err
    assert run(["window", str(tmp_path)]) == 1  # no study in it


def test_window__curve__edges_of_the_factor_that_is_named(
    lid: str, capsys: pytest.CaptureFixture[str]
) -> None:
    usual = _json(capsys, "window", lid, "--json")
    chosen = _json(capsys, "window", lid, "--json", "--curve", "melt_temperature")
    assert {(c["factor"], c["along"]) for c in usual["curves"]} == {
        ("pressure", "melt_temperature")
    }
    assert {(c["factor"], c["along"]) for c in chosen["curves"]} == {
        ("melt_temperature", "pressure")
    }
    rest = {name: value for name, value in chosen.items() if name != "curves"}
    assert rest == {name: value for name, value in usual.items() if name != "curves"}
    assert run(["window", lid, "--no-pictures", "--curve", "melt_temperature"]) == 0
    said = capsys.readouterr().out
    assert "Edges of melt temperature (degC) over the other settings" in said
    assert "\n  pressure 3 bar gauge  " in said


def test_window__curve_of_no_factor__one_clear_message(
    lid: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["window", lid, "--curve", "melt_temprature"]) == 1
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1
    assert "--curve melt_temprature: found no such factor" in err
    assert "pressure, melt_temperature" in err and "did you mean melt_temperature?" in err
    assert run(["window", _folder(tmp_path, "dial"), "--curve", "pressure"]) == 3
    assert "a second setting" in capsys.readouterr().err  # over which they could be drawn


def test_window__weak_prior__is_fitted_and_named(
    lid: str, capsys: pytest.CaptureFixture[str]
) -> None:
    usual = _json(capsys, "window", lid, "--json")
    weak = _json(capsys, "window", lid, "--json", "--prior", "weak")
    assert (usual["fit"]["prior"], weak["fit"]["prior"]) == ("molding", "weak")
    assert usual["window"] != weak["window"]
    assert run(["window", lid, "--prior", "weak", "--no-pictures"]) == 0
    assert "weak prior" in capsys.readouterr().out.splitlines()[0]


@pytest.mark.parametrize(
    "command", ["window", "surfaces", "report", "next", "confirm", "rehearse", "compare"]
)
def test_flat_prior__is_refused_with_the_reason(
    command: str, lid: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([command, lid, "--prior", "flat"]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "no flat prior" in said and "no maximum of the likelihood" in said
    assert "least squares" in said and "weak" in said


def test_window_json__loads__nothing_heavy(lid: str) -> None:
    heavy = (
        "scipy.stats scipy.optimize scipy.ndimage pyDOE2 statsmodels matplotlib openpyxl jinja2 "
        "reportlab pandas"
    )
    code = (
        "import sys; from shotwindow.cli.main import run; code = run(['window', sys.argv[1], "
        "'--json']); print('LOADED', *(m for m in sys.argv[2].split() if m in sys.modules), "
        "file=sys.stderr); sys.exit(code)"
    )
    command = [sys.executable, "-c", code, lid, heavy]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0 and json.loads(done.stdout)["setpoint"]
    assert done.stderr.splitlines()[-1] == "LOADED"


def test_surfaces__text_and_json__what_each_setting_does(
    lid: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["surfaces", lid]) == 0
    out, err = capsys.readouterr()
    assert "pressure +0.5 bar adds" in out and "by least squares" in " ".join(out.split())
    assert "Next: shotwindow window" in err
    document = _json(capsys, "surfaces", lid, "--json")
    assert document["surfaces"]["fill"]["effects"][0]["factor"] == "pressure"


def test_report__text_and_json__names_the_file(
    lid: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(Path(lid) / "out" / "report.html")
    assert run(["report", lid]) == 0
    assert capsys.readouterr().out == f"Wrote {path}\n"
    assert _json(capsys, "report", lid, "--json")["files"] == [path]


def test_commands__nothing_recorded__say_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "study.toml").write_text(STUDIES["dial"][0])
    write_plan(tmp_path, study("dial"), planned("dial"))
    for command in ("surfaces", "window", "report"):
        assert run([command, str(tmp_path)]) == 1
        assert "record shots with `shotwindow record`" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["surfaces", "window", "report", "pictures"])
def test_help__has_a_worked_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command, "--help"]) == 0
    out = capsys.readouterr().out
    assert f"shotwindow {command} plant-label" in out and "--json" in out
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize("args", [["window", "--no-pictures"], ["surfaces"]])
def test_commands__old_code_page_and_no_color__plain_text(lid: str, args: list[str]) -> None:
    import os

    env = {**os.environ, "PYTHONIOENCODING": "cp1252", "NO_COLOR": "1"}
    command = [sys.executable, "-m", "shotwindow.cli", args[0], lid, *args[1:]]
    done = subprocess.run(command, capture_output=True, env=env, check=False)
    assert done.returncode == 0 and b"\x1b" not in done.stdout + done.stderr
    assert max(map(len, done.stdout.decode("cp1252").splitlines())) <= 80
