from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray
from published import assert_close, numbers

from shotwindow.doe.terms import first_order, with_interactions
from shotwindow.models.anova import pure_error
from shotwindow.models.ascent import steepest_ascent
from shotwindow.models.effects import curvature, dispersion, effects, half_normal, lenth
from shotwindow.models.textbook import fit, quality

Array = NDArray[np.float64]


def _contrasts(base: Array, names: str) -> dict[str, Array]:
    """All products of the columns of a full two-level plan, named by their letters."""
    found = {}
    for size in range(1, len(names) + 1):
        for chosen in combinations(range(len(names)), size):
            found["".join(names[i] for i in chosen)] = base[:, chosen].prod(axis=1)
    return found


@pytest.fixture
def shrinkage() -> tuple[dict[str, Array], Array]:
    """Montgomery, Design and Analysis of Experiments 10th ed., Example 8.4, Table 8.10.

    2^(6-2), E = ABC, F = BCD, shrinkage of injection-molded parts times ten; the fifteen
    contrasts of A, B, C and D.
    """
    table = numbers("montgomery/table_8_10", "A", "B", "C", "D", "E", "F", "Shrinkage")
    contrasts = _contrasts(table[:, :4], "ABCD")
    assert_close(table[:, 4], contrasts["ABC"])
    assert_close(table[:, 5], contrasts["BCD"])
    return contrasts, table[:, 6]


def test_effects__molding_shrinkage__as_printed(
    shrinkage: tuple[dict[str, Array], Array],
) -> None:
    contrasts, response = shrinkage
    found = dict(
        zip(contrasts, effects(np.column_stack([*contrasts.values()]), response), strict=True)
    )
    published = {
        "A": 13.875, "B": 35.625, "C": -0.875, "D": 1.375, "AB": 11.875, "AC": -1.625,
        "AD": -5.375, "BC": -1.875, "BD": -0.125, "CD": -0.125, "ABC": 0.375, "BCD": 0.375,
        "ABD": 0.125, "ACD": -4.875, "ABCD": 0.625,
    }  # fmt: skip
    assert response.mean() == 27.3125
    assert found == pytest.approx(published, abs=1e-12)


def test_lenth__molding_shrinkage__recomputed_margins(
    shrinkage: tuple[dict[str, Array], Array],
) -> None:
    contrasts, response = shrinkage
    found = effects(np.column_stack([*contrasts.values()]), response)
    margins = lenth(found)
    assert_close([margins.start, margins.standard_error], [2.0625, 0.9375], rtol=1e-12)
    assert_close([margins.margin, margins.simultaneous], [2.409920, 4.892486], atol=6e-7)
    beyond = {name for name, e in zip(contrasts, found, strict=True) if abs(e) > margins.margin}
    assert beyond == {"A", "B", "AB", "AD", "ACD"}


def test_dispersion__molding_shrinkage__holding_time_changes_scatter(
    shrinkage: tuple[dict[str, Array], Array],
) -> None:
    """The book gives F* = 2.50 for factor C (from memory); six digits recomputed."""
    contrasts, response = shrinkage
    matrix = np.column_stack([np.ones(16), *(contrasts[name] for name in ("A", "B", "AB"))])
    residuals = fit(matrix, response).residuals
    found = dispersion(np.column_stack([*contrasts.values()]), residuals)
    place = list(contrasts).index("C")
    assert_close(
        [found.sd_low[place], found.sd_high[place], found.log_ratio[place]],
        [1.629801, 5.695785, 2.502537],
        atol=6e-7,
    )
    assert int(np.argmax(np.abs(found.log_ratio))) == place


def test_lenth__speedometer_cable__one_effect_only() -> None:
    """Box, Bisgaard and Fung, Quality and Reliability Engineering Int. 4 (1988) 123-131.

    Shrinkage of speedometer cable, 2^(15-11); the original analysis claimed many more factors.
    """
    letters = tuple("abcdefghijklmno")
    table = numbers("molding_experiments/cable_shrinkage", *letters, "y")
    found = effects(table[:, :-1], table[:, -1])
    size = dict(zip(letters, found, strict=True))
    assert_close(table[:, -1].mean(), 0.291719, atol=6e-7)
    assert_close([size["e"], size["g"], size["c"]], [0.24531, -0.14031, 0.08969], atol=6e-6)
    margins = lenth(found)
    assert_close(margins.standard_error, 0.0876563, atol=6e-8)
    assert_close(margins.margin, 0.22533, atol=6e-6)
    assert [name for name in letters if abs(size[name]) > margins.margin] == ["e"]


