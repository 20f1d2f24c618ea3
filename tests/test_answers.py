from typing import Any

import pytest
from sheets import EYE, GRADES, MASS

from shotwindow.doe.answers import full_masses, is_heavy, is_over_limit, readers
from shotwindow.doe.cells import Wrong
from shotwindow.doe.columns import Layout, standard_layout
from shotwindow.doe.headings import layout_of
from shotwindow.doe.study import Study, parse_study
from shotwindow.doe.tables import Cell

WORDS = EYE + '[fill]\nmeasured = "full-or-short"\n'
TOTAL = ("shot", "mass (g)", "short cavities", "flash (mm)")


def value(text: str, heading: str, typed: str, names: tuple[str, ...] = ()) -> Any:
    study = parse_study(text)
    layout = layout_of(study, names, "runs.csv") if names else standard_layout(study)
    return readers(study, layout)[heading](Cell(typed, 2, 8))


@pytest.mark.parametrize(
    ("text", "heading", "typed", "meant"),
    [
        (EYE, "fill (%)", "95 %", 95.0),
        (EYE, "fill (%)", "96,5", 96.5),
        (EYE, "fill (%)", "100", 100.0),
        (EYE, "fill (%)", "Full", "full"),
        (EYE, "fill (%)", "s", "short"),
        (WORDS, "fill (full or short)", "SHORT", "short"),
        (WORDS, "fill (full or short)", "f", "full"),
        (MASS, "mass 2 (g)", "3,96 g", 3.96),
        (MASS, "mass 1 (g)", "short", "short"),
        (EYE, "flash (mm)", "0.04mm", 0.04),
        (EYE, "flash (mm)", "None", 0.0),
        (GRADES, "flash (grade)", "None", 0),
        (GRADES, "flash (grade)", "3", 3),
        (EYE, "actual pressure (bar)", "4,1 bar", 4.1),
        (EYE, "actual melt temperature (degC)", "251", 251.0),
        (EYE, "status", "No-Part", "no part"),
        (EYE, "status", "empty", ""),
        (EYE, "other", " Sink  marks ", "sink marks"),
        (EYE, "other", "none", ""),
    ],
)
def test_readers__right_answers(text: str, heading: str, typed: str, meant: Any) -> None:
    assert value(text, heading, typed) == meant


@pytest.mark.parametrize(
    ("text", "heading", "typed", "do"),
    [
        (EYE, "fill (%)", "101", "shows as flash"),
        (EYE, "fill (%)", "-3", ""),
        (EYE, "fill (%)", "0", '"no part"'),
        (EYE, "fill (%)", "0.95", "write 95 "),
        (EYE, "fill (%)", "1", "write 100 "),
        (EYE, "fill (%)", "nearly", ""),
        (WORDS, "fill (full or short)", "100", ""),
        (MASS, "mass 1 (g)", "21", "decimal mark"),
        (MASS, "mass 1 (g)", "0", '"no part"'),
        (MASS, "mass 2 (g)", "2,104", "2.104 or 2104"),
        (EYE, "flash (mm)", "-0.1", "from 0"),
        (EYE, "flash (mm)", "12", "decimal mark"),
        (EYE, "flash (mm)", "some", ""),
        (GRADES, "flash (grade)", "4", ""),
        (GRADES, "flash (grade)", "1.5", ""),
        (EYE, "actual pressure (bar)", "41", "decimal mark"),
        (EYE, "status", "viod", '"void" is perhaps meant'),
        (EYE, "status", "good", ""),
    ],
)
def test_readers__wrong_answers__what_to_do(text: str, heading: str, typed: str, do: str) -> None:
    with pytest.raises(Wrong) as caught:
        value(text, heading, typed)
    assert do in caught.value.do
    assert caught.value.expected


def test_readers__total_mass__number_only() -> None:
    assert value(MASS, "mass (g)", "5.9", TOTAL) == 5.9
    with pytest.raises(Wrong):
        value(MASS, "mass (g)", "full", TOTAL)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("none", ()), ("0", ()), ("2", (2,)), ("2, 1", (1, 2)), ("1;2", (1, 2)), ("1 1", (1,))],
)
def test_readers__short_cavities(typed: str, meant: tuple[int, ...]) -> None:
    assert value(MASS, "short cavities", typed, TOTAL) == meant


@pytest.mark.parametrize("typed", ["3", "1.2", "1-2", "left"])
def test_readers__cavities_that_the_mold_lacks__refused(typed: str) -> None:
    with pytest.raises(Wrong):
        value(MASS, "short cavities", typed, TOTAL)


def layouts(text: str, names: tuple[str, ...]) -> tuple[Study, Layout]:
    study = parse_study(text)
    return study, layout_of(study, names, "runs.csv")


def test_full_masses__each_way_of_weighing() -> None:
    assert full_masses(*layouts(MASS, TOTAL)) == (6.0,)
    each = ("shot", "mass 1 (g)", "mass 2 (g)", "flash (mm)")
    assert full_masses(*layouts(MASS, each)) == (2.0, 4.0)
    assert full_masses(*layouts(EYE, ("shot", "fill (%)", "flash (mm)"))) == (None,)


@pytest.mark.parametrize(
    ("text", "flash", "over", "heavy"),
    [
        (EYE, None, False, False),
        (EYE, 0.10, False, False),
        (EYE, 0.12, True, False),
        (EYE, 0.50, True, True),
        (GRADES, 1, False, False),
        (GRADES, 2, True, False),
        (GRADES, 3, True, True),
    ],
)
def test_flash__limits(text: str, flash: float | None, over: bool, heavy: bool) -> None:
    study = parse_study(text)
    assert (is_over_limit(study, flash), is_heavy(study, flash)) == (over, heavy)
