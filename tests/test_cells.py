from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.doe.cells import Wrong, plain, read_real, read_whole
from shotwindow.doe.tables import Cell


def cell(text: str, kind: str = "text", number: float | None = None) -> Cell:
    return Cell(text, 2, 3, kind, number)


@given(
    digits=st.decimals(min_value=-9999, max_value=9999, places=3, allow_nan=False),
    mark=st.sampled_from(".,"),
    lead=st.sampled_from(["", " ", "\u00a0"]),
    unit=st.sampled_from(["", "mm", " mm", "\u202fmm"]),
)
def test_read_real__numbers_of_any_country__read_or_both_ways_named(
    digits: Decimal, mark: str, lead: str, unit: str
) -> None:
    text = lead + f"{digits:.3f}".replace(".", mark) + unit
    two_ways = mark == "," and 1 <= abs(digits) < 1000
    if not two_ways:
        assert read_real(cell(text.strip()), unit="mm") == float(digits)
        return
    with pytest.raises(Wrong) as caught:
        read_real(cell(text.strip()), unit="mm")
    assert plain(float(digits)) in caught.value.do
    assert plain(float(digits * 1000)) in caught.value.do


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e6, max_value=1e6))
def test_plain__any_number__reads_back_the_same(value: float) -> None:
    assert read_real(cell(plain(value))) == value


@pytest.mark.parametrize(
    ("wrong", "do"),
    [
        (cell("a formula", "formula"), "save it there"),
        (cell("#DIV/0!", "error"), "mend the formula"),
        (cell("2025-02-01", "date"), "type 0.5"),
        (cell("57%", "number", 57.0), ""),
        (cell("few"), ""),
    ],
    ids=["formula", "error", "date", "percent-where-none-belongs", "word"],
)
def test_read_real__no_number__what_to_do(wrong: Cell, do: str) -> None:
    with pytest.raises(Wrong) as caught:
        read_real(wrong, "a width in mm")
    assert caught.value.expected == "a width in mm"
    assert do in caught.value.do


def test_read_real__percent_cell__where_percent_belongs() -> None:
    assert read_real(cell("57%", "number", 57.0), percent=True) == 57.0


def test_read_whole__fraction__refused() -> None:
    assert read_whole(cell("7", "number", 7.0)) == 7
    with pytest.raises(Wrong):
        read_whole(cell("7.5"))


def test_wrong_at__names_what_is_there() -> None:
    problem = Wrong("grams", "check").at('runs.csv, row 7, "mass (g)"', cell("2,1 oz"))
    assert str(problem) == 'runs.csv, row 7, "mass (g)": found 2,1 oz; expected grams; check'
