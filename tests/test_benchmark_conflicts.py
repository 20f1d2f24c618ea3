"""The part that counts wrong and right conflicts: one press, but it can fail."""

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from benchmarks import conflicts
from benchmarks.conflicts import rows_of, table
from benchmarks.keeping import read_rows, seeds
from benchmarks.trials import press_of, study_of

from shotwindow.doe.plans import make_plan
from shotwindow.doe.readings import Readings
from shotwindow.models.rehearsal import shoot_plan

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
    lines = kept.read_text().splitlines(keepends=True)
    half = lines[0]
    kept.write_text(half + half[: len(half) // 2])  # killed while it wrote its second row
    conflicts.main([*TINY, "--json", str(kept)])
    assert capsys.readouterr().out == first
    assert len(read_rows(kept)) == 4  # none of them behind the half one
    assert "| 14 | 0 of 8 effects |" in first and "| 2 of 2 studies |" in first
    assert "| 12 |" not in first
    other = {**rows[0], "shots": 12}  # of another run: kept, and not in the table of this one
    kept.write_text("".join(lines) + json.dumps(other) + "\n")
    conflicts.main([*TINY, "--json", str(kept)])
    assert capsys.readouterr().out == first and len(read_rows(kept)) == 5


@pytest.mark.parametrize("turned", [False, True])
def test_rows_of__seed_and_family__the_study_that_is_named_and_both_priors(
    turned: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    press = press_of("B", 3, 2, worn=False)
    study = study_of(press)
    seen = shoot_plan(study, press, make_plan(study, shots=14, seed=3).shots, seed=3)
    fitted, held = [], []

    def fit(readings: Readings, *, seed: int, signs: bool) -> SimpleNamespace:
        fitted.append((readings, seed, signs))
        each = [
            SimpleNamespace(response=name, signs=signs, diagnostics=SimpleNamespace(converged=fine))
            for name, fine in (("fill", True), ("flash", signs), ("other", not signs))
        ]
        return SimpleNamespace(each=each)

    def distances(one: SimpleNamespace, other: SimpleNamespace) -> np.ndarray:
        held.append((one.response, one.signs, other.response, other.signs))
        return np.array([[1.5, -2.5], [9.0, 9.0]])

    monkeypatch.setattr(conflicts, "fit_surfaces", fit)
    monkeypatch.setattr(conflicts, "distances", distances)
    (row,) = rows_of("B", 3, 14, turned, 2)
    # only the response whose fits may both be used; molding first
    assert held == [("fill", True, "fill", False)] and row["far"] == {"fill": [1.5, -2.5]}
    names = [factor.name for factor in study.factors]
    assert row == {"family": "B", "seed": 3, "shots": 14, "turned": turned, "of": names,
                   "far": row["far"]}  # fmt: skip
    assert [(seed, signs) for _, seed, signs in fitted] == [(3, True), (3, False)]
    expected = seen.settings.copy()
    if turned:  # mirrored in the middle of its range
        j = names.index("pressure")
        low, high = study.factors[j].low, study.factors[j].high
        expected[:, j] = (low + high) / 2 - (expected[:, j] - (low + high) / 2)
        assert np.abs(expected - seen.settings).max() > 0.1
    for readings, _, _ in fitted:
        assert readings.settings == pytest.approx(expected)
        assert (readings.fill_low == seen.fill_low).all() and (readings.shot == seen.shot).all()


def test_table__fit_of_fill_not_usable__its_study_not_counted() -> None:
    row = {"shots": 12, "of": ["pressure"], "turned": True}
    rows = [row | {"far": {"fill": [-3.0], "flash": [2.5]}}, row | {"far": {"flash": [1.0]}}]
    right = {**row, "turned": False, "far": {"fill": [0.5]}}
    assert table([right, *rows]).splitlines()[-1] == (
        "| 12 | 0 of 1 effects | 0.5 | 1 of 1 studies | 3.0 | 1 of 1 |"
    )


def test_table__both_ways_of_a_conflict__counted_by_size_wherever_the_pressure_stands() -> None:
    row = {"of": ["melt_temperature", "pressure"], "turned": True}
    fills = {12: [[2.5, -3.0], [0.0, 1.0], [-2.6, 5.0]], 20: [[0.0, -9.0]]}
    rows = [
        row | {"shots": shots, "far": {"fill": far, "flash": [0.0, -2.5]}}
        for shots in fills
        for far in fills[shots]
    ]
    rights = [
        row | {"shots": shots, "turned": False, "far": {"fill": [-2.7, 0.4], "flash": [1.0, 2.1]}}
        for shots in fills
    ]
    assert table([*rights, *rows]).splitlines()[2:] == [
        "| 12 | 2 of 4 effects | 2.7 | 2 of 3 studies | 3.0 | 5 of 9 |",
        "| 20 | 2 of 4 effects | 2.7 | 1 of 1 studies | 9.0 | 1 of 3 |",
    ]


def test_seeds__from_to_and_one() -> None:
    assert (seeds("3-5"), seeds("7")) == ([3, 4, 5], [7])
