import numpy as np
import pytest
from numpy.typing import NDArray
from published import assert_close, montgomery_yield, numbers, words

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.terms import full_quadratic, with_interactions
from shotwindow.models.coefficients import coefficient_table
from shotwindow.models.textbook import Fit, estimable, f_test, fit, quality

# NIST Statistical Reference Datasets, linear regression, https://www.itl.nist.gov/div898/strd/;
# tolerances: how far the columns as given, in double precision, can be trusted.
CERTIFIED = {
    "norris": (1, 1e-11),
    "pontius": (2, 1e-11),
    "noint1": (0, 1e-14),
    "noint2": (0, 1e-14),
    "filip": (10, 1e-6),
    "longley": (1, 1e-9),
    "wampler1": (5, 1e-8),
    "wampler2": (5, 1e-10),
    "wampler3": (5, 1e-8),
    "wampler4": (5, 1e-6),
    "wampler5": (5, 1e-5),
}


def _certified_fit(name: str, degree: int) -> Fit:
    columns = list(words(f"nist_strd/{name}"))
    table = numbers(f"nist_strd/{name}", *columns)
    x, constant = table[:, 1:], np.ones((len(table), 1))
    if degree == 0:
        return fit(x, table[:, 0])
    if degree == 1:
        return fit(np.hstack([constant, x]), table[:, 0])
    return fit(x ** np.arange(degree + 1), table[:, 0])


def _certified(name: str) -> dict[str, tuple[float, str]]:
    table = words("nist_strd/certified_exact_rational")
    rows = zip(*(table[c] for c in ("dataset", "quantity", "value", "std_error")), strict=True)
    return {q: (float(value), error) for dataset, q, value, error in rows if dataset == name}


@pytest.mark.parametrize("name", CERTIFIED)
def test_fit__nist_reference_data__certified_values(name: str) -> None:
    degree, tolerance = CERTIFIED[name]
    fitted, certified = _certified_fit(name, degree), _certified(name)
    values = [(v, float(e)) for q, (v, e) in certified.items() if q.startswith("B")]
    expected = np.array(values)
    assert_close(fitted.coefficients, expected[:, 0], rtol=tolerance)
    assert fitted.df == certified["df_resid"][0]
    found = quality(fitted)
    if certified["residual_sd"][0] == 0:
        assert found.sd == 0.0 and found.f is None  # Wampler1 and 2 are met exactly
        return
    assert_close(found.sd, certified["residual_sd"][0], rtol=1e-7)
    errors = coefficient_table(fitted).std_errors
    assert_close(errors, expected[:, 1], rtol=1e-6 if name == "filip" else 1e-9)
    assert_close(found.r_squared, certified["R2"][0], rtol=1e-9)
    assert_close(found.f, certified["F"][0], rtol=1e-6)
    assert_close(fitted.rss, certified["RSS"][0], rtol=1e-7)


def test_quality__handbook_tungsten__recomputed_values() -> None:
    """NIST/SEMATECH e-Handbook 5.4.7.3: uniformity of tungsten deposition, 11 runs."""
    table = numbers("nist_handbook/5_4_7_3", "x1", "x2", "unif")
    coded = table[:, :2]
    full = fit(full_quadratic("ab").matrix(coded), table[:, 2])
    assert_close(
        full.coefficients, [5.866126, -1.909670, -0.224081, 1.686173, 0.133733, 0.033733], atol=6e-7
    )
    found = quality(full)
    assert_close(
        [found.sd, found.r_squared, found.adjusted, found.press, found.f, found.p],
        [0.723540, 0.871574, 0.743149, 13.040260, 6.786603, 0.027803],
        atol=6e-7,
    )
    assert (found.df_model, found.df) == (5, 5)
    reduced = quality(fit(with_interactions("ab").matrix(coded), table[:, 2]))
    assert_close(
        [reduced.sd, reduced.r_squared, reduced.f], [0.614465, 0.870327, 15.660633], atol=6e-7
    )


def test_quality__montgomery_yield__as_printed() -> None:
    """Montgomery, Design and Analysis of Experiments 10th ed., Tables 11.6 and 11.7.

    The book prints PRESS 2.35 and predicted R2 0.9184 (from memory); six digits recomputed.
    """
    terms, response = full_quadratic("ab"), numbers("montgomery/table_11_6", "Yield")[:, 0]
    fitted = fit(terms.matrix(montgomery_yield(np.sqrt(2.0))), response)
    assert_close(
        fitted.coefficients, [79.94, 0.994975, 0.515165, 0.25, -1.376250, -1.001250], atol=6e-7
    )
    assert_close(
        coefficient_table(fitted).std_errors,
        [0.118959, 0.094045, 0.094045, 0.133000, 0.100852, 0.100852],
        atol=6e-7,
    )
    found = quality(fitted)
    assert_close(
        [found.sd, found.r_squared, found.adjusted, found.press, found.predicted, found.f],
        [0.266000, 0.982768, 0.970460, 2.345770, 0.918388, 79.845648],
        atol=6e-7,
    )