def test_lenth__no_effects__false_alarms_as_stated() -> None:
    """4000 studies of fifteen effects of nothing.

    At a nominal 5 % for one effect beyond ME, and for any beyond SME. Lenth's t with m/3 degrees
    of freedom is known to be cautious: with fifteen effects about 3 % and 2 % come out. The bounds
    lie four standard deviations or more from these.
    """
    draws = np.random.default_rng(9).normal(size=(4000, 15))
    margins = [lenth(found) for found in draws]
    each = np.mean(np.abs(draws) > np.array([m.margin for m in margins])[:, None])
    ever = np.mean(np.abs(draws).max(axis=1) > np.array([m.simultaneous for m in margins]))
    assert 0.024 < each < 0.034
    assert 0.010 < ever < 0.030


def test_lenth__most_effects_exactly_zero__no_margin() -> None:
    assert lenth(np.array([0.0, 0.0, 0.0, 5.0])).margin == 0.0


def test_half_normal__sizes__ordered_with_growing_scores() -> None:
    order, score = half_normal(np.array([3.0, -7.0, 0.5]))
    assert order.tolist() == [2, 0, 1]
    # quantiles of |z| at 1/6, 3/6 and 5/6
    assert_close(score, [0.210428, 0.674490, 1.382994], atol=6e-7)


def test_curvature__molding_shrinkage_with_centers__none_seen() -> None:
    """Montgomery, chapter 12: 2^(7-3) with four center shots on the same process."""
    name = "molding_experiments/shrinkage_with_centers"
    table = numbers(name, *"ABCDEFG", "shrinkage")
    found = curvature(table[:, :7], table[:, 7])
    assert found is not None
    assert_close(found.difference, 27.3125 - 26.25, rtol=1e-12)
    assert_close(
        [found.ss, found.pure_error, found.f, found.p],
        [3.6125, 4.916667, 0.734746, 0.454367],
        atol=6e-7,
    )
    assert found.df == 3


def test_curvature__handbook_ascent_and_peak__recomputed_values() -> None:
    """NIST/SEMATECH e-Handbook 5.5.3.1.1 (still rising) and 5.5.3.1.3 (at the top)."""
    first = numbers("nist_handbook/5_5_3_1_1", "x1", "x2", "y")
    rising = fit(first_order("ab").matrix(first[:, :2]), first[:, 2])
    assert_close(rising.coefficients, [40.644444, -1.2925, 11.1425], atol=6e-7)
    assert_close(quality(rising).sd, 6.715189, atol=6e-7)
    product = fit(with_interactions("ab").matrix(first[:, :2]), first[:, 2])
    assert_close(product.coefficients[3], 3.0675, atol=1e-10)
    path = steepest_ascent(rising.coefficients[1:], 1, 1.0, 1)[1]
    assert_close(path / np.linalg.norm(path), [-0.115225, 0.993339], atol=6e-7)
    found = curvature(first[:, :2], first[:, 2])
    assert found is not None and found.df == 4
    assert_close(
        [found.ss, found.pure_error, found.f, found.p],
        [8.273267, 56.16277, 0.147309, 0.720649],
        atol=6e-7,
    )

    second = numbers("nist_handbook/5_5_3_1_3", "x1", "x2", "y")
    top = fit(with_interactions("ab").matrix(second[:, :2]), second[:, 2])
    assert_close(top.coefficients, [66.53, -11.12, 1.64, -4.845], atol=1e-9)
    found = curvature(second[:, :2], second[:, 2])
    assert found is not None
    assert_close([found.ss, found.f, found.p], [336.36402, 7.769179, 0.049447], atol=6e-6)


def test_curvature__montgomery_first_steps__none_seen() -> None:
    """Montgomery, 10th ed., Table 11.1; pure error 0.043, no interaction."""
    table = numbers("montgomery/table_11_1", "Time", "Temperature", "Yield")
    coded = (table[:, :2] - [35.0, 155.0]) / 5.0
    fitted = fit(with_interactions("ab").matrix(coded), table[:, 2])
    assert_close(fitted.coefficients, [40.444444, 0.775, 0.325, -0.025], atol=6e-7)
    ss, df = pure_error(coded, table[:, 2])
    assert_close(ss / df, 0.043, rtol=1e-9)
    found = curvature(coded, table[:, 2])
    assert found is not None
    assert_close(found.f, 0.063307, atol=6e-7)


def test_curvature__axial_points__left_out() -> None:
    coded = np.array([[-1.0, 1], [1, 1], [0, 0], [0, 0], [1.4, 0], [1.4, 0], [0, -1.4]])
    response = np.array([1.0, 3.0, 5.0, 7.0, 1000.0, 500.0, -1000.0])
    found = curvature(coded, response)
    assert found is not None
    assert (found.difference, found.df) == (-4.0, 1)
    assert curvature(coded[2:], response[2:]) is None


def test_curvature__center_shot_once__not_tested() -> None:
    found = curvature(np.array([[-1.0], [1.0], [0.0]]), np.array([1.0, 3.0, 5.0]))
    assert found is not None
    assert found.f is None and found.pure_error is None
