import numpy as np
import pytest
from published import assert_close, montgomery_yield, numbers, words

from shotwindow.doe.terms import Terms, first_order, full_quadratic, with_interactions
from shotwindow.models.anova import anova, pure_error, sources_of
from shotwindow.models.coefficients import coefficient_table
from shotwindow.models.textbook import fit, quality


def _chemreact() -> tuple[np.ndarray[tuple[int, ...], np.dtype[np.float64]], ...]:
    """Coded settings, block column and yield of the two-block composite."""
    table = numbers("response_surfaces/chemreact", "Time", "Temp", "Yield")
    second = np.array([cell == "B2" for cell in words("response_surfaces/chemreact")["Block"]])
    coded = np.round((table[:, :2] - [85.0, 175.0]) / 5.0, 3)
    return coded, second.astype(float), table[:, 2]


def test_anova__two_blocks__sequential_sums() -> None:
    """Myers, Montgomery and Anderson-Cook, Response Surface Methodology 3rd ed., Table 7.6.

    Output in Lenth, Journal of Statistical Software 32(7) (2009).
    """
    coded, second, response = _chemreact()
    terms = full_quadratic("ab")
    inner = terms.matrix(coded)
    fitted = fit(np.column_stack([inner[:, 0], second, inner[:, 1:]]), response)
    assert_close(
        fitted.coefficients,
        [84.095427, -4.457530, 0.932541, 0.577712, 0.125, -1.308555, -0.933442],
        atol=6e-7,
    )
    assert_close(
        coefficient_table(fitted).std_errors,
        [0.079631, 0.087226, 0.057699, 0.057699, 0.081592, 0.060064, 0.060064],
        atol=6e-7,
    )
    sources = (None, "block", *sources_of(terms)[1:])
    table = anova(fitted, sources, np.column_stack([coded, second]))
    assert [line.source for line in table.lines] == [
        "block", "first-order", "interactions", "squares",
    ]  # fmt: skip
    assert_close([line.ss for line in table.lines], [69.531, 9.626, 0.063, 17.791], atol=6e-4)
    assert [line.df for line in table.lines] == [1, 2, 1, 2]
    assert_close(table.residual.ss, 0.186, atol=6e-4)
    assert table.residual.df == 7 and table.total.df == 13
    lack, pure = table.lack_of_fit, table.pure_error
    assert lack is not None and pure is not None
    assert (lack.df, pure.df) == (3, 4)
    assert_close([lack.ss, pure.ss, lack.f, lack.p], [0.053, 0.133, 0.5307, 0.6851], atol=6e-4)
    # printed 607.2 on 6 and 7 degrees of freedom
    assert_close(quality(fitted).f, 607.2, atol=0.06)


def test_anova__first_block_alone__lack_of_fit_shows() -> None:
    """The same source: a first-order model to block 1, before axial points were shot."""
    coded, second, response = _chemreact()
    coded, response = coded[second == 0], response[second == 0]
    fitted = fit(first_order("ab").matrix(coded), response)
    assert_close(fitted.coefficients, [82.81429, 0.875, 0.625], atol=6e-6)
    errors = coefficient_table(fitted).std_errors
    assert_close(errors, [0.54719, 0.72386, 0.72386], atol=6e-6)
    table = anova(fitted, sources_of(first_order("ab")), coded)
    assert table.lack_of_fit is not None and table.pure_error is not None
    assert_close(table.lack_of_fit.ss, 8.2969, atol=6e-5)
    assert_close(table.pure_error.ss, 0.0867, atol=6e-5)
    assert (table.lack_of_fit.df, table.pure_error.df) == (2, 2)
    assert_close(
        [table.lack_of_fit.f, table.lack_of_fit.p], [95.7335, 0.01034], rtol=1e-5, atol=6e-6
    )


