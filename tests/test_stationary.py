import numpy as np
import pytest
from numpy.typing import NDArray
from published import assert_close, montgomery_yield, numbers, words
from scipy.optimize import brentq

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.terms import Terms, first_order, full_quadratic
from shotwindow.models.stationary import (
    level_limit,
    level_statistic,
    quadratic,
    stationary_point,
)
from shotwindow.models.textbook import Fit, fit

TERMS = full_quadratic("ab")
Array = NDArray[np.float64]


def _montgomery(alpha: float) -> Fit:
    response = numbers("montgomery/table_11_6", "Yield")[:, 0]
    return fit(TERMS.matrix(montgomery_yield(alpha)), response)


@pytest.mark.parametrize(
    ("alpha", "point", "eigenvalues"),
    [
        (np.sqrt(2.0), (0.389260, 0.305858), (-0.963403, -1.414097)),
        (1.414, (0.389230, 0.305847), (-0.963499, -1.414287)),
    ],
)
def test_stationary_point__montgomery_yield__as_printed(
    alpha: float, point: tuple[float, float], eigenvalues: tuple[float, float]
) -> None:
    """Montgomery, 10th ed., Section 11.3: 0.389, 0.306 and 80.21 (from memory); recomputed."""
    found = stationary_point(TERMS, _montgomery(alpha), reach=1.414)
    assert_close(found.point, point, atol=6e-7)
    assert_close(found.eigenvalues, eigenvalues, atol=6e-7)
    assert found.nature == "maximum"
    if alpha != 1.414:
        assert_close(found.response, 80.212436, atol=6e-7)
        # 86.95 min and 176.53 degF, 87 and 176.5 in the book
        assert_close([85, 175] + 5 * found.point, [86.95, 176.53], atol=6e-3)


def test_stationary_point__two_blocks__as_printed() -> None:
    """Myers, Montgomery and Anderson-Cook, Table 7.6; Lenth, J. Stat. Software 32(7) (2009)."""
    table = numbers("response_surfaces/chemreact", "Time", "Temp", "Yield")
    second = [[cell == "B2"] for cell in words("response_surfaces/chemreact")["Block"]]
    coded = np.round((table[:, :2] - [85.0, 175.0]) / 5.0, 3)
    fitted = fit(np.column_stack([TERMS.matrix(coded), np.array(second, float)]), table[:, 2])
    found = stationary_point(TERMS, fitted)
    assert_close(found.point, [0.3722954, 0.3343802], atol=6e-8)
    assert_close([85, 175] + 5 * found.point, [86.86148, 176.67190], atol=6e-6)
    assert_close(found.eigenvalues, [-0.9233027, -1.3186949], atol=6e-8)


def test_stationary_point__handbook_tungsten__maximum_outside() -> None:
    """NIST/SEMATECH e-Handbook 5.4.7.3: stress."""
    table = numbers("nist_handbook/5_4_7_3", "x1", "x2", "stress")
    found = stationary_point(TERMS, fit(TERMS.matrix(table[:, :2]), table[:, 2]))
    assert_close(found.point, [0.849645, 2.340879], atol=6e-7)
    assert_close(found.eigenvalues, [-0.115809, -0.531646], atol=6e-7)
    assert found.nature == "maximum" and found.distance > 2
    # 5 degrees of freedom: t = 2.57 standard errors, so the flat axis may as well not bend at all
    assert found.errors is not None
    assert abs(found.eigenvalues[0]) < 2.57 * found.errors[0]


def test_stationary_point__handbook_composite__maximum() -> None:
    """NIST/SEMATECH e-Handbook 5.5.3.1.4."""
    runs = np.vstack([numbers(f"nist_handbook/5_5_3_1_{part}", "x1", "x2", "y") for part in (3, 4)])
    found = stationary_point(TERMS, fit(TERMS.matrix(runs[:, :2]), runs[:, 2]))
    assert_close(found.point, [-0.927852, 0.346800], atol=6e-7)
    assert_close(found.response, 77.589146, atol=6e-7)
    assert_close(found.eigenvalues, [-4.973187, -9.827317], atol=6e-7)


def test_stationary_point__acid_copper__minimum() -> None:
    """Dean and Voss, Design and Analysis of Experiments: acid copper pattern plating."""
    table = numbers("dean_voss/acid_copper", "zA", "zB", "s")
    found = stationary_point(TERMS, fit(TERMS.matrix(table[:, :2]), table[:, 2]))
    assert_close(found.point, [0.588685, -0.095057], atol=6e-7)
    assert_close(found.response, 4.144209, atol=6e-7)
    assert_close(found.eigenvalues, [0.746378, 0.381558], atol=6e-7)
    assert found.nature == "minimum"


