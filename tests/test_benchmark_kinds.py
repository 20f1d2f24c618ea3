"""The part that says what each kind of plan is worth: one press, but it can fail."""

import json
from pathlib import Path

import pytest
from benchmarks import kinds
from benchmarks.keeping import read_rows
from benchmarks.kinds import row_of, table


def test_row_of__kind_that_is_no_plan_of_the_size__only_its_key() -> None:
    assert row_of("A", 0, 12, "box-behnken") == {
        "family": "A",
        "seed": 0,
        "shots": 12,
        "kind": "box-behnken",
        "overlap": None,
    }


def test_main__cut_and_gone_on__each_row_once_and_the_same_table(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kinds, "FACTORS", 2)
    kept = tmp_path / "kinds.jsonl"
    words = ["--presses", "1", "--shots", "12", "--kinds", "factorial", "definitive"]
    kinds.main([*words, "--json", str(kept)])
    first = capsys.readouterr().out
    rows = [json.loads(line) for line in kept.read_text().splitlines()]
    rows.sort(key=lambda row: (row["family"], row["overlap"] is None))  # two workers made them
    assert [(row["family"], row["kind"]) for row in rows] == [
        (family, kind) for family in "AB" for kind in ("factorial", "definitive")
    ]
    assert all(row["overlap"] > 0.3 and row["setpoint_good"] > 0.9 for row in rows[::2])
    half = json.dumps(rows[0]) + "\n"
    kept.write_text(half + half[: len(half) // 2])  # killed while it wrote its second row
    kinds.main([*words, "--json", str(kept), "--workers", "1"])
    assert capsys.readouterr().out == first
    assert len(read_rows(kept)) == 4  # none of them behind the half one


def test_table__no_plan__a_dash() -> None:
    rows = [{"shots": shots, "kind": "composite", "overlap": None} for shots in (12, 16)]
    assert table(rows).splitlines()[-1] == "| composite | - | - |"
