import math
from dataclasses import replace

import numpy as np
import pytest
from sheets import EYE, GRADES, MASS

from shotwindow.doe.errors import StudyError
from shotwindow.doe.readings import Readings, readings
from shotwindow.doe.rows import Row
from shotwindow.doe.study import parse_study

INF = math.inf
SHOT = Row(3, "1", "", 1, "optimal", (4.0, 210.0), (None, None), (96.0,), (0.0,))
WEIGHED = replace(SHOT, fill=(1.9, 3.8))
WORDS = EYE + '[fill]\nmeasured = "full-or-short"\n'


def read(text: str, *rows: Row) -> Readings:
    return readings(parse_study(text), rows)


def fill(text: str, row: Row) -> list[tuple[float, float]]:
    found = read(text, row)
    ends = zip(found.fill_low[0], found.fill_high[0], strict=True)
    return [(float(f"{low:.6g}"), float(f"{high:.6g}")) for low, high in ends]


@pytest.mark.parametrize(
    ("value", "interval"),
    [
        (100.0, (100, INF)),
        (96.0, (95, 97)),
        (99.5, (98.5, 100)),
        (1.5, (0.5, 2.5)),
        (1.0, (-INF, 2)),  # zero has no logarithm
        ("full", (100, INF)),
        ("short", (-INF, 100)),
    ],
)
def test_readings__fill_by_eye(value: float | str, interval: tuple[float, float]) -> None:
    assert fill(EYE, replace(SHOT, fill=(value,))) == [interval]


def test_readings__fill_in_words() -> None:
    assert fill(WORDS, replace(SHOT, fill=("full",))) == [(100, INF)]
    assert fill(WORDS, replace(SHOT, fill=("short",))) == [(-INF, 100)]


@pytest.mark.parametrize(
    ("changed", "first", "second"),
    [
        # Full parts have 2 and 4 g, the balance 0.02 g: half a step is 0.5 and 0.25 percent.
        ({}, (94.5, 95.5), (94.75, 95.25)),
        ({"fill": (1.96, 3.93)}, (98, INF), (98, INF)),
        ({"fill": (1.95, 3.9)}, (97, 98), (97.25, 97.75)),
        ({"fill": ("full", "short")}, (98, INF), (-INF, 98)),
        ({"short_cavities": (1,)}, (94.5, 95.5), (98, INF)),
        ({"short_cavities": ()}, (98, INF), (98, INF)),
        ({"fill": (1.99, 3.8), "short_cavities": (1, 2)}, (-INF, 98), (94.75, 95.25)),
        ({"fill": (1.955, 3.8), "short_cavities": (1, 2)}, (97.25, 98), (94.75, 95.25)),
        ({"flash": (0.12,)}, (-INF, 95.5), (-INF, 95.25)),
        ({"fill": (1.99, 3.8), "flash": (0.12,)}, (-INF, INF), (-INF, 95.25)),
        ({"flash": (0.12, 0.0)}, (-INF, 95.5), (94.75, 95.25)),
        ({"flash": (0.12,), "short_cavities": ()}, (98, INF), (98, INF)),
        ({"fill": (5.7,), "short_cavities": (2,)}, (98, INF), (-INF, 98)),
    ],
    ids=[
        "short", "full", "just-short", "words", "seen", "all-seen-full", "seen-short-though-heavy",
        "seen-short", "flashed", "flashed-and-heavy", "one-flashed", "flashed-seen-full", "total",
    ],
)  # fmt: skip
def test_readings__fill_by_mass(
    changed: dict[str, tuple[float | str, ...]],
    first: tuple[float, float],
    second: tuple[float, float],
) -> None:
    assert fill(MASS, replace(WEIGHED, **changed)) == [first, second]  # type: ignore[arg-type]


def test_readings__trimmed_grade__mass_is_an_upper_bound() -> None:
    text = MASS + '[flash]\nmeasured = "grade"\n'
    assert fill(text, replace(WEIGHED, flash=(1,)))[0] == (94.5, 95.5)
    assert fill(text, replace(WEIGHED, flash=(2,)))[0] == (-INF, 95.5)


