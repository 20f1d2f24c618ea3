import contextlib
import locale
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.doe.quantities import (
    LENGTH,
    MASS,
    PRESSURE,
    TEMPERATURE,
    TIME,
    NumberError,
    convert,
    decimals,
    format_number,
    read_number,
    unit_kind,
)

KINDS: list[list[str]] = [list(units) for units in (PRESSURE, TEMPERATURE, TIME, MASS, LENGTH)]
UNITS = [(a, b) for units in KINDS for a in units for b in units]


# NIST SP 811 (2008), appendix B.8, from memory; printed there to seven digits.
@pytest.mark.parametrize(
    ("unit", "si", "factor"),
    [
        ("psi", "kPa", 6.894757),
        ("bar", "kPa", 100.0),
        ("kg/cm2", "kPa", 98.0665),  # kilogram-force per square centimeter, technical atmosphere
        ("MPa", "kPa", 1000.0),
        ("oz", "g", 28.34952),  # avoirdupois
        ("in", "mm", 25.4),
        ("min", "s", 60.0),
    ],
)
def test_convert__one_unit__as_published(unit: str, si: str, factor: float) -> None:
    assert convert(1.0, unit, si) == pytest.approx(factor, rel=2e-7)


# Fixed points of the scales: freezing and boiling water, and where the two scales meet.
@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40)])
def test_convert__temperatures__are_points_not_differences(
    fahrenheit: float, celsius: float
) -> None:
    assert convert(fahrenheit, "degF", "degC") == celsius
    assert convert(celsius, "degC", "degF") == fahrenheit


# Worked value of "Understanding intensification ratio", Plastics Technology: 800 psi = 55.16 bar.
def test_convert__published_gauge_pressure__right_to_its_digits() -> None:
    assert convert(800, "psi", "bar") == pytest.approx(55.16, abs=0.005)


@given(st.floats(-1e6, 1e6), st.sampled_from(UNITS))
def test_convert__there_and_back__same_value(value: float, units: tuple[str, str]) -> None:
    there = convert(value, *units)
    assert convert(there, *reversed(units)) == pytest.approx(value, rel=1e-12, abs=1e-10)


@given(st.floats(-1e3, 1e3), st.sampled_from(KINDS), st.data())
def test_convert__by_a_third_unit__same_value(
    value: float, kind: list[str], data: st.DataObject
) -> None:
    first, second, third = (data.draw(st.sampled_from(kind)) for _ in range(3))
    by_second = convert(convert(value, first, second), second, third)
    assert by_second == pytest.approx(convert(value, first, third), rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(("a", "b"), [("bar", "degC"), ("bar", "rpm"), ("rpm", "rpm")])
def test_convert__unlike_units__refused(a: str, b: str) -> None:
    with pytest.raises(ValueError, match="no conversion"):
        convert(1.0, a, b)


def test_unit_kind__every_unit__belongs_to_one_kind() -> None:
    names = ["pressure", "temperature", "time", "mass", "length"]
    for name, units in zip(names, KINDS, strict=True):
        assert {unit_kind(unit) for unit in units} == {name}
    assert unit_kind("PSI") is None


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("4.3", 4.3),
        ("4,3", 4.3),
        (" 4.3\t", 4.3),
        ("0,850", 0.85),
        ("2.105", 2.105),  # a point is the decimal mark: balances show three decimals
        ("1250", 1250),
        ("1 250", 1250),
        ("1\u00a0250,5", 1250.5),  # no-break space
        ("1\u202f250\u202f000", 1250000),  # narrow no-break space, French
        ("1\u2009250.25", 1250.25),  # thin space
        ("1'250.5", 1250.5),  # Swiss
        ("1\u2019250", 1250),
        ("1,250.5", 1250.5),  # English
        ("1.250,5", 1250.5),  # German
        ("1,250,000", 1250000),
        ("1.250.000", 1250000),
        ("12345,678", 12345.678),  # five digits before: no thousands mark
        ("1,2500", 1.25),
        (",5", 0.5),
        ("+5", 5),
        ("-5", -5),
        ("\u22125,5", -5.5),  # minus sign
        ("\u20135", -5),  # en dash
        ("1,5e3", 1500),
        ("2E-05", 2e-5),
    ],
)
def test_read_number__as_written_in_many_countries(text: str, value: float) -> None:
    assert read_number(text) == value