def test_anova__handbook_tungsten__lack_of_fit() -> None:
    """NIST/SEMATECH e-Handbook 5.4.7.3: uniformity and stress of tungsten deposition."""
    table = numbers("nist_handbook/5_4_7_3", "x1", "x2", "unif", "stress")
    terms, coded = full_quadratic("ab"), table[:, :2]
    uniformity = anova(fit(terms.matrix(coded), table[:, 2]), sources_of(terms), coded)
    lack, pure = uniformity.lack_of_fit, uniformity.pure_error
    assert lack is not None and pure is not None
    assert (lack.df, pure.df) == (3, 2)
    assert_close(
        [lack.ss, pure.ss, lack.f, lack.p], [1.470883, 1.146667, 0.855164, 0.578765], atol=6e-7
    )
    fitted = fit(terms.matrix(coded), table[:, 3])
    assert_close(
        fitted.coefficients, [7.790040, 0.735933, 0.496863, 0.069431, -0.528728, -0.118728],
        atol=6e-7,
    )  # fmt: skip
    found = quality(fitted)
    assert_close([found.sd, found.r_squared, found.f], [0.0770696, 0.991751, 120.219730], atol=6e-7)
    stress = anova(fitted, sources_of(terms), coded)
    assert stress.lack_of_fit is not None
    assert_close(stress.lack_of_fit.f, 0.225183, atol=6e-7)


def test_anova__handbook_augmented_to_composite__recomputed_values() -> None:
    """NIST/SEMATECH e-Handbook 5.5.3.1.4: the factorial of 5.5.3.1.3 with four axial points."""
    runs = np.vstack([numbers(f"nist_handbook/5_5_3_1_{part}", "x1", "x2", "y") for part in (3, 4)])
    coded, terms = runs[:, :2], full_quadratic("ab")
    fitted = fit(terms.matrix(coded), runs[:, 2])
    assert_close(
        fitted.coefficients,
        [71.997396, -11.776308, 0.740574, -4.845, -7.251457, -7.549047],
        atol=6e-7,
    )
    found = quality(fitted)
    assert_close([found.sd, found.r_squared], [5.769838, 0.889805], atol=6e-7)
    lack = anova(fitted, sources_of(terms), coded).lack_of_fit
    assert lack is not None and lack.df == 3
    assert_close(lack.f, 0.460862, atol=6e-7)


def test_anova__montgomery_three_responses__lack_of_fit() -> None:
    """Montgomery, 10th ed., Tables 11.6: yield, viscosity and molecular weight."""
    coded, terms = montgomery_yield(np.sqrt(2.0)), full_quadratic("ab")
    names = ("Yield", "Viscosity", "MolecularWeight")
    responses = numbers("montgomery/table_11_6", *names)
    lack = anova(fit(terms.matrix(coded), responses[:, 0]), sources_of(terms), coded).lack_of_fit
    assert lack is not None and lack.df == 3
    assert_close([lack.ss, lack.f, lack.p], [0.283292, 1.781710, 0.289695], atol=6e-7)
    viscosity = fit(terms.matrix(coded), responses[:, 1])
    assert_close(
        viscosity.coefficients, [70.0, -0.155330, -0.948223, -1.25, -0.6875, -6.6875], atol=6e-7
    )
    lack = anova(viscosity, sources_of(terms), coded).lack_of_fit
    assert lack is not None
    assert_close([quality(viscosity).sd, lack.f], [2.275301, 3.498528], atol=6e-7)
    weight = fit(first_order("ab").matrix(coded), responses[:, 2])
    assert_close(weight.coefficients, [3386.153846, 205.104076, 177.352814], atol=6e-7)
    assert_close(quality(weight).sd, 165.630333, atol=6e-7)


def test_anova__molding_shrinkage__sums_of_squares() -> None:
    """Montgomery, 10th ed., Example 8.4: 2^(6-2) on shrinkage of injection-molded parts."""
    table = numbers("montgomery/table_8_10", "A", "B", "C", "D", "Shrinkage")
    terms = with_interactions("ABCD")
    fitted = fit(terms.matrix(table[:, :4]), table[:, 4])
    found = anova(fitted, (None, *terms.names[1:]))
    ss = {line.source: line.ss for line in found.lines}
    assert_close([ss["A"], ss["B"], ss["A x B"]], [770.0625, 5076.5625, 564.0625], rtol=1e-12)
    assert_close(found.total.ss, 6659.4375, rtol=1e-12)
    assert found.lack_of_fit is None and found.total.df == 15


