"""Words and numbers of factors and chances: units, and no certainty that is not there."""

import math

import pytest
from invented_shots import study

from shotwindow.doe.factors import Factor
from shotwindow.reports.naming import axis_label, chance, listed, percent, setting_words, with_unit


def test_with_unit__pressure__tells_where_it_is_read() -> None:
    pressure = study("map").factors[0]
    assert with_unit(pressure, 4.3) == "4.3 bar gauge"
    melt = Factor("pressure", "MPa", 30, 60, 1, (0, 100), 0.5, reads="melt")
    assert axis_label(melt) == "pressure (MPa melt)"
    assert axis_label(study("map").factors[1]) == "melt temperature (degC)"


@pytest.mark.parametrize("probability", [0.9951, 0.99999, 1.0])
def test_chance__near_one__is_never_called_certain(probability: float) -> None:
    assert chance(probability) == "over 0.99"


def test_chance__ends_and_nothing() -> None:
    assert [chance(p) for p in (0.0, 0.004, 0.006, 0.5, 0.994, math.nan)] == [
        "under 0.01",
        "under 0.01",
        "0.01",
        "0.50",
        "0.99",
        "unknown",
    ]


def test_percent__whole_window__is_100() -> None:
    assert [percent(s) for s in (1.0, 0.999, 0.994, 0.1, 0.004)] == [
        "100 %",
        "99.9 %",
        "99 %",
        "10 %",
        "0.4 %",
    ]


def test_listed__any_number_of_words() -> None:
    assert [listed([]), listed(["a"]), listed(["a", "b"], "or")] == ["", "a", "a or b"]


def test_setting_words__all_factors() -> None:
    words = setting_words(study("cube").factors, (4.0, 220.0, 7.5))
    assert words == "pressure 4 bar gauge, melt temperature 220 degC, injection time 7.5 s"
