import dataclasses
import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.doe.factors import (
    Factor,
    coded_settings,
    natural_settings,
    snap_settings,
)

PRESSURE = Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05)
# Neither around zero nor of half-range one: there a range decoded twice shows.
MELT = Factor("melt_temperature", "degC", 205, 235, 5, (190, 250), 2.5, soak_min=15)
BOTH = (PRESSURE, MELT)


@st.composite
def factors(draw: st.DrawFn) -> Factor:
    step = draw(st.sampled_from([0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 50.0]))
    # Rounded as a person writes them.
    low = round(draw(st.integers(-2000, 2000)) * step / 8, 4)
    high = round(low + draw(st.integers(1, 60)) * step, 4)
    return Factor("x", "u", low, high, step, (low, high), step / 2)


def test_marks__steps_of_a_tenth__without_dust() -> None:
    assert PRESSURE.marks.tolist() == [round(3 + 0.1 * k, 1) for k in range(21)]
    assert PRESSURE.count == 21


def test_marks__low_finer_than_the_step__kept() -> None:
    factor = Factor("x", "u", 3.05, 3.35, 0.1, (0, 7), 0.05)
    assert factor.marks.tolist() == [3.05, 3.15, 3.25, 3.35]


def test_text__low_much_finer_than_the_step__whole_mark() -> None:
    factor = Factor("x", "u", 3.0625, 4.0625, 0.5, (0, 7), 0.05)
    assert [factor.text(mark) for mark in factor.marks] == ["3.0625", "3.5625", "4.0625"]


def test_marks__shared_array__cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        PRESSURE.marks[0] = 9


def test_factor__after_marks_were_used__still_equal_and_sendable() -> None:
    twin = dataclasses.replace(PRESSURE)
    assert twin.marks is not PRESSURE.marks
    assert twin == PRESSURE
    assert hash(twin) == hash(PRESSURE)
    assert pickle.loads(pickle.dumps(PRESSURE)) == PRESSURE


@pytest.mark.parametrize(
    ("name", "acts_as", "role"),
    [
        ("pressure", None, "pressure"),
        ("melt_temperature", None, "temperature"),
        ("mold_temperature", None, "temperature"),
        ("injection_time", None, "time"),
        ("nozzle_heat", "temperature", "temperature"),
        ("tilt", None, None),
    ],
)
def test_role(name: str, acts_as: str | None, role: str | None) -> None:
    assert Factor(name, "u", 1, 2, 1, (1, 2), 0, acts_as=acts_as).role == role


def test_is_slow__only_with_a_soak() -> None:
    assert (PRESSURE.is_slow, MELT.is_slow) == (False, True)


@pytest.mark.parametrize(
    ("value", "mark"),
    [(3.0, 3.0), (4.26, 4.3), (4.24, 4.2), (-9, 3.0), (9, 5.0), (5.04, 5.0), (4.3000001, 4.3)],
)
def test_snap(value: float, mark: float) -> None:
    assert PRESSURE.snap(value) == mark


def test_snap__missing_value__stays_missing() -> None:
    assert np.isnan(PRESSURE.snap([np.nan, 3.0])).tolist() == [True, False]


def test_coded__ends_and_center() -> None:
    assert MELT.coded([205, 220, 235]).tolist() == [-1, 0, 1]


@given(factors(), st.floats(-3, 3))
def test_natural__of_coded__same_value(factor: Factor, coded: float) -> None:
    assert factor.coded(factor.natural(coded)) == pytest.approx(coded, abs=1e-9)


@given(factors())
def test_marks__any_factor__are_marks_and_ends(factor: Factor) -> None:
    marks = factor.marks
    assert len(marks) == factor.count
    assert (marks[0], marks[-1]) == pytest.approx((factor.low, factor.high))
    assert np.array_equal(factor.snap(marks), marks)
    assert np.array_equal(factor.snap(factor.natural(factor.coded(marks))), marks)
    assert [float(factor.text(mark)) for mark in marks] == marks.tolist()


@given(factors(), st.floats(-1e4, 1e4))
def test_snap__any_value__is_the_nearest_mark(factor: Factor, value: float) -> None:
    nearest = np.abs(factor.marks - value).min()
    assert abs(factor.snap(value) - value) == pytest.approx(nearest, abs=1e-6 * factor.step)


def test_settings__columns_in_factor_order__there_and_back() -> None:
    settings = np.array([[3.0, 235.0], [4.5, 220.0], [5.0, 205.0]])
    coded = coded_settings(BOTH, settings)
    assert coded.tolist() == [[-1, 1], [0.5, 0], [1, -1]]
    assert natural_settings(BOTH, coded).tolist() == settings.tolist()
    assert snap_settings(BOTH, settings + [0.04, 2.4]).tolist() == settings.tolist()


def test_settings__stacked_or_single__keep_their_shape() -> None:
    assert coded_settings(BOTH, np.zeros((2, 3, 2))).shape == (2, 3, 2)
    assert coded_settings(BOTH, [4.0, 220]).tolist() == [0, 0]


@pytest.mark.parametrize("settings", [[[3.0]], [1.0, 2.0, 3.0], 4.0])
def test_settings__wrong_number_of_columns__refused(settings: object) -> None:
    with pytest.raises(ValueError, match=r"expected \(n, 2\)"):
        coded_settings(BOTH, settings)  # type: ignore[arg-type]
