import numpy as np
import pytest
from published import assert_close, numbers

from shotwindow.doe.errors import Unanswerable
from shotwindow.models.split_plots import split_plot
from shotwindow.models.textbook import fit


def test_split_plot__plasma__slow_effects_on_four_degrees_of_freedom() -> None:
    """Montgomery, 10th ed., Table 14.22; R 4.2 with lme4 and pbkrtest."""
    table = numbers("montgomery/table_14_22", "A", "B", "E", "Uniformity", "WholePlot")
    a, b, e = table[:, :3].T
    matrix = np.column_stack([np.ones(16), a, b, a * b, e, a * e])
    found = split_plot(matrix, table[:, 3], table[:, 4].astype(int))
    assert found.slow.tolist() == [True] * 4 + [False] * 2
    assert (found.group_df, found.shot_df) == (4, 6)
    assert_close(found.df, [4, 4, 4, 4, 6, 6], atol=1e-9)
    assert found.at_boundary and found.measured and found.told.all()
    assert found.shot_variance == pytest.approx(42.45011, abs=6e-6)


def test_split_plot__cake_of_four_oven_runs__hardly_told() -> None:
    """Lawson: eleven cakes in four oven runs; one degree of freedom for the scatter of runs."""
    table = numbers("split_plots/cake_box_jones", "x1", "x2", "y", "Ovenrun")
    x1, x2 = table[:, 0], table[:, 1]
    matrix = np.column_stack([np.ones(11), x1, x1**2, x2, x2**2, x1 * x2])
    found = split_plot(matrix, table[:, 2], table[:, 3].astype(int))
    assert found.slow.tolist() == [True] * 3 + [False] * 3
    assert (found.group_df, found.shot_df) == (1, 4)
    assert not found.measured and not found.at_boundary
    assert_close(found.df, [1.0, 0.984, 0.986, 4, 4.053, 4], atol=6e-4)
    assert_close(
        found.std_errors, [0.266701, 0.265590, 0.375810, 0.020412, 0.043868, 0.025], atol=6e-7
    )
    assert found.p[1] > 0.3 and found.p[3] < 1e-4


def test_split_plot__equal_groups__test_between_means_of_groups() -> None:
    """With equal groups the slow test is the t test on the means of groups, written out here."""
    generator = np.random.default_rng(33)
    group = np.repeat(np.arange(6), 4)
    slow, fast = np.repeat([-1.0, 1.0] * 3, 4), np.tile([-1.0, -0.3, 0.3, 1.0], 6)
    response = 2 * generator.normal(size=6)[group] + generator.normal(size=24) + slow
    found = split_plot(np.column_stack([np.ones(24), slow, fast]), response, group)
    assert found.group_variance is not None and found.group_variance > 0
    means = response.reshape(6, 4).mean(axis=1)
    classical = fit(np.column_stack([np.ones(6), slow[::4]]), means)
    assert classical.covariance is not None
    assert_close(found.coefficients[1], classical.coefficients[1], rtol=1e-9)
    assert_close(found.std_errors[1], np.sqrt(classical.covariance[1, 1]), rtol=1e-6)
    assert_close(found.df[:2], 4.0, rtol=1e-6)


def test_split_plot__no_slow_effect__false_alarms_at_most_as_stated() -> None:
    """400 studies of four groups of five; nominal 5 %, plain least squares gives some 28 %.

    At most 5 % + 3.5 standard deviations; the plain test has to come out far above.
    """
    generator = np.random.default_rng(34)
    group, slow = np.repeat(np.arange(4), 5), np.repeat([-1.0, 1.0, -1.0, 1.0], 5)
    matrix = np.column_stack([np.ones(20), slow, np.tile(np.linspace(-1, 1, 5), 4)])
    ours = plain = 0
    for noise in generator.normal(size=(400, 24)):
        response = noise[:20] + noise[20:][group]
        ours += split_plot(matrix, response, group).p[1] < 0.05
        by_shots = fit(matrix, response)
        assert by_shots.covariance is not None
        t = by_shots.coefficients[1] / np.sqrt(by_shots.covariance[1, 1])
        plain += abs(t) > 2.1098  # t quantile, 17 degrees of freedom
    assert ours / 400 < 0.088
    assert plain / 400 > 0.20


