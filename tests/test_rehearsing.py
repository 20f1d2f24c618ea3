"""The command rehearse, run as it is typed, and its words."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from invented_shots import STUDIES
from molds import study

from shotwindow.cli.main import run
from shotwindow.doe.plans import make_plan
from shotwindow.models.rehearsals import Rehearsal
from shotwindow.reports.rehearsing import (
    Rehearsed,
    advice,
    plans_beside,
    rehearsal_lines,
    rehearsed,
)

FOUND = Rehearsal(has_window=True, overlap=0.5, setpoint_good=0.95, open_edge=False, answered=True)


@pytest.fixture
def clip(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """Return a folder with a study of two settings and its plan."""
    (tmp_path / "study.toml").write_text(STUDIES["map"][0])
    assert run(["plan", str(tmp_path), "--shots", "9"]) == 0
    capsys.readouterr()
    return str(tmp_path)


def _json(capsys: pytest.CaptureFixture[str], *args: str) -> Any:
    assert run([*args, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_rehearse__text__tells_what_the_plan_would_find(
    clip: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["rehearse", clip, "--times", "4", "--workers", "1"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Invented clip: optimal plan, 9 shots, rehearsed on 4 practice presses")
    for line in ("overlap with the true window", "a setpoint that works", "an edge stays open"):
        assert line in out
    assert "Next: shotwindow sheet" in err and "rehearsals" not in err  # no bar in a pipe
    assert sorted(path.name for path in (Path(clip) / "out").iterdir()) == ["rehearsals.jsonl"]


def test_rehearse__one_worker_or_two__the_same(
    clip: str, capsys: pytest.CaptureFixture[str]
) -> None:
    one = _json(capsys, "rehearse", clip, "--times", "4", "--workers", "1")
    (Path(clip) / "out" / "rehearsals.jsonl").unlink()
    two = _json(capsys, "rehearse", clip, "--times", "4", "--workers", "2")
    assert one == two
    assert one["plans"][0]["presses"] == 4 and one["advice"] is None


def test_rehearse__stopped_and_gone_on__equals_an_uninterrupted_run(
    clip: str, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = Path(clip) / "out" / "rehearsals.jsonl"
    whole = _json(capsys, "rehearse", clip, "--times", "5", "--workers", "1")
    lines = kept.read_text().splitlines(keepends=True)
    kept.write_text("".join(lines[:2]) + lines[2][:30])
    assert _json(capsys, "rehearse", clip, "--times", "5", "--workers", "1") == whole
    assert kept.read_text() == "".join(lines)
    # another seed, or number of draws, takes nothing from it
    assert _json(capsys, "rehearse", clip, "--times", "2", "--seed", "2")["seed"] == 2
    assert len(kept.read_text().splitlines()) == 7
    _json(capsys, "rehearse", clip, "--times", "2", "--draws", "128", "--workers", "1")
    assert len(kept.read_text().splitlines()) == 9


def test_rehearse__beside__other_plans_and_one_piece_of_advice(
    clip: str, capsys: pytest.CaptureFixture[str]
) -> None:
    document = _json(capsys, "rehearse", clip, "--times", "2", "--workers", "2", "--beside")
    names = [plan["plan"] for plan in document["plans"]]
    assert names[0] == "this plan" and {"optimal, 12 shots", "optimal, 28 shots"} < set(names)
    assert any(plan["kind"] == "composite" for plan in document["plans"])
    assert len(document["advice"].rstrip(".").split(". ")) == 1


def test_rehearse__no_plan__says_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "study.toml").write_text(STUDIES["map"][0])
    assert run(["rehearse", str(tmp_path)]) == 1
    assert "run `shotwindow plan" in capsys.readouterr().err


def test_rehearse__plan_of_other_factors__told(
    clip: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (Path(clip) / "study.toml").write_text(STUDIES["dial"][0])
    assert run(["rehearse", clip]) == 1
    assert "2 settings; expected 1" in capsys.readouterr().err


def test_rehearse__help__worked_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["rehearse", "--help"]) == 0
    out = capsys.readouterr().out
    assert "shotwindow rehearse plant-label" in out and max(map(len, out.splitlines())) <= 80


def _told(overlaps: dict[str, float], budget: float = 300) -> tuple[Rehearsed, ...]:
    """Plans of 12, 20 and 8 shots that find so much on every press, give or take a hundredth."""
    mold = study(2, budget=budget)
    sizes = {"own": 12, "long": 20, "short": 8}
    plans = {name: make_plan(mold, shots=sizes[name], seed=1) for name in overlaps}
    found = {
        name: [replace(FOUND, overlap=value + 0.01 * (i % 2)) for i in range(20)]
        for name, value in overlaps.items()
    }
    return rehearsed(mold, plans, found)


def test_advice__clear_gain__is_named_with_its_price() -> None:
    told = _told({"own": 0.5, "long": 0.7, "short": 0.6})
    more = told[1].cost.minutes - told[0].cost.minutes
    assert more > 0
    sentence = advice(study(2, budget=300), told)
    assert sentence.startswith("Most useful change: long in place of own, for a median overlap of ")
    assert "min more" in sentence and "beyond" not in sentence


def test_advice__best_one_takes_too_long__the_best_that_fits() -> None:
    told = _told({"own": 0.5, "long": 0.7, "short": 0.6})
    tight = study(2, budget=told[0].cost.minutes)
    assert advice(tight, told).startswith("Most useful change: short in place of own")
    assert "beyond the time there is" in advice(tight, told[:2])


def test_advice__no_gain__the_shorter_one_or_nothing() -> None:
    told = _told({"own": 0.5, "short": 0.5})
    mold = study(2, budget=300)
    assert told[0].cost.minutes - told[1].cost.minutes >= 10
    assert "short in place of own" in advice(mold, told)
    worse = _told({"own": 0.5, "long": 0.5, "short": 0.3})
    assert advice(mold, worse).startswith("No other plan tried here is clearly better")


def test_plans_beside__own_plan_left_out() -> None:
    mold = study(2, budget=300)
    own = make_plan(mold, shots=16, seed=4)
    names = set(plans_beside(mold, own))
    assert "optimal, 16 shots" not in names and "optimal, 20 shots" in names


def test_rehearsal_lines__fit_and_warn() -> None:
    told = _told({"own": 0.5, "long": 0.7})
    lines = rehearsal_lines(study(2, budget=300), told)
    assert max(map(len, lines)) <= 80 and all(line.isascii() for line in lines)
    assert any("20 of 20 (chance 0.88 to 1.00)" in line for line in lines)
    assert any(
        "ranges that miss the window" in " ".join(lines[i : i + 2]) for i in range(len(lines))
    )


def test_rehearsal_lines__one_plan__no_word_of_a_gain() -> None:
    told, mold = _told({"own": 0.5, "long": 0.7}), study(2, budget=300)
    one, two = (" ".join(rehearsal_lines(mold, some)) for some in (told[:1], told))
    assert "standard error" in two and "standard error" not in one


def test_rehearsal_lines__a_loss_too_small_to_show__plus_nothing() -> None:
    told = _told({"own": 0.5, "short": 0.499})
    assert -0.005 < told[1].gain.mean < 0.0
    lines = " ".join(rehearsal_lines(study(2, budget=300), told))
    assert "+0.00 +- " in lines and "-0.00" not in lines
