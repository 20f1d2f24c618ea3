"""What is asked of plan: days, growth, comparison, and wishes that do not go together."""

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from invented_shots import STUDIES

from shotwindow.cli.main import run
from shotwindow.doe.growth import WAYS
from shotwindow.doe.plans import PLANS, make_plan
from shotwindow.doe.study import read_study
from shotwindow.models.rehearsals import rehearse
from shotwindow.reports.plan_answers import in_minutes

SCHEMAS = Path(__file__).parent / "reference" / "schemas"
TWO = """
[time]
warm_up_shots = 0
[factors.pressure]
unit = "bar"
low = 3.0
high = 5.0
step = 0.1
[factors.injection_time]
unit = "s"
low = 4
high = 10
step = 0.5
"""


@pytest.fixture
def cap(tmp_path: Path) -> Path:
    """Return a folder with a study of two quick settings and nothing else."""
    (tmp_path / "study.toml").write_text(TWO)
    return tmp_path


def _json(capsys: pytest.CaptureFixture[str], folder: Path, *args: str, schema: str) -> Any:
    capsys.readouterr()
    assert run(["plan", str(folder), *args, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, json.loads((SCHEMAS / f"{schema}.json").read_text("utf-8")))
    return document


def _record(folder: Path, answers: dict[int, dict[str, str]]) -> list[str]:
    """Write answers by shot into runs.csv; its lines."""
    runs = folder / "runs.csv"
    heads, *lines = [line.split(",") for line in runs.read_text().splitlines()]
    for cells in lines:
        for name, text in answers.get(int(cells[heads.index("shot")]), {}).items():
            cells[heads.index(name)] = text
    texts = [",".join(cells) for cells in [heads, *lines]]
    runs.write_text("\n".join(texts) + "\n")
    return texts


def test_days__two_lots__blocks_with_a_reference_shot_each(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    days = ("--day", "Monday=LOT-A", "--day", "Tuesday=LOT-B", "--shots", "12")
    document = _json(capsys, cap, *days, schema="plan")
    lots = {(one["block"], one["lot"]) for one in document["runs"]}
    assert lots == {("Monday", "LOT-A"), ("Tuesday", "LOT-B")}
    assert [one["block"] for one in document["runs"] if one["kind"] == "reference"] == [
        "Monday",
        "Tuesday",
    ]
    assert document["shots"] == 12
    assert run(["plan", str(cap), *days]) == 0
    assert "  Tuesday  LOT-B  7 to 12" in capsys.readouterr().out
    assert ",Tuesday,LOT-B," in (cap / "runs.csv").read_text()


def test_grow__over_recorded_shots__old_rows_stay_and_a_block_is_added(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", str(cap), "--kind", "factorial"]) == 0
    before = _record(
        cap, {1: {"fill (%)": "90", "flash (mm)": "0"}, 2: {"status": "void", "note": "spilled"}}
    )
    document = _json(capsys, cap, "--grow", "replicate", schema="plan")
    after = (cap / "runs.csv").read_text().splitlines()
    assert [line.split(",")[1] for line in after[len(before) :]] == ["2"]
    assert "90" in after[1] and len(document["added"]) == 1
    runs = document["runs"]
    assert runs[-1]["settings"] == runs[1]["settings"]  # the void shot is made again
    assert run(["plan", str(cap), "--grow", "axial"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "They are a new block, 3," in out and "The shots before it stay as they are." in out
    assert len((cap / "runs.csv").read_text().splitlines()) == len(after) + 6


def test_grow__another_day_and_lot__block_of_that_name_with_a_reference_shot(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    days = ("--day", "Monday=LOT-A", "--day", "Tuesday=LOT-B")
    made = _json(capsys, cap, "--kind", "factorial", *days, schema="plan")
    assert made["shots"] == 8 and made["kind"] == "factorial"
    words = ("--grow", "axial", "--day", "Wednesday=LOT-C")
    document = _json(capsys, cap, *words, schema="plan")
    added = [one for one in document["runs"] if one["shot"] in document["added"]]
    assert {(one["block"], one["lot"]) for one in added} == {("Wednesday", "LOT-C")}
    assert [one["kind"] for one in added].count("reference") == 1
    assert run(["plan", str(cap), "--grow", "center", "--day", "Monday=LOT-D"]) == 1
    assert "a day that is no block of the plan yet" in capsys.readouterr().err


def test_left__over_recorded_shots__those_stay_and_the_rest_fits(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (cap / "study.toml").write_text(STUDIES["map"][0])
    whole = _json(capsys, cap, "--shots", "12", schema="plan")
    reading = {"fill (%)": "90", "flash (mm)": "0"}
    before = _record(cap, dict.fromkeys(range(1, 4), reading))
    document = _json(capsys, cap, "--left", "55", schema="plan")
    after = (cap / "runs.csv").read_text().splitlines()
    assert after[:4] == before[:4] and len(after) < len(before)
    assert document["left_out"] == whole["shots"] - document["shots"] > 0
    assert document["runs"][:3] == whole["runs"][:3]
    assert run(["plan", str(cap), "--left", "55"]) == 0  # what fits already stays as it is
    out = " ".join(capsys.readouterr().out.split())
    assert "Shortened: no shot left out; what is still to be made takes " in out
    took = re.search(r"takes (\d+) min until cleaned up", out)
    assert took is not None and 0 < int(took[1]) <= 55
    assert (cap / "runs.csv").read_text().splitlines() == after
    assert run(["plan", str(cap), "--left", "16"]) == 1
    assert "enough for one more shot" in capsys.readouterr().err


def test_model__named_terms__told_apart_in_80_columns(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = "first-order + pressure x injection_time + injection_time^2"
    words = ("--model", model, "--shots", "6")
    document = _json(capsys, cap, *words, schema="plan")
    assert document["model"] == model and document["ranks"][model] == {"rank": 5, "terms": 5}
    assert run(["plan", str(cap), *words, "--judge", "--dry-run"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(len(line) for line in lines if "http" not in line) <= 80
    assert "5 of its 5 terms told apart" in " ".join(" ".join(lines).split())
    assert json.loads((cap / "plan.json").read_text())["model"] == model
    timed = _json(capsys, cap, "--model", model, "--minutes", "90", "--dry-run", schema="plan")
    assert timed["model"] == model and timed["half_hour_more"] is not None


def test_group_scatter__stated__plan_is_chosen_and_judged_for_it(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (cap / "study.toml").write_text(STUDIES["map"][0])
    plans = {
        ratio: _json(capsys, cap, "--group-scatter", ratio, "--dry-run", schema="plan")
        for ratio in ("0.1", "3")
    }
    assert [plan["group_scatter"] for plan in plans.values()] == [0.1, 3.0]
    errors = [
        next(e["error"] for e in plan["effects"] if e["name"] == "melt_temperature")
        for plan in plans.values()
    ]
    assert errors[1] > 3 * errors[0]
    (cap / "study.toml").write_text("press.group_scatter = 3\n" + STUDIES["map"][0])
    assert _json(capsys, cap, "--dry-run", schema="plan") == plans["3"]


def test_grow__dry_run__writes_nothing(cap: Path) -> None:
    assert run(["plan", str(cap), "--kind", "factorial"]) == 0
    before = [path.read_bytes() for path in sorted(cap.glob("*.*"))]
    assert run(["plan", str(cap), "--grow", "center", "--shots", "2", "--dry-run"]) == 0
    assert [path.read_bytes() for path in sorted(cap.glob("*.*"))] == before


@pytest.mark.parametrize("more", ["", '[[avoid]]\npressure = ">= 4.8"\n'])
def test_compare__three_plans_or_more__one_recommended_and_nothing_written(
    cap: Path, capsys: pytest.CaptureFixture[str], more: str
) -> None:
    (cap / "study.toml").write_text(TWO + more)
    document = _json(capsys, cap, "--compare", schema="plan_comparison")
    kinds = [one["kind"] for one in document["candidates"]]
    assert 3 <= len(kinds) <= 4 and document["recommended"] in kinds
    assert document["why"].startswith(f"Take {document['recommended']}: ")
    assert [path.name for path in cap.iterdir()] == ["study.toml"]
    assert run(["plan", str(cap), "--compare", "--minutes", "90"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "90 min" in lines[0] and max(map(len, lines)) <= 80


def test_compare__rehearsed__overlap_of_each_and_the_same_for_the_same_seed(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (cap / "study.toml").write_text(STUDIES["dial"][0])
    words = ("--compare", "--rehearse", "2", "--minutes", "60")
    first = _json(capsys, cap, *words, schema="plan_comparison")
    assert all(one["practice_presses"] == 2 for one in first["candidates"])
    assert all(0 <= one["overlap_median"] <= 1 for one in first["candidates"])
    assert _json(capsys, cap, *words, schema="plan_comparison") == first
    study = in_minutes(read_study(cap), 60.0)
    shots = make_plan(study, minutes=60.0).shots
    alone = [rehearse(study, shots, seed=1, number=number).overlap for number in range(2)]
    assert first["candidates"][0]["overlap_median"] == pytest.approx(sum(alone) / 2, rel=1e-5)
    plain = _json(capsys, cap, "--compare", schema="plan_comparison")
    assert all(one["overlap_median"] is None for one in plain["candidates"])
    assert run(["plan", str(cap), *words]) == 0
    out, err = capsys.readouterr()
    assert f"  {first['candidates'][0]['overlap_median']:.2f}\n" in out and "overlap" in out
    assert re.search(r"Rehearsed \d plans on 2 presses in \d+ s\.", err)
    assert [path.name for path in cap.iterdir()] == ["study.toml"]


def test_compare__minutes__the_plan_that_minutes_alone_would_give(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (cap / "study.toml").write_text(STUDIES["map"][0])
    alone = _json(capsys, cap, "--minutes", "120", "--dry-run", schema="plan")
    beside = _json(capsys, cap, "--compare", "--minutes", "120", schema="plan_comparison")
    optimal = beside["candidates"][0]
    assert (optimal["shots"], optimal["minutes"]) == (alone["shots"], alone["minutes"])


def test_minutes__after_the_plan__what_half_an_hour_would_buy(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (cap / "study.toml").write_text(STUDIES["map"][0])
    document = _json(capsys, cap, "--minutes", "120", "--dry-run", schema="plan")
    assert document["minutes"] <= 120 and document["half_hour_more"]
    plain = _json(capsys, cap, "--kind", "ladder", "--dry-run", schema="plan")
    assert plain["half_hour_more"] is None
    assert run(["plan", str(cap), "--minutes", "120", "--dry-run"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    gains = "; ".join(document["half_hour_more"])
    assert f"Half an hour more (150 min in place of 120 min) would buy {gains}." in out
    assert " of 2 h 00 min " in out


def test_ladder__recorded__range_for_the_next_study(
    cap: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["plan", str(cap), "--kind", "ladder", "--shots", "5"]) == 0  # 3.0 to 5.0 by 0.5
    readings = [("80", "0"), ("94", "0"), ("100", "0"), ("100", "0"), ("100", "0.4")]
    _record(
        cap,
        {k: {"fill (%)": f, "flash (mm)": w} for k, (f, w) in enumerate(readings, 1)},
    )
    document = _json(capsys, cap, "--dry-run", schema="plan")
    assert document["ladder"] == {
        "low": 3.5,
        "high": 5.0,
        "short_seen": True,
        "flash_seen": True,
    }
    assert run(["plan", str(cap)]) == 1  # it would lose the ladder
    assert "The ladder brackets pressure 3.5 to 5 bar gauge" in capsys.readouterr().err


def test_help__names_every_kind_and_every_way(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", "--help"]) == 0
    words = re.split(r"[^a-z-]+", capsys.readouterr().out)
    assert set(words) >= {*PLANS, *WAYS}
