"""Tables for pandas: the numbers of runs.csv and of `window`, as numbers."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from invented_shots import findings

from shotwindow.doe.study import read_study
from shotwindow.reports.documents import window_document
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.frames import frames

EXAMPLES = Path(__file__).parent.parent / "examples"


@pytest.fixture(scope="module")
def found() -> Findings:
    return read_findings(EXAMPLES / "plant-label")


def test_shots__same_as_pandas_reads_them_from_the_file(found: Findings) -> None:
    """The reader of pandas is the outside here: it knows nothing of runs.csv."""
    shots = frames(found)["shots"]
    told = pd.read_csv(EXAMPLES / "plant-label" / "runs.csv")
    assert list(shots) == [*told, "outcome"]
    for name in ("shot", "group", *(factor.label for factor in found.study.factors), "flash (mm)"):
        assert shots[name].dtype.kind in "if", name
        np.testing.assert_array_equal(shots[name], told[name])
    for name in (f"mass {i} (g)" for i in range(1, 5)):  # with a word where a part was full
        ours, theirs = (pd.to_numeric(t[name], errors="coerce") for t in (shots, told))
        np.testing.assert_array_equal(ours, theirs)
        assert (shots[name] == "full").tolist() == (told[name] == "full").tolist()
    assert (shots["mass 1 (g)"] == "full").any()
    assert shots["kind"].tolist() == told["kind"].tolist()
    assert shots["actual pressure (bar)"].isna().all()


def test_edges_and_setpoint__as_window_tells_them(found: Findings) -> None:
    tables, told = frames(found), window_document(found)
    assert tables["edges"]["median"].dtype == float
    for row, edge in zip(tables["edges"].to_dict("records"), told["edges"], strict=True):
        assert (row["factor"], row["side"]) == (edge["factor"], edge["side"])
        assert row["median"] == pytest.approx(edge["median"] or np.nan, nan_ok=True)
        assert row["low90"] == pytest.approx(edge["band90"][0] or np.nan, nan_ok=True)
        assert row["high50"] == pytest.approx(edge["band50"][1] or np.nan, nan_ok=True)
        assert pd.isna(row["response"]) == pd.isna(row["median"])
    for row in tables["setpoint"].to_dict("records"):
        assert row["setting"] == told["setpoint"][row["factor"]]
        assert row["range_low"] == told["ranges"][row["factor"]]["low"]


def test_marks__every_one_with_its_own_chance(found: Findings) -> None:
    marks, window, point = frames(found)["marks"], found.window, found.setpoint
    assert window is not None and point is not None
    assert len(marks) == np.prod([f.count for f in window.factors])
    assert not marks.duplicated(list(found.study.names)).any()
    at = marks
    for name, value in zip(found.study.names, point.settings, strict=True):
        at = at[np.isclose(at[name], value)]
    assert at["probability_good"].tolist() == pytest.approx([point.probability_good], abs=1e-6)
    tried = marks[marks.allowed & marks.tried]
    assert (tried.probability_in_window >= 0.5).sum() == window.likely.sum()


def test_effects__each_response_and_factor_once(found: Findings) -> None:
    effects = frames(found)["effects"]
    assert not effects.duplicated(["response", "factor"]).any()
    assert set(effects["factor"]) == set(read_study(EXAMPLES / "plant-label").names)
    assert (effects["low90"] <= effects["adds"]).all() and (
        effects["adds"] <= effects["high90"]
    ).all()


def test_frames__words_and_grades_and_nothing_found() -> None:
    tables = frames(findings("short"))
    assert set(tables["shots"]["outcome"]) == {"ok"}
    assert tables["setpoint"].empty == (findings("short").setpoint is None)
    assert frames(findings("graded"))["shots"]["flash (grade)"].dtype.kind in "if"
