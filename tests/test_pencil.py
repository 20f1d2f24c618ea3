from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from shotwindow.doe.seeds import generator
from shotwindow.doe.study import FillScale, FlashScale
from shotwindow.models.pencil import Written, read
from shotwindow.models.presets import preset
from shotwindow.models.shooting import Shots

Array = NDArray[np.float64]

PRESS = preset("clip")
EYE, MASS = FillScale("eye", 2.0, 100.0), FillScale("mass", 0.01, 98.0)
WORDS = FillScale("full-or-short", 100.0, 100.0)
WIDTH = FlashScale("width", "mm", 0.02, 0.02, 0.1)
GRADE = FlashScale("grade", "grade", 1.0, 1.0, 1.0)


def shots(fill: list[float], flash: list[float] | None = None) -> Shots:
    """Return shots of two cavities that are alike."""
    fills = np.array(fill)[:, None] * np.ones(2)
    widths = np.zeros_like(fills) if flash is None else np.array(flash)[:, None] * np.ones(2)
    return Shots(fills, 2.15 * fills / 100, widths, np.zeros(len(fill), np.intp), np.zeros((1, 1)))


def written(
    made: Shots, fill: FillScale = EYE, flash: FlashScale = WIDTH, *, slip_rate: float = 0.0
) -> Written:
    return read(PRESS, made, fill, flash, rng=generator(1, "test"), slip_rate=slip_rate)


def test_eye__in_steps__never_above_100__short_never_100() -> None:
    fill = written(shots([100.0] * 50 + [99.0] * 200 + [60.0] * 50)).fill
    assert fill is not None
    assert (fill[:50] == 100.0).all()
    assert fill[50:250].max() == 98.0
    np.testing.assert_allclose(fill % 2.0, 0.0)
    # 100 readings of 60 % with a standard deviation of 1.5: the mean is within 0.6 but once in 10^4
    assert np.mean(fill[250:]) == pytest.approx(60.0, abs=0.6)


def test_eye__step_that_does_not_divide_100__stays_below() -> None:
    fill = written(shots([99.0] * 50), FillScale("eye", 3.0, 100.0)).fill
    assert fill is not None and fill.max() == 99.0


def test_eye__hardly_short__looks_full() -> None:
    fill = written(shots([99.9, 99.0])).fill
    assert fill is not None
    assert (fill[0] == 100.0).all() and (fill[1] < 100.0).all()


def test_mass__in_steps_of_the_balance() -> None:
    out = written(shots([100.0, 50.0]), MASS)
    assert out.fill is None and out.mass is not None
    assert out.full is not None  # seen all the same
    assert out.full.tolist() == [[True, True], [False, False]]
    np.testing.assert_allclose(out.mass, np.round(out.mass, 2))
    np.testing.assert_allclose(out.mass[0], 2.15, atol=0.021)


def test_words__full_or_short() -> None:
    out = written(shots([100.0, 95.0]), WORDS)
    assert out.full is not None and out.full.tolist() == [[True, True], [False, False]]
    assert out.mass is None and out.fill is None


def test_width__in_steps__thin_is_not_seen() -> None:
    flash = written(shots([100.0] * 3, [0.0, 0.012, 0.3])).flash
    assert (flash[:2] == 0.0).all()
    np.testing.assert_allclose(flash[2], 0.3, atol=0.1)
    np.testing.assert_allclose(flash / 0.02, np.round(flash / 0.02))


def test_width__inches__converted() -> None:
    inches = FlashScale("width", "in", 0.001, 0.001, 0.004)
    flash = written(shots([100.0] * 2, [0.0, 1.27]), flash=inches).flash
    assert flash[1, 0] == pytest.approx(0.05, abs=0.02)


def test_grade__parts_at_the_limits_of_the_press() -> None:
    # limits 0.02, 0.1 and 0.5 mm
    flash = written(shots([100.0] * 4, [0.005, 0.05, 0.25, 2.0]), flash=GRADE).flash
    assert flash[:, 0].tolist() == [0.0, 1.0, 2.0, 3.0]


def test_no_part__only_where_every_cavity_is_nearly_empty() -> None:
    made = shots([10.0, 10.0, 60.0])
    made = replace(made, fill=np.array([[10.0, 20.0], [10.0, 40.0], [60.0, 60.0]]))
    assert written(made).no_part.tolist() == [True, False, False]


@pytest.mark.parametrize(("scale", "off"), [(EYE, 20.0), (MASS, 0.1)])
def test_slips__one_cavity__ten_steps_off(scale: FillScale, off: float) -> None:
    made = shots([60.0] * 400)
    right, wrong = written(made, scale), written(made, scale, slip_rate=0.1)
    # 400 rows at 0.1: between 18 and 65 slips but once in 4000 seeds
    assert 18 < wrong.slips.sum() < 65 and right.slips.sum() == 0
    a, b = (w.fill if scale is EYE else w.mass for w in (right, wrong))
    assert a is not None and b is not None
    changed = ~np.isclose(a, b)
    np.testing.assert_array_equal(changed.sum(axis=1), wrong.slips.astype(int))
    np.testing.assert_allclose(np.abs(a - b)[changed], off)


def test_slips__words__mixed_up() -> None:
    made = shots([60.0] * 400)
    out = written(made, WORDS, slip_rate=0.1)
    assert out.full is not None
    np.testing.assert_array_equal(out.full.sum(axis=1), out.slips.astype(int))
