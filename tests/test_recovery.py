"""The harness that judges the windows found: few presses, but it can fail."""

import json
from pathlib import Path

import numpy as np
import pytest
from benchmarks import recovery
from benchmarks.judge import METHODS, bins, edge_ranks, judge, overlap, rows_of
from benchmarks.tables import table
from benchmarks.trials import Found, Trial, make_trial, press_of, stretch, true_good, with_scatter
from benchmarks.walk import one_at_a_time
from numpy.typing import NDArray

TINY = ["--presses", "1", "--shots", "8", "--factors", "1", "--workers", "1"]
TINY += ["--methods", "ours", "one-at-a-time", "--json"]


@pytest.mark.parametrize("method", METHODS)
def test_method_finds_most_of_easy_window(method: str) -> None:
    """One factor, hardly any scatter and twelve shots: every method must manage that."""
    trial = make_trial(with_scatter(press_of("A", 4, 1, worn=False), 0.1), 12, 4)
    row = judge(trial, METHODS[method](trial))
    assert row["overlap"] >= 0.35
    assert row["setpoint_good"] >= 0.97
    assert max(row["edges"].values()) <= 3.0


def test_ours_finds_most_of_easy_window_over_two_factors() -> None:
    trial = make_trial(with_scatter(press_of("A", 1, 2, worn=False), 0.1), 20, 1)
    row = judge(trial, METHODS["ours"](trial))
    assert row["overlap"] >= 0.75
    assert row["sure_good"] >= 0.9


def test_worn_press_has_no_window() -> None:
    sound, worn = (press_of("B", 0, 2, worn=worn) for worn in (False, True))
    trial = make_trial(worn, 12, 0)
    assert make_trial(sound, 12, 0).good.any()
    assert not trial.good.any()
    assert 0.5 < trial.truth.max() < 0.9  # not far from one that has


def test_walk_makes_no_more_shots_than_given_and_ends_at_good_ones() -> None:
    trial = make_trial(press_of("B", 3, 3, worn=False), 12, 3)
    found = one_at_a_time(trial)
    assert 6 <= len(found.plan.fitted()) <= 12
    assert len(found.plan.shots) > len(found.plan.fitted())  # warm-up shots are counted as well
    assert found.setpoint is not None
    assert true_good(trial.press, np.array([found.setpoint]))[0] > 0.5


def test_walk_that_sees_no_good_shot_says_so() -> None:
    trial = make_trial(with_scatter(press_of("A", 1, 1, worn=False), 40.0), 8, 1)
    found = one_at_a_time(trial)
    assert found.setpoint is None
    assert not found.likely.any()


def test_method_that_fails_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(trial: Trial) -> Found:
        raise ArithmeticError("no way")

    monkeypatch.setitem(METHODS, "ours", fails)
    (row,) = rows_of("A", 1, 8, ("ours",), 1)
    assert "no way" in row["failure"] and row["says_none"] and row["overlap"] == 0.0
    lines = [line for line in _lines([row]) if "no answer at all" in line]
    assert lines[0].split("|")[2].strip() == "1"


def test_measures_by_hand() -> None:
    found, true = np.array([1, 1, 0, 0], bool), np.array([0, 1, 1, 0], bool)
    assert overlap(found, true) == pytest.approx(1 / 3)
    assert overlap(~(found | ~found), ~(true | ~true)) == 0.0
    assert stretch(np.array([1, 0, 1, 1, 0], bool), 2) == (2, 3)
    counted = bins(np.array([0.55, 0.58, 0.95, 0.99, np.nan]), np.array([0.5, 0.4, 1.0, 1.0, 1.0]))
    assert counted[0] == pytest.approx([2, 1.13, 0.9])
    assert counted[4] == pytest.approx([1, 0.95, 1.0])


def test_edge_ranks__three_of_four_draws_nearer__three_quarters() -> None:
    trial = make_trial(with_scatter(press_of("A", 4, 1, worn=False), 0.3), 12, 4)
    middle = trial.marks[trial.good].mean(axis=0)

    class Moved:
        def shares(self, line: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.column_stack(
                [true_good(trial.press, middle + far * (line - middle)) for far in (2, 2, 2, 0.6)]
            )

    ranks = edge_ranks(trial, Moved(), tuple(middle))  # type: ignore[arg-type] # shares only
    assert ranks == pytest.approx({"pressure low": 0.75, "pressure high": 0.75})
    rows = [{**row, "edge_ranks": ranks} for row in rows_of("A", 1, 8, ("ours",), 1)]
    lines = {line.split("|")[1].strip(): line.split("|")[2].strip() for line in _lines(rows)}
    assert lines["true edge in the 50% band of its draws"] == "1.000 (2)"
    outside = tuple(trial.marks[np.argmin(trial.truth)])
    assert edge_ranks(trial, Moved(), outside) == {}  # type: ignore[arg-type] # shares only


def test_table_says_what_rows_say() -> None:
    rows = rows_of("A", 5, 8, ("ours",), 1)
    assert [row["worn"] for row in rows] == [False, True]
    sound = [{**rows[0], "seed": seed, "overlap": value} for seed, value in ((1, 0.2), (2, 0.6))]
    lines = {line.split("|")[1].strip(): line.split("|")[2].strip() for line in _lines(sound)}
    assert lines["presses"] == "2"
    assert lines["overlap, mean"] == "0.400"
    assert lines["overlap, standard error"] == "0.200"


def _lines(rows: list[dict[str, object]]) -> list[str]:
    return table(rows).splitlines()


def test_same_seeds_same_table_also_when_cut(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole, cut = tmp_path / "whole.jsonl", tmp_path / "cut.jsonl"
    recovery.main([*TINY, str(whole)])
    first = capsys.readouterr().out
    assert "A ours" in first and "B one-at-a-time" in first
    recovery.main([*TINY, str(cut), "--part", "1/2"])
    partly = len(cut.read_text().splitlines())
    assert 0 < partly < len(whole.read_text().splitlines())
    cut.write_text(cut.read_text() + '{"family": "B", "se')  # killed while it wrote
    capsys.readouterr()
    recovery.main([*TINY, str(cut)])
    assert capsys.readouterr().out == first
    rows = [[json.loads(line) for line in file.read_text().splitlines()] for file in (cut, whole)]
    assert len(rows[0]) == len(rows[1]) == 4
    assert all(row in rows[1] for row in rows[0])