def test_anova__molding_shrinkage_with_centers__lack_of_fit() -> None:
    """Montgomery, chapter 12: the same process, 2^(7-3) with four center shots; A, B and AB."""
    name = "molding_experiments/shrinkage_with_centers"
    table = numbers(name, "A", "B", "C", "D", "E", "F", "G", "shrinkage")
    terms = with_interactions("AB")
    fitted = fit(terms.matrix(table[:, :2]), table[:, 7])
    assert_close(fitted.coefficients, [27.1, 6.9375, 17.8125, 5.9375], rtol=1e-12)
    assert_close(quality(fitted).sd, 4.085894, atol=6e-7)
    lack = anova(fitted, sources_of(terms), table[:, :7]).lack_of_fit
    assert lack is not None and lack.df == 13
    assert_close([lack.f, lack.p], [3.948305, 0.142380], atol=6e-7)


def test_anova__acid_copper__one_degree_of_pure_error() -> None:
    """Dean and Voss, Design and Analysis of Experiments: acid copper pattern plating."""
    table = numbers("dean_voss/acid_copper", "zA", "zB", "s")
    coded, terms = table[:, :2], full_quadratic("ab")
    fitted = fit(terms.matrix(coded), table[:, 2])
    assert_close(
        fitted.coefficients,
        [4.293903, -0.474118, 0.213384, -0.125, 0.3926, 0.735337],
        atol=6e-7,
    )
    assert_close(quality(fitted).sd, 0.189920, atol=6e-7)
    lack = anova(fitted, sources_of(terms), coded).lack_of_fit
    assert lack is not None and lack.df == 3
    assert_close(lack.f, 19.2964, atol=6e-5)


def test_anova__resin_moisture__a_bad_quadratic_is_noticed() -> None:
    """Dean and Voss: moisture of resin, Box-Behnken in 17 runs; the quadratic does not fit."""
    table = numbers("dean_voss/resin_moisture", "zT", "zH", "zP", "y")
    coded, terms = table[:, :3], full_quadratic("THP")
    fitted = fit(terms.matrix(coded), table[:, 3])
    assert_close(
        fitted.coefficients, [80, 0.625, 22.625, -7, 9, -9.25, 1.25, 16, -20, 18.25], atol=1e-9
    )
    lack = anova(fitted, sources_of(terms), coded).lack_of_fit
    assert lack is not None
    assert_close(lack.f, 237.595, atol=6e-4)
    assert_close(lack.p, 5.8e-5, atol=6e-7)


def test_anova__trebuchet__box_behnken() -> None:
    """Lawson, Design and Analysis of Experiments with R: distance thrown by a model trebuchet."""
    table = numbers("response_surfaces/trebuchet", "x1", "x2", "x3", "y")
    terms = full_quadratic("abc")
    fitted = fit(terms.matrix(table[:, :3]), table[:, 3])
    assert_close(
        fitted.coefficients,
        [90, 19.75, 19.75, -11.5, -6.25, 4.75, 6.75, -9.375, -1.375, -3.375],
        atol=1e-9,
    )
    found = quality(fitted)
    assert_close([found.sd, found.r_squared], [2.024846, 0.997469], atol=6e-7)


def test_anova__sequential_sums__differences_of_smaller_models() -> None:
    generator = np.random.default_rng(6)
    coded, response = generator.uniform(-1, 1, (15, 2)), generator.normal(size=15)
    terms = full_quadratic("ab")
    matrix = terms.matrix(coded)
    found = anova(fit(matrix, response), sources_of(terms))
    left = [fit(matrix[:, :p], response).rss for p in (1, 3, 4, 6)]
    assert_close([line.ss for line in found.lines], -np.diff(left), rtol=1e-9)
    assert_close(found.total.ss, np.square(response - response.mean()).sum(), rtol=1e-12)


def test_anova__constant_is_a_source__total_about_zero() -> None:
    found = anova(fit(np.ones((3, 1)), np.array([1.0, 2.0, 3.0])), ("mean",))
    assert found.total.ss == pytest.approx(14.0)
    assert found.lines[0].ss == pytest.approx(12.0) and found.lines[0].df == 1


def test_pure_error__settings_off_by_rounding__still_repeats() -> None:
    repeats = np.array([[0.3], [0.1 + 0.2], [0.4]])
    ss, df = pure_error(repeats, np.array([1.0, 3.0, 9.0]))
    assert ss == pytest.approx(2.0) and df == 1


def test_sources_of__higher_terms__named() -> None:
    terms = Terms(((0, 0), (1, 0), (1, 1), (0, 2), (2, 1)), ("a", "b"))
    assert sources_of(terms) == (None, "first-order", "interactions", "squares", "higher")
