import numpy as np
import pytest
from molds import study

from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import Factor
from shotwindow.doe.region import (
    LEVELS,
    SLOW_LEVELS,
    check_allowed,
    coarse_marks,
    coded_levels,
    coded_rule,
    marks_of,
    moments,
)
from shotwindow.doe.terms import full_quadratic

AVOID = '[[avoid]]\nmelt_temperature = ">= 230"\npressure = "> 4.5"'


@pytest.mark.parametrize("soak", [None, 10.0])
@pytest.mark.parametrize("count", [2, 3, 7, 20, 61, 500])
def test_coded_levels__any_number_of_marks__marks_with_both_ends(
    count: int, soak: float | None
) -> None:
    step = 1.0
    factor = Factor("x", "s", 0.0, count - 1.0, step, (0.0, 999.0), 0.1, soak_min=soak)
    levels = coded_levels(factor)
    assert np.isin(factor.natural(levels).round(9), factor.marks).all()
    assert (levels[0], levels[-1]) == (-1, 1)
    assert len(np.unique(levels)) == len(levels) == min(count, SLOW_LEVELS if soak else LEVELS)


def test_moments__full_grid_and_mean_over_marks__the_same() -> None:
    press = study(2, step="0.25")
    terms = full_quadratic(press.names)
    rows = terms.matrix(marks_of(press))
    np.testing.assert_allclose(moments(press, terms), rows.T @ rows / len(rows), atol=1e-12)


def test_moments__rules__only_what_is_allowed() -> None:
    ruled = study(2, more=AVOID)
    terms = full_quadratic(ruled.names)
    mean = moments(ruled, terms)[0]
    assert mean[terms.names.index("pressure x melt_temperature")] < -0.02
    assert len(marks_of(ruled)) == 21 * 31 - 5 * 6
    assert coded_rule(study(2)) is None
    rule = coded_rule(ruled)
    assert rule is not None
    assert rule(np.array([[1.0, 1.0], [1.0, -1.0]])).tolist() == [False, True]


def test_marks_of__eight_factors__a_sample_of_marks() -> None:
    sample = marks_of(study(8))
    assert sample.shape == (20_000, 8)
    # mean of 20,000 uniform draws: a false alarm once in 10^9
    assert np.abs(sample.mean(axis=0)).max() < 6.5 * sample.std() / 20_000**0.5


def test_marks_of__nothing_left__told() -> None:
    rules = '[[avoid]]\npressure = ">= 4"\n[[avoid]]\npressure = "< 4"'
    with pytest.raises(StudyError, match=r"\[\[avoid\]\].*no setting escapes"):
        marks_of(study(1, more=rules))


def test_coarse_marks__two_marks__named() -> None:
    assert coarse_marks(study(3)) == ()
    (problem,) = coarse_marks(study(3, step="2.0"))
    assert "factors.pressure" in problem.place
    assert "3 to 5" in problem.found


def test_check_allowed__forbidden_shot__named() -> None:
    ruled = study(2, more=AVOID)
    check_allowed(ruled, "factorial", np.array([[3.0, 235.0]]))
    with pytest.raises(StudyError, match=r"1 of 2 shots .*pressure \(bar\) 4.6, melt .* 230"):
        check_allowed(ruled, "factorial", np.array([[3.0, 235.0], [4.6, 230.0]]))
