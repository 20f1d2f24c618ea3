import numpy as np
from published import assert_close, numbers
from scipy import stats

from shotwindow.doe.terms import first_order, full_quadratic
from shotwindow.models.diagnostics import box_cox, influence
from shotwindow.models.textbook import fit


def test_influence__each_shot_left_out__the_slow_plain_way() -> None:
    """Studentized residual and Cook's distance by their definitions, refitting without the shot."""
    generator = np.random.default_rng(11)
    matrix = full_quadratic("ab").matrix(generator.uniform(-1, 1, (14, 2)))
    response = generator.normal(size=14)
    whole = fit(matrix, response)
    found = influence(whole)
    assert found is not None and whole.variance is not None
    for i in range(14):
        rest = np.arange(14) != i
        without = fit(matrix[rest], response[rest])
        assert without.variance is not None
        off = response[i] - matrix[i] @ without.coefficients
        error = np.sqrt(without.variance) * np.sqrt(
            1 + matrix[i] @ without.inverse @ without.inverse.T @ matrix[i]
        )
        assert_close(found.studentized[i], off / error, rtol=1e-8)
        moved = np.square(matrix @ (whole.coefficients - without.coefficients)).sum()
        assert_close(found.cooks_distance[i], moved / 6 / whole.variance, rtol=1e-8)
        own = 1 - whole.leverage[i]
        assert_close(
            found.standardized[i], whole.residuals[i] / np.sqrt(whole.variance * own), rtol=1e-8
        )
        p = min(1.0, 14 * 2 * stats.t.sf(abs(found.studentized[i]), 14 - 6 - 1))
        assert_close(found.p_outlier[i], p, rtol=1e-8)


def test_influence__one_wild_shot__named_an_outlier() -> None:
    table = numbers("montgomery/table_8_10", "A", "B", "Shrinkage")
    matrix, response = first_order("AB").matrix(table[:, :2]), table[:, 2].copy()
    calm = influence(fit(matrix, response))
    response[5] += 100.0
    wild = influence(fit(matrix, response))
    assert calm is not None and wild is not None
    assert np.all(calm.p_outlier > 0.05)
    assert np.flatnonzero(wild.p_outlier < 0.05).tolist() == [5]


def test_influence__no_outlier__false_alarms_as_often_as_stated() -> None:
    """400 studies of normal scatter at a nominal 5 %; Bonferroni is a little cautious."""
    generator = np.random.default_rng(1)
    matrix = first_order("ab").matrix(generator.uniform(-1, 1, (10, 2)))
    alarms = 0
    for response in generator.normal(size=(400, 10)):
        found = influence(fit(matrix, response))
        assert found is not None
        alarms += bool(np.any(found.p_outlier < 0.05))
    # 20 +- 4.4 of them; right code fails for 1 seed in 1000
    assert 6 <= alarms <= 35


def test_influence__shot_alone_decides_a_term__not_judged() -> None:
    x = np.array([0.0, 0.0, 0.0, 0.0, 1.0])
    found = influence(fit(np.column_stack([np.ones(5), x]), np.array([1.0, 2.0, 3.0, 4.5, 9.0])))
    assert found is not None
    assert found.leverage[4] > 1 - 1e-12
    assert np.isnan(found.studentized[4]) and np.isnan(found.cooks_distance[4])
    assert np.all(np.isfinite(found.studentized[:4]))


def test_influence__one_degree_of_freedom__no_outside_estimate_of_scatter() -> None:
    x = np.array([-1.0, 0.0, 1.0])
    found = influence(fit(np.column_stack([np.ones(3), x]), np.array([1.0, 2.0, 6.0])))
    assert found is not None
    assert np.all(np.isnan(found.studentized)) and np.all(np.isnan(found.p_outlier))
    assert np.all(np.isfinite(found.standardized))


def test_influence__nothing_left_to_judge_by__none() -> None:
    x = np.array([-1.0, 1.0])
    assert influence(fit(np.column_stack([np.ones(2), x]), np.array([1.0, 2.0]))) is None
    assert influence(fit(np.ones((3, 1)), np.full(3, 7.0))) is None


def test_box_cox__one_mean__as_scipy() -> None:
    response = np.random.default_rng(7).gamma(2.0, size=40)
    found = box_cox(np.ones((40, 1)), response)
    assert found is not None
    _, power, limits = stats.boxcox(response, alpha=0.05)
    assert_close([found.power, found.low, found.high], [power, *limits], atol=0.01)
    theirs = [stats.boxcox_llf(p, response) for p in found.powers]
    # ours leaves out no constant that theirs keeps but the one of the geometric mean
    assert np.ptp(found.log_likelihood - np.array(theirs)) < 1e-8


def test_box_cox__film_viscosity__logarithm() -> None:
    """Dean and Voss analyze the logarithm of this viscosity, which spans 14 to 27,800."""
    table = numbers("dean_voss/film_viscosity", "zP", "zH", "zT", "y")
    found = box_cox(full_quadratic("PHT").matrix(table[:, :3]), table[:, 3])
    assert found is not None
    assert found.low <= 0.0 <= found.high < 1.0


def test_box_cox__reading_of_zero__none() -> None:
    assert box_cox(np.ones((3, 1)), np.array([0.0, 1.0, 2.0])) is None
    assert box_cox(np.ones((1, 1)), np.array([1.0])) is None
