"""What `window` prints: every number that a user needs, 80 columns wide, on any terminal."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import STUDIES, findings

from shotwindow.models.margins import Edge
from shotwindow.reports.points import predict_points
from shotwindow.reports.surface_words import surface_lines
from shotwindow.reports.verdicts import Margin
from shotwindow.reports.words import (
    band_text,
    margin_text,
    next_step,
    paragraph,
    window_lines,
)


@pytest.mark.parametrize("name", sorted(STUDIES))
def test_lines__every_study__80_columns_of_ascii(name: str) -> None:
    found = findings(name)
    points = predict_points(found, np.array([[(f.low + f.high) / 2 for f in found.study.factors]]))
    lines = window_lines(found, points) + surface_lines(found, ["pressure = + a x b"])
    assert all(line.isascii() for line in lines)
    assert max(map(len, lines)) <= 80


def test_window_lines__setpoint__has_units_chances_and_ranges() -> None:
    found = findings("map")
    assert found.setpoint is not None and found.ranges is not None
    text = "\n".join(window_lines(found))
    pressure = found.setpoint.settings[0]
    assert f"pressure          {pressure:g} bar gauge" in text
    assert "chance of a good shot there" in text and "lowest over what the press holds" in text
    assert f"Ranges: every combination of these lies in the {found.ranges.of} window" in text
    assert "likely window (chance 0.5 or more)" in text and "Group scatter assumed" in text


def test_window_lines__both_edges__fail_as_they_should() -> None:
    lines = window_lines(findings("map"))
    at = next(i for i, line in enumerate(lines) if line.startswith("  pressure (bar gauge)"))
    assert lines[at + 1].split()[:2] == ["down", "short"]
    assert lines[at + 2].split()[:2] == ["up", "flash"]


def test_window_lines__no_setpoint__has_no_setpoint_lines() -> None:
    text = "\n".join(window_lines(findings("strict")))
    assert "Setpoint" not in text and "Ranges" not in text and "No setting reaches" in text


def test_window_lines__points__answered_or_told_why() -> None:
    found = findings("map")
    points = predict_points(found, np.array([[3.0, 205.0], [9.0, 205.0]]))
    text = " ".join(" ".join(window_lines(found, points)).split())
    assert "fill " in text and "no answer: outside what was shot" in text


def test_band_text__open_ends__are_beyond() -> None:
    factor = findings("map").study.factors[0]
    edge = Edge("pressure", "high", "flash", None, (4.93, None), (4.712, None))
    assert band_text(factor, edge) == ("no edge", "beyond", "4.93 to ..", "4.71 to ..")
    nowhere = Edge("pressure", "high", None, None, (None, None), (None, None))
    assert band_text(factor, nowhere) == ("no edge", "beyond", "beyond", "beyond")


def test_margin_text__each_case() -> None:
    factor = findings("map").study.factors[0]
    seen = Margin("pressure", "low", "fill", 0.42, 4, 2, 1.0)
    assert margin_text(factor, seen) == "0.42 bar, 4 marks (2)"
    unseen = replace(seen, distance=None, marks=None)
    assert margin_text(factor, unseen) == "no edge within 1 bar (2)"
    assert margin_text(factor, replace(unseen, tried=0.0)) == "end of what was tried"


def test_paragraph__long_text__hangs_under_its_mark() -> None:
    lines = paragraph("word " * 40, 2, "- ")
    assert lines[0].startswith("  - word") and all(line.startswith("    w") for line in lines[1:])


def test_next_step__each_state__leads_on() -> None:
    found = findings("map")
    assert found.setpoint is not None and found.window is not None
    sure = replace(found, setpoint=replace(found.setpoint, probability_in_window=0.95))
    assert "shotwindow confirm lid" in next_step(sure, "lid")
    shot = replace(found.rows[-1], kind="confirm")
    assert next_step(replace(sure, rows=(shot,)), "lid").startswith("shotwindow report lid")
    doubted = replace(found, setpoint=replace(found.setpoint, probability_in_window=0.6))
    assert "sharpen the window" in next_step(doubted, "lid")
    unseen = replace(sure, window=replace(found.window, open_edges=("flash",)))
    assert "edge that was never seen" in next_step(unseen, "lid")
    assert "shotwindow next lid" in next_step(findings("strict"), "lid")
    assert "shotwindow surfaces lid" in next_step(replace(found, window=None), "lid")
    rows = (replace(found.rows[-1], fill=(None,), flash=(None,)),)
    assert "shotwindow record lid" in next_step(replace(found, rows=rows), "lid")
