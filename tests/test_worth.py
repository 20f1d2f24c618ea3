import pytest
from molds import study

from shotwindow.doe.plans import make_plan
from shotwindow.doe.worth import FIRST_ORDER_SD, SECOND_ORDER_SD, expected_error


def test_expected_error__by_hand__one_factor_at_two_levels() -> None:
    """Two shots at each end of one factor: posterior of constant plus square, and of slope."""
    mold = study(1, slow=False)
    plan = make_plan(mold, kind="factorial", shots=2)
    slope = 1 / (2 + FIRST_ORDER_SD**-2)
    # constant and square are seen only as their sum: x^2 differs from 1 by up to the prior's worth
    marks = mold.factors[0].coded(mold.factors[0].marks)
    a, b = FIRST_ORDER_SD**2, SECOND_ORDER_SD**2
    seen = a + b + 1 / 2
    variances = [a + b * x**4 - (a + b * x**2) ** 2 / seen + slope * x**2 for x in marks]
    mean = sum(variances) / len(marks)
    assert expected_error(mold, plan) == pytest.approx(mean**0.5)


def test_expected_error__more_shots_or_curvature__smaller() -> None:
    mold = study(2)
    plans = [make_plan(mold, shots=shots) for shots in (4, 8, 12)]
    errors = [expected_error(mold, plan) for plan in plans]
    assert errors == sorted(errors, reverse=True)
    square = make_plan(mold, kind="factorial", shots=12)
    assert expected_error(mold, square) > errors[2]
