import numpy as np
import pytest
from published import assert_close, crossed, numbered, numbers, sum_coded, words

from shotwindow.doe.errors import Unanswerable
from shotwindow.models.reml import fit_reml, joint_test


def _joined(table: dict[str, list[str]], *columns: str) -> list[str]:
    return ["/".join(cells) for cells in zip(*(table[c] for c in columns), strict=True)]


def test_fit_reml__cake_of_four_oven_runs__kenward_roger() -> None:
    """Lawson, Design and Analysis of Experiments with R: cake, eleven in four oven runs.

    Errors and degrees of freedom recomputed with R 4.2, lme4 and pbkrtest.
    """
    table = numbers("split_plots/cake_box_jones", "x1", "x2", "y", "Ovenrun")
    x1, x2 = table[:, 0], table[:, 1]
    matrix = np.column_stack([np.ones(11), x1, x2, x1**2, x2**2, x1 * x2])
    found = fit_reml(matrix, table[:, 2], [table[:, 3].astype(int)])
    assert_close(found.variances, [0.140243, 0.0025], atol=6e-7)
    assert_close(found.deviance, -2.192676, atol=6e-7)
    assert_close(
        found.coefficients, [3.131185, -0.25, -0.433333, -0.683529, -0.096484, -0.35], atol=6e-7
    )
    errors = np.sqrt(np.diag(found.covariance))
    assert_close(errors, [0.266701, 0.265590, 0.020412, 0.375810, 0.043868, 0.025], atol=6e-7)
    tests = [joint_test(found, row[None]) for row in np.eye(6)]
    assert_close([t.error_df for t in tests], [1.0, 0.984, 4, 0.986, 4.053, 4], atol=6e-4)
    assert_close([t.f for t in tests], np.square(found.coefficients / errors), rtol=1e-9)


def test_fit_reml__paper_strength__classical_split_plot() -> None:
    """Montgomery, 10th ed., Table 14.16: three preparations at four temperatures, three days."""
    table = words("montgomery/table_14_16")
    response = numbers("montgomery/table_14_16", "TensileStrength")[:, 0]
    method, heat = sum_coded(table["Preperation"]), sum_coded(table["Temperature"])
    matrix = np.column_stack([np.ones(36), method, heat, crossed(method, heat)])
    groups = [numbered(table["Replicate"]), numbered(_joined(table, "Replicate", "Preperation"))]
    found = fit_reml(matrix, response, groups)
    assert_close(found.variances, [2.475694, 1.274306, 3.972222], atol=6e-7)
    unit = np.eye(12)
    tests = [joint_test(found, unit[rows]) for rows in (slice(1, 3), slice(3, 6), slice(6, 12))]
    assert_close([t.f for t in tests], [7.0781, 36.4266, 3.1539], atol=6e-5)
    assert_close([t.error_df for t in tests], [4.0, 18.0, 18.0], atol=1e-5)
    assert_close([t.p for t in tests], [0.048537, 7.4e-8, 0.027109], rtol=7e-3, atol=6e-7)
    # expected mean squares of the printed table: 4 x 3, 4 and 1 readings share a value
    shot, plot = 71.5 / 18, 36.2778 / 4
    day = 77.5556 / 2
    assert_close(found.variances, [(day - plot) / 12, (plot - shot) / 4, shot], atol=6e-6)


def test_fit_reml__plasma__variance_of_groups_is_zero() -> None:
    """Montgomery, 10th ed., Table 14.22: plasma treatment of paper, 2^(5-1) as a split plot."""
    table = numbers("montgomery/table_14_22", "A", "B", "E", "Uniformity", "WholePlot")
    a, b, e = table[:, :3].T
    matrix = np.column_stack([np.ones(16), a, b, e, a * b, a * e])
    found = fit_reml(matrix, table[:, 3], [table[:, 4].astype(int)])
    assert found.variances[0] == 0.0
    assert_close(found.variances[1], 42.45011, atol=6e-6)
    effects = 2 * found.coefficients[1:]
    assert_close(effects, [20.13125, 11.24875, 10.24625, 14.68625, 13.00375], atol=1e-9)
    df = [joint_test(found, row[None]).error_df for row in np.eye(6)]
    assert_close(df, [4, 4, 4, 6, 4, 6], atol=1e-9)


def test_fit_reml__oats__three_kinds_of_scatter() -> None:
    """Yates 1935; Pinheiro and Bates, Mixed-Effects Models in S and S-PLUS (2000)."""
    table = words("split_plots/oats_yates")
    nitrogen, response = numbers("split_plots/oats_yates", "nitro", "yield").T
    groups = [numbered(table["Block"]), numbered(_joined(table, "Block", "Variety"))]
    found = fit_reml(np.column_stack([np.ones(72), nitrogen]), response, groups)
    # as printed; the search that was used there stopped at the sixth digit
    assert_close(np.sqrt(found.variances), [14.50598, 11.00467, 12.86696], atol=4e-5)
    # exact from mean squares, since all groups are equal
    plots = response.reshape(6, 3, 4)
    blocks, cells, dose = plots.mean(axis=(1, 2)), plots.mean(axis=2), np.arange(4) - 1.5
    slope = plots.mean(axis=(0, 1)) @ dose / (dose @ dose)
    block = 12 * np.square(blocks - blocks.mean()).sum() / 5
    cell = 4 * np.square(cells - blocks[:, None]).sum() / 12
    shot = np.square(plots - cells[..., None] - slope * dose).sum() / 53
    assert_close(found.variances, [(block - cell) / 12, (cell - shot) / 4, shot], rtol=1e-7)
    assert_close(found.coefficients, [81.87222, 73.66667], atol=6e-6)
    assert_close(np.sqrt(np.diag(found.plain)), [6.945280, 6.781483], atol=6e-6)
    assert_close(-found.deviance / 2, -296.520877, atol=6e-7)


