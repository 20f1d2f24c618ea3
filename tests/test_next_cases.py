"""`next` as typed where it cannot simply sharpen a window: all bad, all good, an edge unseen."""

import json
from pathlib import Path

import pytest
from invented_folders import write_study
from invented_shots import STUDIES

from shotwindow.cli.main import run

SOAK = "New temperature group: soak and warm-up shots first. "


def _said(
    name: str, folder: Path, capsys: pytest.CaptureFixture[str], *more: str, code: int = 0
) -> str:
    study = folder if folder.name == name else write_study(folder / name, name)
    capsys.readouterr()
    assert run(["next", str(study), "--dry-run", *more]) == code
    told = capsys.readouterr()
    return " ".join((told.err if code else told.out).split())


def test_next__nothing_good__steps_on_and_asks_to_be_asked_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = _said("short", tmp_path, capsys)  # short up to its highest pressure, 5 bar
    assert "1. pressure 5.2 bar gauge Outside of what was tried in pressure" in said
    assert "Nothing tried is likely good" in said and "not full yet" in said
    assert "ask again once they are made" in said
    # a map of bad shots alone is not said to be nearly right
    assert "taken wrongly" not in said and "e-" not in said and "stop" not in said


def test_next__all_good__seeks_both_edges_a_small_step_outside(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = _said("full", tmp_path, capsys)  # good all the way from 3 to 5 bar
    assert "pressure 2.8 bar gauge" in said and "pressure 5.2 bar gauge" in said
    assert "No shot was short yet: a small step toward that edge" in said
    assert "No shot flashed over the limit yet: a small step toward that edge" in said
    assert "widen pressure there once the shots outside are made" in said
    # what is most likely good is not called open
    assert "open here" not in said and "Most likely in the window here" in said


def test_next__one_edge_unseen__sought_beside_shots_at_the_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    text, fill, _, levels, times = STUDIES["dial"]
    monkeypatch.setitem(STUDIES, "dial", (text, fill, -0.35, levels, times))
    said = _said("dial", tmp_path, capsys)  # short at 50 psi, no flash up to 75 psi
    assert "No shot flashed over the limit yet" in said and "No shot was short" not in said
    assert "Outside of what was tried in pressure: watch the part" in said
    assert "tells how the edges run" in said  # of the edge that was seen


def test_next__reference__at_the_setpoint_where_group_day_or_lot_is_new(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_study(tmp_path / "dial", "dial")
    once = f"pressure {_setpoint(folder, capsys):g} psi gauge"
    said = _said("dial", folder, capsys, "--new-day", "--reference")
    assert f"{once} The best setting once more" in said.replace(SOAK, "")
    # the press stands there with the same lot: a shot more would tell of neither
    refused = _said("dial", folder, capsys, "--reference", code=1)
    assert "--new-day" in refused and "material.lot" in refused
    text = (folder / "study.toml").read_text(encoding="utf-8")
    (folder / "study.toml").write_text('material.lot = "L2"\n' + text, encoding="utf-8")
    assert "The best setting once more" in _said("dial", folder, capsys, "--reference")


def _setpoint(folder: Path, capsys: pytest.CaptureFixture[str]) -> float:
    capsys.readouterr()
    assert run(["window", str(folder), "--json"]) == 0
    return float(json.loads(capsys.readouterr().out)["setpoint"]["pressure"])
