"""Settings that are asked for: read from a table, and predicted as new shots."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from invented_shots import findings, study
from scipy.stats import norm

from shotwindow.doe.errors import StudyError
from shotwindow.reports.points import predict_points, read_points

HEADS = "pressure (bar),melt temperature (degC)\n"


def _read(tmp_path: Path, text: str) -> np.ndarray:
    path = tmp_path / "points.csv"
    path.write_text(text, encoding="utf-8")
    return read_points(path, study("map"))


def test_read_points__commas_blanks_and_units__in_order(tmp_path: Path) -> None:
    text = (
        "sep=;\nmelt temperature (degC);pressure (bar);note\n220;4,25;a\n;;\n230 degC;4.1 bar;b\n"
    )
    assert _read(tmp_path, text).tolist() == [[4.25, 220.0], [4.1, 230.0]]


def test_read_points__names_without_units__are_taken(tmp_path: Path) -> None:
    assert _read(tmp_path, "pressure,melt_temperature\n4,210\n").tolist() == [[4.0, 210.0]]


def test_read_points__header_only__no_point(tmp_path: Path) -> None:
    assert _read(tmp_path, HEADS).shape == (0, 2)


def test_read_points__several_mistakes__all_are_named(tmp_path: Path) -> None:
    with pytest.raises(StudyError) as caught:
        _read(tmp_path, HEADS + "4.0,warm\n4.1\n1,250;,3\n")
    places = [problem.place for problem in caught.value.problems]
    assert any("row 2" in place and "melt temperature" in place for place in places)
    assert any("row 3" in place for place in places)


def test_read_points__column_missing__is_named(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="melt temperature"):
        _read(tmp_path, "pressure (bar)\n4.0\n")


def test_predict_points__a_mark__has_the_chances_of_the_window() -> None:
    found = findings("map")
    assert found.window is not None and found.setpoint is not None
    (point,) = predict_points(found, np.array([found.setpoint.settings]))
    assert point.probability_good == pytest.approx(found.setpoint.probability_good, abs=1e-6)
    assert point.probability_in_window == pytest.approx(
        found.setpoint.probability_in_window, abs=1e-6
    )


def test_predict_points__outside__no_answer_and_why() -> None:
    found = findings("map")
    settings = np.array([[4.0, 220.0], [5.5, 220.0], [4.0, 200.0]])
    inside, high, cold = predict_points(found, settings)
    assert inside.reason == "" and inside.fill is not None
    assert "pressure was tried from 3 to 5 bar" in high.reason
    assert "melt temperature was tried from 205 to 235 degC" in cold.reason
    assert high.probability_good is None and high.fill is None and high.flash is None


def test_predict_points__ruled_out__no_answer_and_why() -> None:
    (point,) = predict_points(findings("avoid"), np.array([[4.8, 9.0]]))
    assert "avoid" in point.reason and point.probability_good is None


def test_predict_points__fill__is_that_of_a_new_shot() -> None:
    """Against the closed form: with one cavity and one lot a new shot is normal for each draw.

    The chance that a mean over 8 x 512 shots is off by more than 0.012 is below 1e-6 (binomial).
    """
    found = findings("map")
    settings = np.array([[3.2, 212.0]])
    (point,) = predict_points(found, settings)
    surface = found.surfaces.fill
    sd = np.hypot(surface.shot_sd, surface.group_sd)
    assert point.fill is not None
    for value, level in ((point.fill.low, 0.05), (point.fill.median, 0.5), (point.fill.high, 0.95)):
        latent = np.log(value / 100)
        below = norm.cdf((latent - surface.latent(settings)[0] - surface.lot[:, 0]) / sd).mean()
        assert below == pytest.approx(level, abs=0.035 if level == 0.5 else 0.02)


def test_predict_points__full_part__is_never_more_than_full() -> None:
    (point,) = predict_points(findings("map"), np.array([[5.0, 235.0]]))
    assert point.fill is not None and point.fill.high == 100.0
    assert point.flash is not None and point.flash.low > 0.1


def test_predict_points__grades__are_whole() -> None:
    found = findings("graded")
    low, high = predict_points(found, np.array([[3.0, 4.0], [5.0, 10.0]]))
    for point in (low, high):
        assert point.flash is not None
        grades = (point.flash.low, point.flash.median, point.flash.high)
        assert all(grade in (0.0, 1.0, 2.0, 3.0) for grade in grades)
    assert low.flash is not None and high.flash is not None
    assert low.flash.median == 0.0 and high.flash.median >= 2.0


def test_predict_points__several_cavities__the_worst_counts() -> None:
    found = findings("cube")
    settings = np.array([[3.2, 212.0, 5.0]])
    surface = found.surfaces.fill
    still = np.zeros_like(surface.shot_sd)
    apart = np.tile([0.0, -0.1], (len(still), 1))  # logarithms: the second is a tenth behind
    fill = replace(
        surface, cavity=apart, shot_sd=still, rest_sd=still, group_sd=still, lot=0 * surface.lot
    )
    (point,) = predict_points(replace(found, surfaces=replace(found.surfaces, fill=fill)), settings)
    typical = 100 * float(np.exp(np.median(surface.latent(settings)[0]) - 0.1))
    assert point.fill is not None and point.fill.median == pytest.approx(typical, rel=1e-3)