@pytest.mark.parametrize(
    ("coefficients", "nature"),
    [
        ((0.0, 0.2, 0.2, 0.0, -1.0, -2.0), "maximum"),
        ((0.0, 0.2, 0.2, 0.0, 1.0, 2.0), "minimum"),
        ((0.0, 0.2, 0.2, 0.0, 1.0, -2.0), "saddle"),
        ((0.0, 0.2, 0.2, 3.0, -1.0, -1.0), "saddle"),
        ((0.0, 0.02, 0.2, 0.0, -0.01, -1.0), "rising ridge"),
        ((0.0, 0.002, 0.2, 0.0, -0.01, -1.0), "stationary ridge"),
    ],
)
def test_stationary_point__known_surfaces__nature(
    coefficients: tuple[float, ...], nature: str
) -> None:
    grid = np.array(np.meshgrid([-1.0, 0, 1], [-1.0, 0, 1])).reshape(2, -1).T
    fitted = fit(TERMS.matrix(grid), TERMS.matrix(grid) @ np.array(coefficients))
    assert stationary_point(TERMS, fitted).nature == nature


def test_stationary_point__axes__surface_in_canonical_form() -> None:
    generator = np.random.default_rng(12)
    terms = full_quadratic("abc")
    matrix = terms.matrix(generator.uniform(-1, 1, (14, 3)))
    fitted = fit(matrix, generator.normal(size=14))
    found, surface = stationary_point(terms, fitted), quadratic(terms, fitted.coefficients)
    away = generator.normal(size=(5, 3))
    canonical = found.response + np.square(away) @ found.eigenvalues
    assert_close(surface(found.point + away @ found.axes.T), canonical, rtol=1e-9)
    assert_close(terms.matrix(away) @ fitted.coefficients, surface(away), rtol=1e-9)


def test_stationary_point__errors_of_eigenvalues__by_simulation() -> None:
    """Spread of eigenvalues over 2000 fits; a standard deviation is known to 1.6 % then."""
    generator = np.random.default_rng(13)
    coded = montgomery_yield(np.sqrt(2.0))
    matrix = TERMS.matrix(coded)
    truth = matrix @ np.array([80.0, 1.0, 0.5, 0.25, -1.0, -2.5])
    spread = [
        stationary_point(TERMS, fit(matrix, truth + 0.1 * generator.normal(size=13)))
        for _ in range(2000)
    ]
    eigenvalues = np.array([found.eigenvalues for found in spread])
    errors = [found.errors for found in spread if found.errors is not None]
    # 13 readings give the scatter itself too low by 3.5 % on the average of its root
    assert_close(np.mean(errors, axis=0), eigenvalues.std(axis=0), rtol=0.10)


def test_stationary_point__no_curvature__cannot_be_answered() -> None:
    grid = np.array(np.meshgrid([-1.0, 0, 1], [-1.0, 0, 1])).reshape(2, -1).T
    flat = first_order("ab")
    with pytest.raises(Unanswerable, match="does not bend"):
        stationary_point(flat, fit(flat.matrix(grid), grid @ np.array([1.0, 2.0])))


def test_quadratic__third_order__refused() -> None:
    with pytest.raises(ValueError, match="powers"):
        quadratic(Terms(((3,),), ("a",)), np.array([1.0]))


def test_level_statistic__montgomery_yield__region_of_the_stationary_point() -> None:
    """Box and Hunter, Biometrika 41 (1954); recomputed on Montgomery's Table 11.6, alpha 1.414."""
    fitted = _montgomery(1.414)
    places = np.array([[0.0, 0.0], [0.4, 0.3], [0.6, 0.6]])
    found = level_statistic(TERMS, fitted, places)
    assert_close(found, [70.81430, 0.041180, 7.12580], atol=6e-6)
    limit = level_limit(TERMS, fitted)
    assert_close(limit, 4.73741, atol=6e-6)
    point = stationary_point(TERMS, fitted).point
    assert_close(level_statistic(TERMS, fitted, point[None]), [0.0], atol=1e-20)

    def beyond(step: float, direction: Array) -> float:
        return float(level_statistic(TERMS, fitted, (point + step * direction)[None])[0]) - limit

    directions = np.array([[1.0, 0], [-1, 0], [0, 1], [0, -1]])
    edges = [brentq(beyond, 0.0, 1.0, args=(direction,)) for direction in directions]
    assert_close(edges, [0.162227, 0.125982, 0.217849, 0.167292], atol=6e-7)


def test_level_statistic__true_point__covered_as_often_as_stated() -> None:
    """1000 studies, 95 % region: 950 +- 6.9; the bounds fail by chance in 1 of 1000."""
    generator = np.random.default_rng(14)
    matrix = TERMS.matrix(montgomery_yield(np.sqrt(2.0)))
    # level at (0.4, 0.2)
    truth = matrix @ np.array([80.0, 0.8, 0.8, 0.0, -1.0, -2.0])
    covered = 0
    for noise in generator.normal(size=(1000, 13)):
        fitted = fit(matrix, truth + 0.3 * noise)
        statistic = level_statistic(TERMS, fitted, np.array([[0.4, 0.2]]))[0]
        covered += statistic <= level_limit(TERMS, fitted)
    assert 927 <= covered <= 972


def test_level_statistic__saturated__cannot_be_answered() -> None:
    terms = full_quadratic("a")
    fitted = fit(terms.matrix(np.array([[-1.0], [0.0], [1.0]])), np.array([1.0, 3.0, 2.0]))
    with pytest.raises(Unanswerable):
        level_statistic(terms, fitted, np.zeros((1, 1)))
