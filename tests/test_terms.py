import numpy as np
import pytest

from shotwindow.doe.terms import (
    MODELS,
    Terms,
    first_order,
    full_quadratic,
    model_terms,
    with_interactions,
)


@pytest.mark.parametrize("k", range(1, 9))
def test_models__k_factors__number_of_terms(k: int) -> None:
    names = "abcdefgh"[:k]
    assert len(first_order(names)) == 1 + k
    assert len(with_interactions(names)) == 1 + k + k * (k - 1) // 2
    assert len(full_quadratic(names)) == (k + 1) * (k + 2) // 2


def test_names__order__constant_linear_products_squares() -> None:
    assert full_quadratic("abc").names == (
        *("1", "a", "b", "c"),
        *("a x b", "a x c", "b x c"),
        *("a^2", "b^2", "c^2"),
    )


def test_matrix__any_powers__as_plain_powers() -> None:
    terms = Terms(((0, 0, 0), (3, 0, 1), (0, 2, 2), (1, 1, 1)), ("a", "b", "c"))
    coded = np.random.default_rng(1).uniform(-2, 2, (5, 4, 3))
    plain = np.stack([(coded ** np.array(e)).prod(axis=-1) for e in terms.exponents], axis=-1)
    np.testing.assert_allclose(terms.matrix(coded), plain, rtol=1e-12)
    assert terms.names[1:3] == ("a^3 x c", "b^2 x c^2")


def test_subset__mask__keeps_order() -> None:
    terms = full_quadratic("ab")
    assert terms.subset(np.array([1, 0, 1, 0, 0, 1], dtype=bool)).names == ("1", "b", "b^2")


def test_model_terms__unknown_name__refused() -> None:
    assert [model_terms(model, "ab").names[-1] for model in MODELS] == ["b", "a x b", "b^2"]
    with pytest.raises(ValueError, match="cubic"):
        model_terms("cubic", "ab")


@pytest.mark.parametrize(
    ("model", "names"),
    [
        ("first-order", ["1", "a_b", "c"]),
        ("first-order + c^2", ["1", "a_b", "c", "c^2"]),
        ("first-order+a b x c + a_b * c", ["1", "a_b", "c", "a_b x c"]),
        ("interactions + a_b x a_b", ["1", "a_b", "c", "a_b x c", "a_b^2"]),
        ("quadratic + a_b^2", ["1", "a_b", "c", "a_b x c", "a_b^2", "c^2"]),
    ],
)
def test_model_terms__terms_behind_a_plus__added_in_the_usual_order(
    model: str, names: list[str]
) -> None:
    assert list(model_terms(model, ("a_b", "c")).names) == names


@pytest.mark.parametrize(
    ("model", "said"),
    [
        ("", "no model is called nothing"),
        ("interaction", "did you mean interactions"),
        ("first-order + d^2", "no factor is called d"),
        ("first-order + ", "no factor is called nothing"),
        ("first-order + c^3", "c.3 is not a product of two factors or a square"),
        ("first-order + a_b x c^2", "is not a product of two"),
    ],
)
def test_model_terms__unknown__which(model: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        model_terms(model, ("a_b", "c"))
