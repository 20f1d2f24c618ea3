import numpy as np
from published import assert_close, numbers, words
from scipy import stats

from shotwindow.doe.terms import Terms, full_quadratic
from shotwindow.models.coefficients import coefficient_table, in_units
from shotwindow.models.textbook import fit


def test_in_units__polynomial__same_surface() -> None:
    generator = np.random.default_rng(8)
    terms = full_quadratic("abc")
    centers, halves = np.array([4.0, 220.0, 6.0]), np.array([1.0, 15.0, 2.5])
    settings = centers + halves * generator.uniform(-1, 1, (20, 3))
    coefficients = generator.normal(size=len(terms))
    natural, transform = in_units(terms, centers, halves)
    assert natural.exponents == terms.exponents
    assert_close(
        natural.matrix(settings) @ (transform @ coefficients),
        terms.matrix((settings - centers) / halves) @ coefficients,
        rtol=1e-8,
    )


def test_in_units__lower_terms_missing__brought_in() -> None:
    square_alone = Terms(((2,),), ("a",))
    natural, transform = in_units(square_alone, np.array([3.0]), np.array([2.0]))
    # ((a - 3) / 2)^2 = a^2 / 4 - 3 a / 2 + 9 / 4
    found = dict(zip(natural.names, (transform @ [1.0]).tolist(), strict=True))
    assert found == {"a^2": 0.25, "a": -1.5, "1": 2.25}


def test_coefficient_table__coded_filip__certified_values_in_units() -> None:
    """NIST StRD Filip: a polynomial of degree ten fitted on -1..+1 and multiplied out again."""
    table = numbers("nist_strd/filip", "y", "x")
    low, high = table[:, 1].min(), table[:, 1].max()
    centers, halves = np.array([(low + high) / 2]), np.array([(high - low) / 2])
    terms = Terms(tuple((power,) for power in range(11)), ("x",))
    fitted = fit(terms.matrix((table[:, 1:] - centers) / halves), table[:, 0])
    _, transform = in_units(terms, centers, halves)
    found = coefficient_table(fitted, transform)
    certified = words("nist_strd/certified_exact_rational")
    rows = zip(*(certified[c] for c in ("dataset", "quantity", "value", "std_error")), strict=True)
    filip = [(v, e) for name, q, v, e in rows if name == "filip" and q[0] == "B"]
    assert_close(found.values, [float(v) for v, _ in filip], rtol=1e-6)
    assert_close(found.std_errors, [float(e) for _, e in filip], rtol=1e-6)


def test_coefficient_table__raw_and_coded__same_tests_of_top_terms() -> None:
    """Only the highest terms keep their t ratio when units change; the others do not."""
    generator = np.random.default_rng(3)
    coded = generator.uniform(-1, 1, (12, 2))
    fitted = fit(full_quadratic("ab").matrix(coded), generator.normal(size=12))
    _, transform = in_units(full_quadratic("ab"), np.array([5.0, 200.0]), np.array([1.0, 10.0]))
    one, other = coefficient_table(fitted), coefficient_table(fitted, transform)
    assert one.t is not None and other.t is not None
    assert_close(one.t[3:], other.t[3:], rtol=1e-9)
    assert not np.allclose(one.t[1:3], other.t[1:3], rtol=0.01)


def test_coefficient_table__definitions__errors_tests_and_limits() -> None:
    generator = np.random.default_rng(2)
    matrix, response = generator.normal(size=(11, 4)), generator.normal(size=11)
    found = coefficient_table(fit(matrix, response), level=0.9)
    inverse = np.linalg.inv(matrix.T @ matrix)
    b = inverse @ matrix.T @ response
    variance = np.square(response - matrix @ b).sum() / 7
    errors = np.sqrt(variance * np.diag(inverse))
    assert_close(found.values, b, rtol=1e-10)
    assert_close(found.std_errors, errors, rtol=1e-10)
    assert_close(found.t, b / errors, rtol=1e-10)
    assert_close(found.p, 2 * stats.t.sf(np.abs(b / errors), 7), rtol=1e-10)
    assert_close(found.low, b - stats.t.ppf(0.95, 7) * errors, rtol=1e-10)
    assert_close(found.high, b + stats.t.ppf(0.95, 7) * errors, rtol=1e-10)


def test_coefficient_table__saturated__no_errors() -> None:
    x = np.array([-1.0, 1.0])
    found = coefficient_table(fit(np.column_stack([np.ones(2), x]), np.array([2.0, 6.0])))
    assert found.values.round(12).tolist() == [4.0, 2.0]
    assert found.std_errors is None and found.low is None and found.p is None


def test_coefficient_table__every_reading_the_same__no_errors() -> None:
    x = np.array([-1.0, 0.0, 1.0, 1.0])
    found = coefficient_table(fit(np.column_stack([np.ones(4), x]), np.full(4, 100.0)))
    assert found.t is None and found.std_errors is None


def test_coefficient_table__combinations__as_statsmodels() -> None:
    from statsmodels.regression.linear_model import OLS

    generator = np.random.default_rng(6)
    matrix = np.column_stack([np.ones(14), generator.normal(size=(14, 3))])
    response, rows = generator.normal(size=14), generator.normal(size=(5, 4))
    found = coefficient_table(fit(matrix, response), rows, level=0.8)
    test = OLS(response, matrix).fit().t_test(rows)
    assert_close(found.values, test.effect, rtol=1e-9)
    assert_close(found.std_errors, test.sd.ravel(), rtol=1e-9)
    assert_close(found.t, test.tvalue.ravel(), rtol=1e-9)
    assert_close(found.p, test.pvalue.ravel(), rtol=1e-9)
    assert found.low is not None and found.high is not None
    assert_close(np.column_stack([found.low, found.high]), test.conf_int(0.2), rtol=1e-9)
