"""The shape of a window in words: its parts, what ends it, and what a stricter demand leaves."""

from dataclasses import replace

from invented_shots import findings

from shotwindow.models.limiting import Limit, Weakest
from shotwindow.models.parts import Part
from shotwindow.models.setpoint import Setpoint
from shotwindow.reports.notes import notes
from shotwindow.reports.shape_words import (
    cavity_words,
    curve_rows,
    curve_title,
    limits_words,
    parts_words,
    room,
    shape_sentences,
    stricter_rows,
)
from shotwindow.reports.verdicts import verdict


def test_parts_words__one_two_and_specks() -> None:
    found = findings("map")
    assert parts_words(found) == "The likely window is in one piece."
    large, small = Part(60, (0, 0), (5, 9), (1, 1)), Part(40, (10, 20), (15, 25), (11, 21))
    said = parts_words(replace(found, parts=(large, small)))
    assert "falls into 2 parts: 60 % of it within pressure 3 to 3.5 bar gauge" in said
    assert "40 % of it within pressure 4 to 4.5 bar gauge" in said
    speck = replace(small, marks=1)
    assert "one piece" in parts_words(replace(found, parts=(replace(large, marks=999), speck)))


def test_limits_and_cavity_words__each_edge() -> None:
    limits = (Limit("fill", 0.6, Weakest(2, 0.8)), Limit("flash", 0.4, None))
    assert limits_words(limits).endswith("what fails first is short 60 % and flash 40 %.")
    assert cavity_words(limits) == "First to fail: cavity 2 at the short edge (chance 0.80)."
    assert limits_words(()) == cavity_words(()) == ""


def test_stricter_rows__shares_only_fall_and_far_tails_are_starred() -> None:
    found = findings("map")
    assert found.window is not None
    rows = stricter_rows(found)
    assert [row[0] for row in rows[1:]] == [
        "95 % of shots good", "98 % of shots good*", "99 % of shots good*",
    ]  # fmt: skip
    likely = [found.window.share_likely, *(s.share_likely for s in found.window.stricter)]
    assert likely == sorted(likely, reverse=True)


def test_curve_rows__three_places_of_the_other_factor() -> None:
    rows = curve_rows(findings("map"))
    assert [row[0] for row in rows] == [
        "at", "melt temperature 205 degC", "melt temperature 220 degC", "melt temperature 235 degC",
    ]  # fmt: skip
    assert curve_title(findings("map")).startswith("Edges of pressure (bar gauge)")
    assert curve_rows(findings("dial")) == [] and curve_title(findings("dial")) == ""


def test_room__steps_to_the_nearest_end_of_the_window() -> None:
    found = findings("map")
    assert found.window is not None and found.setpoint is not None
    least = room(found, found.setpoint.mark)
    likely, (i, j) = found.window.likely, found.setpoint.mark
    near = likely[max(0, i - least) : i + least + 1, j]
    beside = likely[i, max(0, j - least) : j + least + 1]
    assert near.all() and beside.all() and least >= 1


def test_verdict__pressure_near_its_limit__headroom_is_missing() -> None:
    found = findings("map")
    assert found.setpoint is not None and "headroom" not in verdict(found)
    high: Setpoint = replace(found.setpoint, settings=(6.5, 220.0))
    said = verdict(replace(found, setpoint=high))
    assert "10 % pressure headroom is missing: it takes pressure 6.5 of 7 bar gauge" in said


def test_notes__lots_and_strict_demand() -> None:
    assert any("lot that was never shot is not covered" in n for n in notes(findings("map")))
    two = replace(findings("map").surfaces, lots=("A", "B"))
    assert any("every lot that was shot (A and B)" in n
               for n in notes(replace(findings("map"), surfaces=two)))  # fmt: skip
    assert any("far out in its tails" in n for n in notes(findings("strict")))


def test_shape_sentences__no_window__none() -> None:
    assert shape_sentences(replace(findings("map"), window=None)) == ()
