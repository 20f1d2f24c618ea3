"""One sentence for each thing that a setting does."""

import pytest
from invented_shots import findings, mirrored

from shotwindow.reports.changes import Interval, Joint
from shotwindow.reports.effect_words import (
    effect_words,
    joint_words,
    response_sentences,
    span,
    stretch_words,
)
from shotwindow.reports.stretches import Stretch

PRESSURE, MELT = findings("map").study.factors
ADDS = Stretch(3.2, 4.4, Interval(5.5, 4.0, 7.0), 1)
OPEN = Stretch(4.4, 5.0, Interval(1.0, -2.0, 5.0), 0)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ([ADDS], "pressure +0.5 bar adds 4 to 7 percent fill between 3.2 and 4.4 bar."),
        (
            [OPEN, Stretch(3.2, 4.4, Interval(-5.5, -7.0, -4.0), -1)],
            "pressure +0.5 bar takes 4 to 7 percent fill between 3.2 and 4.4 bar; between 4.4 and "
            "5 bar cannot tell: -2 to +5 percent fill.",
        ),
        (
            [OPEN],
            "What pressure +0.5 bar does the shots cannot tell: -2 to +5 percent fill between 4.4 "
            "and 5 bar.",
        ),
        ([], "pressure was not changed enough to tell what it does to fill."),
    ],
)
def test_stretch_words__claims_first_and_doubt_called_so(told: list[Stretch], words: str) -> None:
    assert stretch_words(PRESSURE, "fill", "percent", told) == words


def test_effect_words__share__of_shots_over_the_limit() -> None:
    words = effect_words("flash", "share", Interval(0.7, 0.62, 0.81))
    assert words == "brings the share of shots over the flash limit from 50 to 70 % (62 to 81)"
    assert "rejected" in effect_words("other", "share", Interval(0.7, 0.6, 0.8))
    words = effect_words("flash", "share", Interval(0.6, 0.42, 0.71))
    assert words == "cannot tell: 50 % of shots over the flash limit become 42 to 71 %"


def test_span__a_small_end__never_rounded_to_nothing() -> None:
    assert span(0.004, 12.0) == "0.004 to 12" and span(0.0, 0.0) == "0 to 0"
    assert span(-1.26, 3.4, "+") == "-1.3 to +3.4"


def test_joint_words__less_when_the_melt_is_hot() -> None:
    low, high = Interval(7, 6, 8), Interval(3, 2, 4)
    joint = Joint("fill", PRESSURE, MELT, 0.5, low, high, "percent", "less")
    assert joint_words(joint) == (
        "pressure matters less when the melt is hot: +0.5 bar adds 6 to 8 percent fill at 205 "
        "degC; adds 2 to 4 percent fill at 235 degC."
    )


def test_joint_words__square_and_another_direction() -> None:
    low, high = Interval(3, 2, 4), Interval(0, -1, 1)
    square = Joint("fill", PRESSURE, PRESSURE, 0.5, low, high, "percent", "less")
    assert joint_words(square).startswith("pressure matters less the higher it is: +0.5 bar adds")
    assert "near 3 bar gauge; cannot tell: -1 to +1 percent fill near 5 bar" in joint_words(square)
    turning = Joint("fill", MELT, PRESSURE, 8, low, high, "percent", "")
    assert joint_words(turning).startswith("What melt temperature does changes with pressure: +8")


def test_response_sentences__conflict__is_among_them() -> None:
    found = mirrored("map")
    told = response_sentences(found, found.surfaces.fill)
    assert told[0].startswith("pressure +0.5 bar takes") and told[-1].startswith("Conflict: ")
    usual = response_sentences(findings("map"), findings("map").surfaces.fill)
    assert not any("Conflict" in line for line in usual)