@pytest.mark.parametrize(
    ("width", "interval"),
    [(0.0, (-INF, 0.02)), (0.01, (-INF, 0.02)), (0.02, (0.01, 0.03)), (0.3, (0.29, 0.31))],
)
def test_readings__flash_width(width: float, interval: tuple[float, float]) -> None:
    found = read(EYE, replace(SHOT, flash=(width,)))
    assert found.flash_low is not None and found.flash_high is not None
    assert (found.flash_low[0, 0], found.flash_high[0, 0]) == pytest.approx(interval)
    assert found.flash_grade is None


@pytest.mark.parametrize("text", [EYE, MASS, GRADES], ids=["eye", "mass", "grades"])
def test_readings__no_part__far_too_short_and_flash_unknown(text: str) -> None:
    columns = 2 if text == MASS else 1
    nothing = replace(SHOT, status="no part", fill=(None,) * columns, flash=(None,))
    found = read(text, nothing)
    assert found.fill_low.tolist() == [[-INF] * columns]
    assert found.fill_high.tolist() == [[50.0] * columns]
    if text == GRADES:
        assert found.flash_grade is not None
        assert (found.flash_grade.tolist(), found.flash_low) == ([[-1]], None)
    else:
        assert found.flash_low is not None and found.flash_high is not None
        assert (found.flash_low[0, 0], found.flash_high[0, 0]) == (-INF, INF)


def test_readings__grades__whole_numbers() -> None:
    found = read(GRADES, replace(SHOT, flash=(2,)))
    assert found.flash_grade is not None
    assert found.flash_grade.tolist() == [[2]]
    assert (found.fill_good, found.flash_good) == (100.0, 1.0)
    assert np.issubdtype(found.flash_grade.dtype, np.integer)


def test_readings__limits_of_a_good_part() -> None:
    found = read(MASS, WEIGHED)
    assert (found.fill_good, found.flash_good) == (98.0, 0.1)


def test_readings__only_fitted_shots_in_running_order() -> None:
    rows = [
        replace(SHOT, shot=9),
        replace(SHOT, shot=1, kind="warm-up"),
        replace(SHOT, shot=4, status="void", note="no charge"),
        replace(SHOT, shot=5, status="skipped", fill=(None,), flash=(None,)),
        replace(SHOT, shot=6, fill=(None,), flash=(None,)),
        replace(SHOT, shot=7, group=2, lot="B"),
    ]
    found = read(EYE, *rows)
    assert found.shot.tolist() == [7, 9]
    assert (found.group.tolist(), found.lot.tolist()) == ([2, 1], ["B", ""])


def test_readings__actual_settings__used_where_every_fitted_shot_has_them() -> None:
    rows = [
        replace(SHOT, actual=(4.05, 209.0)),
        replace(SHOT, shot=4, actual=(3.95, None)),
        replace(SHOT, shot=5, actual=(4.0, 211.0)),
        replace(SHOT, shot=6, kind="warm-up"),
    ]
    found = read(EYE, *rows)
    assert (found.actual, found.partly_actual) == (("pressure",), ("melt_temperature",))
    assert found.settings.tolist() == [[4.05, 210.0], [3.95, 210.0], [4.0, 210.0]]
    assert found.used_actual
    planned = read(EYE, SHOT)
    assert not planned.used_actual
    assert planned.settings.tolist() == [[4.0, 210.0]]


def test_readings__reject_reasons__only_where_one_occurs() -> None:
    assert read(EYE, SHOT).other is None
    found = read(EYE, SHOT, replace(SHOT, shot=4, other="sink"))
    assert found.other is not None
    assert (found.other.tolist(), found.reasons) == ([False, True], ("sink",))


def test_readings__nothing_recorded__said() -> None:
    with pytest.raises(StudyError, match="no shot with a result"):
        read(EYE, replace(SHOT, kind="warm-up"))
