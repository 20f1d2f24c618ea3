"""The part that counts wrong and right conflicts: one press, but it can fail."""

import json
from pathlib import Path

import pytest
from benchmarks import conflicts
from benchmarks.conflicts import table

TINY = ["--presses", "1", "--shots", "14", "--factors", "2", "--workers", "1"]


def test_main__cut_and_gone_on__pressure_turned_round_is_named_and_nothing_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = tmp_path / "rows.jsonl"
    conflicts.main([*TINY, "--json", str(kept)])
    first = capsys.readouterr().out
    rows = [json.loads(line) for line in kept.read_text().splitlines()]
    assert [(row["family"], row["turned"]) for row in rows] == [
        (family, turned) for family in "AB" for turned in (False, True)
    ]
    assert all(list(row["far"]) == ["fill", "flash"] for row in rows)
    for right, turned in (rows[:2], rows[2:]):
        place = right["of"].index("pressure")
        assert turned["far"]["fill"][place] < -2.0 < right["far"]["fill"][place] < 2.0
    half = kept.read_text().splitlines(keepends=True)[0]
    kept.write_text(half + half[: len(half) // 2])  # killed while it wrote its second row
    conflicts.main([*TINY, "--json", str(kept)])
    assert capsys.readouterr().out == first
    assert len(kept.read_text().splitlines()) == 4
    assert "| 14 | 0 of 8 effects |" in first and "| 2 of 2 studies |" in first


def test_table__fit_of_fill_not_usable__its_study_not_counted() -> None:
    row = {"shots": 12, "of": ["pressure"], "turned": True}
    rows = [row | {"far": {"fill": [-3.0], "flash": [2.5]}}, row | {"far": {"flash": [1.0]}}]
    right = {**row, "turned": False, "far": {"fill": [0.5]}}
    assert table([right, *rows]).splitlines()[-1] == (
        "| 12 | 0 of 1 effects | 0.5 | 1 of 1 studies | 3.0 | 1 of 1 |"
    )