@pytest.mark.parametrize(
    ("text", "readings"),
    [("1,250", (1.25, 1250)), ("-12,500", (-12.5, -12500)), ("999,999", (999.999, 999999))],
)
def test_read_number__comma_and_three_digits__refused_with_both_readings(
    text: str, readings: tuple[float, float]
) -> None:
    with pytest.raises(NumberError, match="could be") as caught:
        read_number(text)
    assert caught.value.readings == readings
    assert all(f"{reading:.10g}" in caught.value.reason for reading in readings)


@pytest.mark.parametrize(
    "text",
    """|x|4.3.2|4,3,2|1,25,000|12 50|1250 000|1 250,500.5|1.2,3.4|4.|4,|.|,|-|--5|1_000|0x10|
    nan|inf|-Infinity|1e999|1e|5%|5 bar|1/2|\u0664|5\u00b2|3\u20135|1,,5|1 ,5|True""".split("|"),
)
def test_read_number__no_number__refused(text: str) -> None:
    with pytest.raises(NumberError) as caught:
        read_number(text)
    assert caught.value.readings == ()


def test_read_number__percent_and_unit__only_where_allowed() -> None:
    assert read_number("95 %", percent=True) == 95
    assert read_number("95\u00a0%", percent=True) == 95
    assert read_number("95%", percent=True) == 95
    assert read_number("95", percent=True) == 95
    assert read_number("4,3 bar", unit="bar") == 4.3
    for text in ("95 %%", "%", "4.3 bar"):
        with pytest.raises(NumberError):
            read_number(text, percent=True)
    with pytest.raises(NumberError):
        read_number("4.3 psi", unit="bar")


@given(st.floats(-1e9, 1e9), st.integers(0, 6), st.sampled_from([".", ","]))
def test_read_number__any_number_in_any_hand__never_another_number(
    value: float, places: int, mark: str
) -> None:
    text = f"{value:.{places}f}".replace(".", mark)
    try:
        assert read_number(text) == float(text.replace(",", "."))
    except NumberError as refused:
        assert float(text.replace(",", ".")) in refused.readings


@given(st.integers(0, 10**12), st.sampled_from([" ", "'", "\u00a0", "\u202f"]))
def test_read_number__grouped_thousands__same_number(value: int, mark: str) -> None:
    assert read_number(f"{value:,}".replace(",", mark)) == value


def test_read_number__other_locale__same_number() -> None:
    before = locale.setlocale(locale.LC_ALL)
    tried = 0
    try:
        for name in ("C", "C.UTF-8", "en_US.UTF-8", "de_DE.UTF-8", "fr_FR.UTF-8", "de_CH.UTF-8"):
            with contextlib.suppress(locale.Error):  # not every machine has them all
                locale.setlocale(locale.LC_ALL, name)
                tried += 1
            assert (read_number("4,3"), read_number("1.250,5")) == (4.3, 1250.5)
            assert format_number(4.3, 0.1) == "4.3"
    finally:
        locale.setlocale(locale.LC_ALL, before)
    assert tried >= 1


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [
        (4.300000001, 0.1, "4.3"),
        (3 + 13 * 0.1, 0.1, "4.3"),
        (205.0, 1.0, "205"),
        (3.15, 0.1, "3.15"),
        (4.33333, 0.1, "4.333"),
        (0.25, 0.25, "0.25"),
        (-0.0, 0.1, "0"),
        (-1e-12, 0.1, "0"),
        (-0.0004, 0.1, "0"),
        (4.3301, 0.1, "4.33"),
        (1000.0, 50.0, "1000"),
        (1250.0, 50.0, "1250"),
        (1e-7, 1e-7, "0.0000001"),
    ],
)
def test_format_number(value: float, step: float, text: str) -> None:
    assert format_number(value, step) == text


@given(st.integers(-1000, 1000), st.sampled_from([0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 5, 50]))
def test_format_number__any_mark__reads_back_as_the_mark(k: int, step: float) -> None:
    text = format_number(k * step, step)
    assert math.isclose(read_number(text), k * step, abs_tol=1e-9)
    assert len(text.partition(".")[2]) <= decimals(step)
