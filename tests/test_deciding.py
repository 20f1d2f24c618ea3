"""next, confirm and compare as typed, on invented studies with invented shots."""

import json
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner
from invented_folders import shoot_open, write_study
from invented_shots import study

from shotwindow.cli.main import run, shotwindow
from shotwindow.doe.runs import read_runs


@pytest.fixture
def dial(tmp_path: Path) -> Path:
    return write_study(tmp_path / "dial", "dial")


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict:  # type: ignore[type-arg]
    capsys.readouterr()
    code = run([*words, "--json"])
    found = json.loads(capsys.readouterr().out)
    assert found["schema"] == 1
    return {"code": code, **found}


def test_next__dry_run__writes_nothing(dial: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (dial / "runs.csv").read_bytes()
    found = _json(capsys, "next", str(dial), "--shots", "2", "--dry-run")
    assert (dial / "runs.csv").read_bytes() == before
    assert found["code"] == 0 and not found["written"]
    assert 1 <= len(found["shots"]) <= 2
    assert all(shot["reason"].endswith(".") for shot in found["shots"])


def test_next__shots_written__planned_rows_of_their_kind(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = _json(capsys, "next", str(dial), "--shots", "2")
    rows = read_runs(dial, study("dial"))
    added = [row for row in rows if row.kind == "next"]
    assert [row.settings[0] for row in added] == [shot["pressure"] for shot in found["shots"]]
    assert {row.outcome for row in added} == {"open"}
    # once more: they are planned, so that they are not suggested again
    again = _json(capsys, "next", str(dial), "--shots", "2", "--dry-run")
    assert not {s["pressure"] for s in again["shots"]} & {row.settings[0] for row in added}
    assert any("not made yet" in note for note in again["notes"])


def test_next__edited__as_saved_in_the_editor(
    dial: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    editor = tmp_path / "editor.sh"
    editor.write_text('#!/bin/sh\nprintf "pressure (psi)\\n66\\n58\\n" > "$1"\n')
    editor.chmod(editor.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("VISUAL", str(editor))
    assert run(["next", str(dial), "--edit"]) == 0
    added = [r.settings[0] for r in read_runs(dial, study("dial")) if r.kind == "next"]
    assert added == [66.0, 58.0]


def test_next__edited_off_the_marks__refused(
    dial: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    editor = tmp_path / "editor.sh"
    editor.write_text('#!/bin/sh\nprintf "pressure (psi)\\n66.4\\n" > "$1"\n')
    editor.chmod(editor.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("VISUAL", str(editor))
    assert run(["next", str(dial), "--edit"]) == 1
    assert "66.4" in capsys.readouterr().err
    assert not [r for r in read_runs(dial, study("dial")) if r.kind == "next"]


def test_confirm__good_shots__confirmed_for_this_group(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    planned_ = _json(capsys, "confirm", str(dial), "--reliability", "0.8")
    assert planned_["code"] == 0 and planned_["verdict"] is None
    assert planned_["reliability"] == 0.8 and 0 < planned_["chance_to_pass"]["both"] <= 1
    half = _json(capsys, "confirm", str(dial))
    assert half["code"] == 0 and half["verdict"] == "cannot tell"  # nothing shot yet
    shoot_open(dial)
    recorded = CliRunner().invoke(shotwindow, ["record", str(dial)], input="\n")
    assert f"Next: shotwindow confirm {dial}" in recorded.stderr
    found = _json(capsys, "confirm", str(dial))
    assert found["at_setpoint"] == {
        "shots": 11, "failed": 0, "reliability_shown": pytest.approx(0.1 ** (1 / 11), rel=1e-5),
        "reliability_shown_over_groups": pytest.approx(0.1 ** (1 / 11), rel=1e-5),
        "groups": 1, "failed_by_group": [0],
    }  # fmt: skip
    assert found["verdict"] == ("cannot tell" if found["surprises"] else "confirmed")
    assert any("3 groups" in sentence for sentence in found["sentences"])


def test_confirm__failed__not_confirmed_and_a_further_attempt_has_fresh_shots(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = _json(capsys, "confirm", str(dial), "--reliability", "0.8")
    shoot_open(dial, bad=1)
    failed = _json(capsys, "confirm", str(dial))
    assert failed["code"] == 0 and failed["verdict"] == "not confirmed"
    again = _json(capsys, "confirm", str(dial), "--again")
    assert again["attempt"] == 2 and again["reliability"] == 0.8
    assert not set(again["shots"]) & set(first["shots"])
    blocks = {row.block for row in read_runs(dial, study("dial")) if row.kind == "confirm"}
    assert blocks == {"confirm 1", "confirm 2"}


def test_confirm__demand_changed_after_planning__refused(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["confirm", str(dial), "--reliability", "0.8"]) == 0
    assert run(["confirm", str(dial), "--reliability", "0.7"]) == 1
    assert "fixed before the shots" in capsys.readouterr().err
    assert run(["confirm", str(dial), "--again"]) == 1  # its shots are not made yet


def test_confirm__own_shots_do_not_predict_themselves(
    dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["confirm", str(dial), "--reliability", "0.8"]) == 0
    shoot_open(dial, fill="80")  # far from what was predicted
    found = _json(capsys, "confirm", str(dial))
    assert found["verdict"] == "not confirmed"
    assert {s["side"] for s in found["surprises"] if s["response"] == "fill"} == {"low"}


def test_compare__with_itself_and_with_other_factors(
    dial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = _json(capsys, "compare", str(dial), str(dial))
    assert found["code"] == 0
    assert found["difference"]["low"] <= 0 <= found["difference"]["high"]
    assert found["good_in_both"]["a"] == found["good_in_both"]["b"]
    other = write_study(tmp_path / "map", "map")
    assert run(["compare", str(dial), str(other)]) == 1
    assert "the same factors" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["next", "confirm", "compare"])
def test_help__worked_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([command, "--help"]) == 0
    assert f"shotwindow {command} " in capsys.readouterr().out.split("Example")[1]


@pytest.mark.parametrize("command", ["next", "confirm"])
def test_guards__material_refused_since_the_plan__nothing_written(
    command: str, dial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """PVC is refused whatever was planned: it gives hydrogen chloride (common safety data)."""
    text = (dial / "study.toml").read_text(encoding="utf-8")
    (dial / "study.toml").write_text('material.name = "PVC rigid"\n' + text, encoding="utf-8")
    before = (dial / "plan.json").read_bytes()
    assert run([command, str(dial)]) == 1
    assert "PVC" in capsys.readouterr().err
    assert (dial / "plan.json").read_bytes() == before
