"""A ruler for each factor says in words what the window and the edges say."""

import re

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.reports.dials import dial_figure, dial_words, good_stretch
from shotwindow.reports.theme import picture


@pytest.mark.parametrize("j", [0, 1])
def test_good_stretch__marks_of_the_window_through_the_setpoint(j: int) -> None:
    found = findings("map")
    assert found.window is not None and found.best is not None
    line = np.moveaxis(found.window.sure, j, 0)[:, found.best[1 - j]]
    marks = found.study.factors[j].marks[line]
    assert good_stretch(found, j, "sure") == f"{marks.min():g} to {marks.max():g}"


def test_dial_words__edges_and_setpoint__as_found() -> None:
    found = findings("map")
    assert found.setpoint is not None
    words = dial_words(found, 0)
    assert words.startswith("Ruler of pressure (bar gauge) from 3 to 5")
    for edge, way in zip(found.edges[:2], ("Downward: short", "Upward: flash"), strict=True):
        assert edge.median is not None
        told = re.search(rf"{way} from ([\d.]+) \(", words)
        assert told is not None
        assert float(told[1]) == pytest.approx(edge.median, abs=0.0051)  # a tenth of a mark
    assert words.endswith(f"The setpoint of pressure is {found.setpoint.settings[0]:g} bar gauge.")
    assert good_stretch(found, 0, "likely") in words


def test_dial_words__nothing_but_short__best_mark_and_no_window() -> None:
    words = dial_words(findings("short"), 0)
    assert "the other settings at the best mark" in words and "Sure window: none" in words


def test_dial_figure__axis_and_bytes() -> None:
    figure = dial_figure(findings("map"), 1)
    assert figure.axes[0].get_xlabel() == "melt temperature (degC)"
    assert picture(figure, "svg") == picture(dial_figure(findings("map"), 1), "svg")