def test_fit_reml__cake_of_cook__forty_five_batches() -> None:
    """Cook 1938 in Cochran and Cox, Experimental Designs, Table 7.5; the `cake` data of lme4.

    The deviance depends on how factors are coded: here recipes sum to zero, and temperatures are
    orthonormal polynomials.
    """
    table = words("split_plots/cake_cook")
    angle = numbers("split_plots/cake_cook", "angle")[:, 0]
    steps = np.arange(6.0) - 2.5
    polynomials = np.linalg.qr(np.vander(steps, 6, increasing=True))[0][:, 1:]
    recipe, heat = sum_coded(table["recipe"]), polynomials[numbered(table["temperature"])]
    matrix = np.column_stack([np.ones(270), recipe, heat, crossed(recipe, heat)])
    found = fit_reml(matrix, angle, [numbered(_joined(table, "recipe", "replicate"))])
    assert_close(found.variances, [41.8370372, 20.4708995], rtol=1e-7)
    assert_close(found.deviance, 1651.80481, atol=6e-6)


def test_joint_test__cookies__two_strata() -> None:
    """Lawson, Design and Analysis of Experiments with R: diameter of cookies, split plot."""
    table = words("split_plots/cookies")
    response = numbers("split_plots/cookies", "y")[:, 0]
    short, bake, tray = (sum_coded(table[c]) for c in ("short", "bakeT", "trayT"))
    two = [crossed(short, bake), crossed(short, tray), crossed(bake, tray)]
    columns = [np.ones((24, 1)), short, bake, tray, *two, crossed(two[0], tray)]
    found = fit_reml(np.hstack(columns), response, [numbered(_joined(table, "short", "batch"))])
    unit = np.eye(12)
    # short, baking temperature, tray temperature, short x tray
    tests = [joint_test(found, unit[rows]) for rows in ([1], [2, 3], [4], [7])]
    assert_close([t.f for t in tests], [41.0738, 10.4416, 68.1533, 19.9580], atol=6e-5)
    assert [t.df for t in tests] == [1, 2, 1, 1]
    assert_close([t.error_df for t in tests], [2, 10, 10, 10], atol=1e-5)


def test_joint_test__two_slow_terms_on_two_degrees_of_freedom__classical() -> None:
    """Where mean and variance of F have no bounds; equal groups, so means of groups decide."""
    group, place = np.repeat(np.arange(5), 3), np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
    slow = np.column_stack([np.ones(5), place, place**2])
    means = np.array([1.0, 4.0, 2.0, 7.0, 3.0])
    response = means[group] + np.tile([-0.3, 0.1, 0.2], 5)
    found = joint_test(fit_reml(slow[group], response, [group]), np.eye(3)[1:])
    left = means - slow @ np.linalg.lstsq(slow, means, rcond=None)[0]
    about_mean = np.square(means - means.mean()).sum()
    rss = np.square(left).sum()
    assert_close(found.error_df, 2.0, rtol=1e-5)
    assert_close(found.f, (about_mean - rss) / 2 / (rss / 2), rtol=1e-5)


def test_fit_reml__deviance__no_neighbor_is_lower() -> None:
    """The restricted likelihood written out with its determinants, around the estimate."""
    generator = np.random.default_rng(21)
    group = np.repeat(np.arange(6), [3, 4, 2, 5, 4, 3])
    matrix = np.column_stack([np.ones(21), generator.normal(size=(21, 2))])
    response = generator.normal(size=6)[group] + generator.normal(size=21)
    found = fit_reml(matrix, response, [group])

    def deviance(variances: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float:
        v = variances[0] * (group[:, None] == group) + variances[1] * np.eye(21)
        inverse = np.linalg.inv(v)
        inner = matrix.T @ inverse @ matrix
        left = response - matrix @ np.linalg.solve(inner, matrix.T @ inverse @ response)
        logs = np.linalg.slogdet(v)[1] + np.linalg.slogdet(inner)[1]
        return float(logs + left @ inverse @ left + 18 * np.log(2 * np.pi))

    best = deviance(found.variances)
    assert_close(found.deviance, best, rtol=1e-10)
    for step in ([1.02, 1.0], [0.98, 1.0], [1.0, 1.02], [1.0, 0.98]):
        assert deviance(found.variances * step) > best


def test_fit_reml__kinds_cannot_be_told_apart__cannot_be_answered() -> None:
    with pytest.raises(Unanswerable, match="scatter of groups"):
        fit_reml(np.ones((4, 1)), np.arange(4.0), [np.arange(4)])
