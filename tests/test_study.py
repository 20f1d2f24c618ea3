import dataclasses

import numpy as np
import pytest

from shotwindow.doe.factors import Factor
from shotwindow.doe.study import Held, Study, parse_study

# Invented, for these tests only.
TEXT = """
[factors.pressure]
unit = "bar"
low = 3.0
high = 5.0
step = 0.1
limits = [2.5, 6.0]
[factors.melt_temperature]
unit = "degC"
low = 205
high = 235
step = 1
[[avoid]]
melt_temperature = ">= 230"
pressure = "> 4.7"
[[avoid]]
pressure = "== 3.3"
"""


@pytest.fixture
def study() -> Study:
    return parse_study(TEXT)


@pytest.mark.parametrize(
    ("pressure", "melt", "allowed"),
    [
        (4.7, 230, True),
        (4.8, 230, False),
        (3.0 + 17 * 0.1, 230, True),  # 4.7 with dust
        (4.8, 229, True),
        (3.3, 210, False),
        (3 + 3 * 0.1, 210, False),
        (2.5, 205, True),
        (2.4, 205, False),
        (6.1, 205, False),
        (4.0, 236, False),
        (4.0, 235, True),
        (4.0, np.nan, False),
    ],
)
def test_allowed(study: Study, pressure: float, melt: float, allowed: bool) -> None:
    assert study.allowed([[pressure, melt]]).tolist() == [allowed]


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        (">= 4", [True, False, False]),
        ("> 4", [True, True, False]),
        ("<= 4", [False, False, True]),
        ("< 4", [False, True, True]),
        ("= 4", [True, False, True]),
    ],
)
def test_allowed__each_comparison(condition: str, expected: list[bool]) -> None:
    rule = f'[[avoid]]\npressure = "{condition}"'
    study = parse_study(TEXT.partition("[[avoid]]")[0] + rule)
    assert study.allowed([[3.9, 210], [4.0, 210], [4.1, 210]]).tolist() == expected


def test_allowed__many_at_once__keeps_the_shape(study: Study) -> None:
    assert study.allowed(np.full((3, 4, 2), [4.0, 210.0])).shape == (3, 4)


def test_study__names_and_cavities(study: Study) -> None:
    assert study.names == ("pressure", "melt_temperature")
    assert study.cavities == 1


def test_study__frozen(study: Study) -> None:
    for part in (study, study.mold, study.factors[0], study.fill):
        with pytest.raises(dataclasses.FrozenInstanceError):
            part.name = "x"  # type: ignore[union-attr,misc]


@pytest.mark.parametrize(
    ("held", "text"),
    [
        (Held("charge", 12.0, "g"), "12 g"),
        (Held("gap", 0.05, "mm"), "0.05 mm"),
        (Held("nozzle", "open", ""), "open"),
    ],
)
def test_held__text(held: Held, text: str) -> None:
    assert held.text == text


def test_factor__as_parsed() -> None:
    assert parse_study(TEXT).factors[0] == Factor(
        "pressure", "bar", 3.0, 5.0, 0.1, (2.5, 6.0), 0.05
    )
