import random

import pytest
from sheets import EYE, MASS

from shotwindow.doe.columns import columns
from shotwindow.doe.headings import Match, layout_of, match_columns
from shotwindow.doe.study import parse_study
from shotwindow.doe.tables import Cell, Table


def matched(text: str, names: list[str]) -> Match:
    header = tuple(Cell(name, 1, j) for j, name in enumerate(names, start=1))
    return match_columns(parse_study(text), Table("runs.csv", "", header, ()))


def messages(match: Match) -> str:
    return "\n".join(map(str, match.problems))


def test_match_columns__any_order_case_and_spacing__the_same_columns() -> None:
    study = parse_study(MASS)
    names = list(columns(study))
    random.Random(1).shuffle(names)
    odd = [name.upper().replace(" ", "  ").replace(" (", "[").replace(")", "]") for name in names]
    match = matched(MASS, odd)
    assert match.problems == ()
    assert match.where == {name: names.index(name) for name in names}


def test_match_columns__own_columns__kept() -> None:
    match = matched(EYE, [*columns(parse_study(EYE)), "photo", "room temperature"])
    assert match.problems == ()
    assert match.layout.extra == ("photo", "room temperature")
    few = matched(EYE, ["shot", "fill (%)", "flash (mm)", "photo", "machine", "clock"])
    assert few.problems == ()
    assert few.layout.extra == ("photo", "machine", "clock")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("fil (%)", "fill (%)"),
        ("fill", "fill (%)"),
        ("flash (in)", "flash (mm)"),
        ("pressure (psi)", "pressure (bar)"),
        ("actual presure (bar)", "actual pressure (bar)"),
        ("statuss", "status"),
    ],
)
def test_match_columns__nearly_a_column__guessed(typed: str, meant: str) -> None:
    names = [typed if name == meant else name for name in columns(parse_study(EYE))]
    match = matched(EYE, names)
    assert len(match.problems) == 1
    assert match.problems[0].expected == f'"{meant}"'
    assert f'"{typed}"' in match.problems[0].place


def test_match_columns__readings_of_another_scale__says_what_the_study_says() -> None:
    match = matched(EYE, ["shot", "mass (g)", "flash (mm)"])
    assert '"fill (%)"; study.toml says [fill] measured = "eye"' in messages(match)


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["fill (%)", "flash (mm)"], "no column shot"),
        (["shot", "fill (%)", "Fill  (%)", "flash (mm)"], "a second time"),
        (["shot", "fill (%)", "flash (mm)", "photo", "photo"], "a second time"),
        (["shot", "fill (%)"], 'a column "flash (mm)"'),
    ],
)
def test_match_columns__wrong_header__said(names: list[str], said: str) -> None:
    assert said in messages(matched(EYE, names))


@pytest.mark.parametrize(
    ("fill", "problems"),
    [
        (["mass 1 (g)", "mass 2 (g)"], []),
        (["mass (g)", "short cavities"], []),
        (["mass (g)"], ["one total mass for 2 cavities"]),
        (["mass 1 (g)"], ['a column "mass 2 (g)"']),
        (["mass (g)", "mass 1 (g)", "mass 2 (g)", "short cavities"], ["one of the two ways"]),
    ],
    ids=["each", "total", "total-alone", "one-lacks", "both"],
)
def test_match_columns__masses_of_two_cavities(fill: list[str], problems: list[str]) -> None:
    match = matched(MASS, ["shot", *fill, "flash (mm)"])
    assert len(match.problems) == len(problems)
    assert all(said in messages(match) for said in problems)
    if not problems:
        assert list(match.layout.fill) == [name for name in fill if name != "short cavities"]


def test_layout_of__flash_for_each_cavity__its_headings() -> None:
    names = ["shot", "mass 1 (g)", "mass 2 (g)", "flash 1 (mm)", "flash 2 (mm)"]
    layout = layout_of(parse_study(MASS), names, "runs.csv")
    assert layout.flash == ("flash 1 (mm)", "flash 2 (mm)")