def test_split_plot__two_groups__slow_effect_cannot_be_told() -> None:
    group, slow = np.repeat([1, 2], 4), np.repeat([-1.0, 1.0], 4)
    fast = np.tile([-1.0, -1.0, 1.0, 1.0], 2)
    response = np.array([1.0, 1.2, 3.1, 3.3, 5.0, 5.1, 7.2, 7.1])
    found = split_plot(np.column_stack([np.ones(8), slow, fast]), response, group)
    assert found.told.tolist() == [False, False, True]
    assert np.isnan(found.p[1]) and found.p[2] < 1e-3
    assert (found.group_df, found.shot_df) == (0, 5)
    assert found.group_variance is None and not found.measured
    assert found.df[2] == 5


def test_split_plot__constant_for_each_group__only_these_not_told() -> None:
    group = np.array([1, 1, 1, 2, 2, 2])
    fast, other = np.array([-1.0, -1, -1, 1, 1, 0]), np.array([-1.0, 0, 1, 0, 1, -1])
    matrix = np.column_stack([group == 1, group == 2, fast, other]).astype(float)
    found = split_plot(matrix, np.array([1.0, 2.0, 2.5, 7.0, 8.5, 5.0]), group)
    assert found.told.tolist() == [False, False, True, True]


def test_split_plot__fast_terms_that_add_up_to_a_group__carry_its_offset() -> None:
    """The constant less a fast product is 1 in the second group only: all three are moved by it."""
    group = np.array([1, 1, 1, 2, 2, 2])
    part, free = np.array([0.0, 0, 0, 1, 0.5, 0]), np.array([-1.0, 0, 1, -1, 1, 0])
    rest = (group == 2) - part
    matrix = np.column_stack([np.ones(6), part, rest, free])
    found = split_plot(matrix, np.array([1.0, 2.0, 2.5, 7.0, 8.5, 5.0]), group)
    assert found.slow.tolist() == [True, False, False, False]
    assert found.told.tolist() == [False, False, False, True]


def test_split_plot__each_shot_a_group__plain_least_squares() -> None:
    x = np.array([-1.0, -1.0, 0.0, 1.0, 1.0])
    response = np.array([1.0, 1.5, 2.0, 3.5, 3.0])
    matrix = np.column_stack([np.ones(5), x])
    found, plain = split_plot(matrix, response, np.arange(5)), fit(matrix, response)
    assert plain.covariance is not None
    assert_close(found.std_errors, np.sqrt(np.diag(plain.covariance)))
    assert found.told.all() and found.shot_variance == plain.variance
    assert found.group_variance is None


def test_split_plot__readings_too_coarse_to_scatter__nothing_told() -> None:
    group, fast = np.repeat([1, 2, 3, 4], 3), np.tile([-1.0, 0.0, 1.0], 4)
    response = np.repeat([90.0, 92.0, 94.0, 90.0], 3) + 2 * fast
    found = split_plot(np.column_stack([np.ones(12), fast]), response, group)
    assert not found.told.any()
    assert_close(found.coefficients, [91.5, 2.0])
    slow = np.repeat([-1.0, 1.0], 6)
    two_groups = np.column_stack([np.ones(12), slow, fast])
    exact = split_plot(two_groups, 90.0 + slow + fast, np.repeat([1, 2], 6))
    assert not exact.told.any()
    everything_full = split_plot(np.ones((4, 1)), np.full(4, 100.0), np.array([1, 1, 2, 2]))
    assert not everything_full.told.any()


def test_split_plot__saturated__nothing_told() -> None:
    matrix = np.column_stack([np.ones(3), [-1.0, 0.0, 1.0], [1.0, 0.0, 1.0]])
    found = split_plot(matrix, np.array([1.0, 5.0, 2.0]), np.array([1, 1, 2]))
    assert not found.told.any() and found.shot_variance is None


def test_split_plot__aliased__refused() -> None:
    with pytest.raises(Unanswerable):
        split_plot(np.ones((4, 2)), np.arange(4.0), np.array([1, 1, 2, 2]))