def test_quality__montgomery_shrinkage__as_printed() -> None:
    """Montgomery, 10th ed., Example 8.4: injection-molded parts, model in A, B and AB."""
    table = numbers("montgomery/table_8_10", "A", "B", "Shrinkage")
    found = quality(fit(with_interactions("AB").matrix(table[:, :2]), table[:, 2]))
    assert_close(
        [found.sd, found.r_squared, found.press, found.f],
        [4.552929, 0.962647, 442.2222, 103.086432],
        atol=6e-5,
    )


def test_quality__response_never_varies__no_shares() -> None:
    matrix = np.column_stack([np.ones(13), np.linspace(-1, 1, 13)])
    found = quality(fit(matrix, np.full(13, 97.3)))  # their mean is off by rounding
    assert found.r_squared is None and found.predicted is None and found.f is None
    assert found.sd == 0.0


def test_quality__saturated__only_what_is_left() -> None:
    x = np.array([-1.0, 0.0, 1.0])
    found = quality(fit(full_quadratic("a").matrix(x[:, None]), np.array([1.0, 5.0, 2.0])))
    assert found.sd is None and found.press is None and found.adjusted is None
    assert found.f is None and found.df == 0


def test_press__each_shot_left_out__the_slow_plain_way() -> None:
    generator = np.random.default_rng(4)
    coded = generator.uniform(-1, 1, (12, 2))
    matrix, response = full_quadratic("ab").matrix(coded), generator.normal(size=12)
    errors = []
    for left_out in range(12):
        rest = np.arange(12) != left_out
        coefficients = np.linalg.lstsq(matrix[rest], response[rest], rcond=None)[0]
        errors.append(response[left_out] - matrix[left_out] @ coefficients)
    assert_close(quality(fit(matrix, response)).press, np.square(errors).sum(), rtol=1e-10)


def test_fit__order_of_shots__does_not_matter() -> None:
    generator = np.random.default_rng(5)
    matrix, response = generator.normal(size=(9, 3)), generator.normal(size=9)
    order = generator.permutation(9)
    one, other = fit(matrix, response), fit(matrix[order], response[order])
    assert_close(one.coefficients, other.coefficients, rtol=1e-12)


def test_fit__aliased_terms__refused_with_counts() -> None:
    # a half fraction in three factors: c = ab, so the products are other factors
    two: NDArray[np.float64] = np.array([[-1.0, -1], [1, -1], [-1, 1], [1, 1]])
    coded = np.column_stack([two, two[:, 0] * two[:, 1]])
    with pytest.raises(Unanswerable, match="4 shots at these settings tell 4 of the 7 terms"):
        fit(with_interactions("abc").matrix(coded), np.arange(4.0))


def test_estimable__half_fraction_composite__twelve_of_fifteen() -> None:
    """Sixteen corners and axial points of 2^(4-1) with D = ABC and centers: rank 12 of 15."""
    grid = np.array(np.meshgrid(*[[-1.0, 1.0]] * 3)).reshape(3, -1).T
    corners = np.column_stack([grid, grid.prod(axis=1)])
    axial = np.vstack([np.eye(4), -np.eye(4)])
    coded = np.vstack([corners, axial, np.zeros((4, 4))])
    matrix = full_quadratic("abcd").matrix(coded)
    keep = estimable(matrix)
    assert int(keep.sum()) == np.linalg.matrix_rank(matrix) == 12
    assert np.linalg.matrix_rank(matrix[:, keep]) == int(keep.sum())
    # what is dropped comes after what it is aliased with
    assert keep[:5].all()


def test_estimable__column_of_nearly_alike_columns__noticed() -> None:
    """Filip's powers of x, of which the last is hardly new, and a sum of them, which is not."""
    x = numbers("nist_strd/filip", "x")
    powers = x ** np.arange(11)
    powers /= np.linalg.norm(powers, axis=0)
    weights = np.random.default_rng(1).normal(size=11)
    keep = estimable(np.column_stack([powers, powers @ weights]))
    assert keep.tolist() == [True] * 11 + [False]


def test_f_test__handbook_lack_of_fit__probability() -> None:
    # NIST/SEMATECH e-Handbook 5.4.7.3, recomputed: 1.470883 on 3 against 1.146667 on 2
    assert_close(f_test(1.470883, 3, 1.146667 / 2, 2), (0.855164, 0.578765), atol=1.5e-6)


def test_f_test__nothing_to_test_against__none() -> None:
    assert f_test(3.0, 1, None, 0) == (None, None)
    assert f_test(3.0, 0, 1.0, 4) == (None, None)
    assert f_test(3.0, 1, 0.0, 4) == (None, None)
