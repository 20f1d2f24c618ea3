import numpy as np
import pytest
from published import assert_close, montgomery_yield, numbers

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.seeds import generator
from shotwindow.doe.terms import full_quadratic
from shotwindow.models.prediction import predict, probability_jointly, probability_within
from shotwindow.models.stationary import stationary_point
from shotwindow.models.textbook import Fit, fit

TERMS = full_quadratic("ab")


@pytest.fixture
def montgomery() -> list[Fit]:
    """Yield, viscosity and molecular weight of Montgomery's Table 11.6, 10th ed., alpha 1.414."""
    responses = numbers("montgomery/table_11_6", "Yield", "Viscosity", "MolecularWeight")
    matrix = TERMS.matrix(montgomery_yield(1.414))
    return [fit(matrix, response) for response in responses.T]


def test_predict__montgomery_yield__recomputed_limits(montgomery: list[Fit]) -> None:
    point = stationary_point(TERMS, montgomery[0]).point
    row = TERMS.matrix(point[None])
    surface = predict(montgomery[0], row, readings=None)
    assert_close([surface.values[0], surface.leverage[0]], [80.212393, 0.190252], atol=6e-7)
    assert_close([surface.low[0], surface.high[0]], [79.93774, 80.48704], atol=6e-6)
    one = predict(montgomery[0], row)
    assert_close([one.low[0], one.high[0]], [79.52542, 80.89936], atol=6e-6)
    three = predict(montgomery[0], row, readings=3)
    assert_close([three.low[0], three.high[0]], [79.75676, 80.66802], atol=6e-6)


def test_probability_within__montgomery_yield__recomputed(montgomery: list[Fit]) -> None:
    point = stationary_point(TERMS, montgomery[0]).point
    rows = TERMS.matrix(np.array([point, [1.0, -1.0], [0.0, 0.0]]))
    found = probability_within(montgomery[0], rows, low=79.5)
    assert_close(found, [0.97801540, 0.00075547, 0.91238194], atol=6e-9)
    found = probability_within(montgomery[0], rows[:1], 78.5, 80.5)
    assert_close(found, [0.82211665], atol=6e-9)


def test_probability_jointly__montgomery_three_responses__peterson(montgomery: list[Fit]) -> None:
    """Peterson, Journal of Quality Technology 36 (2004) 139-153.

    Recomputed with 4e6 draws, standard error 2e-4; our integration errs by 1e-4.
    """
    places = np.array([[-0.6, 0.5], [0.4, -1.0], [0.0, 0.0], [-0.5, -0.9]])
    low, high = np.array([78.5, 62.0, -np.inf]), np.array([np.inf, 68.0, 3400.0])
    found = probability_jointly(
        montgomery, TERMS.matrix(places), low, high, generator(1, "peterson")
    )
    assert_close(found, [0.2150, 0.1341, 0.1409, 0.0228], atol=7e-4)
    # the fitted values at the second place meet all limits: overlaid contours would call it inside
    fitted = np.array([one.coefficients @ TERMS.matrix(places[1]) for one in montgomery])
    assert np.all((fitted >= low) & (fitted <= high))
    assert found[1] < 0.14


def test_probability_jointly__one_response__that_of_the_response_alone(
    montgomery: list[Fit],
) -> None:
    rows = TERMS.matrix(np.array([[0.3, 0.2], [-1.0, 0.5]]))
    low, high = np.array([79.0]), np.array([80.5])
    alone = probability_within(montgomery[0], rows, 79.0, 80.5)
    found = probability_jointly(montgomery[:1], rows, low, high, generator(2, "one"))
    assert_close(found, alone, atol=3e-4)


def test_probability_jointly__two_models__refused(montgomery: list[Fit]) -> None:
    other = fit(montgomery[0].matrix[:, :3], montgomery[1].response)
    limits = np.zeros(2), np.ones(2)
    with pytest.raises(ValueError, match="share one model"):
        probability_jointly([montgomery[0], other], np.ones((1, 6)), *limits, generator(1))


def test_probability_jointly__too_few_shots__cannot_be_answered() -> None:
    matrix = np.ones((2, 1))
    fits = [fit(matrix, np.array([1.0, 2.0])), fit(matrix, np.array([3.0, 1.0]))]
    with pytest.raises(Unanswerable, match="too few"):
        probability_jointly(fits, np.ones((1, 1)), np.zeros(2), np.ones(2), generator(1))


def test_predict__new_readings__inside_as_often_as_stated() -> None:
    """4000 studies of a new reading at 90 %: 3600 +- 19; fails by chance in 1 of 1000."""
    stream = np.random.default_rng(15)
    matrix, row = TERMS.matrix(montgomery_yield(1.414)), TERMS.matrix(np.array([[0.7, -0.4]]))
    inside = 0
    for noise in stream.normal(size=(4000, 14)):
        found = predict(fit(matrix, noise[:13]), row, level=0.9)
        inside += found.low[0] <= noise[13] <= found.high[0]
    assert 3537 <= inside <= 3663


def test_predict__five_limits_together__all_hold_as_often_as_stated() -> None:
    """2000 studies, 5 new readings in their limits at 90 % together; Bonferroni is cautious."""
    stream = np.random.default_rng(16)
    matrix = TERMS.matrix(montgomery_yield(1.414))
    rows = np.repeat(TERMS.matrix(np.array([[0.7, -0.4]])), 5, axis=0)
    held = 0
    for noise in stream.normal(size=(2000, 18)):
        found = predict(fit(matrix, noise[:13]), rows, level=0.9, together=5)
        held += bool(np.all((found.low <= noise[13:]) & (noise[13:] <= found.high)))
    # 1800 at least, less 3.3 standard deviations; each limit alone at 90 % would hold 1300
    assert 1756 <= held <= 1900


def test_predict__no_scatter_seen__cannot_be_answered() -> None:
    with pytest.raises(Unanswerable, match="scatter"):
        predict(fit(np.ones((3, 1)), np.full(3, 100.0)), np.ones((1, 1)))
    with pytest.raises(Unanswerable, match="scatter"):
        probability_within(fit(np.ones((1, 1)), np.ones(1)), np.ones((1, 1)))
