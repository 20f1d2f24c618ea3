"""Agreement of two persons against published limits and a general-purpose library."""

import numpy as np
import pytest
from numpy.testing import assert_allclose as assert_close
from sklearn.metrics import cohen_kappa_score

from shotwindow.models.agreement import agreement, reading_scatter


def judged(
    both: int, second_alone: int, first_alone: int, neither: int
) -> tuple[np.ndarray, np.ndarray]:
    """Judgements of two persons by how many parts each pair of them holds."""
    counts = [both, second_alone, first_alone, neither]
    first = np.repeat([True, False, True, False], counts)
    second = np.repeat([True, True, False, False], counts)
    return first, second


# Newcombe, Statistics in Medicine 17 (1998) 857-872, Table I (from memory), 95 %, Clopper and
# Pearson; the shares that agree are his counts of 81 in 263, 15 in 148 and 0 in 20.
@pytest.mark.parametrize(
    ("agreed", "parts", "low", "high"),
    [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684)],
)
def test_agreement__limits__as_published(agreed: int, parts: int, low: float, high: float) -> None:
    found = agreement(*judged(agreed // 2, parts - agreed, 0, agreed - agreed // 2))
    assert (found.agreed, found.parts) == (agreed, parts)
    assert_close([found.low, found.high], [low, high], atol=5.1e-5)


def test_agreement__all_of_twenty__lower_limit_by_hand() -> None:
    """With none apart the lower limit is 0.025^(1/n): Clopper and Pearson at the end."""
    found = agreement(*judged(10, 0, 0, 10))
    assert_close([found.low, found.high], [0.025 ** (1 / 20), 1.0], atol=1e-12)
    assert not found.one_way


@pytest.mark.parametrize("counts", [(9, 1, 3, 7), (20, 5, 10, 15), (2, 8, 1, 0), (0, 6, 6, 0)])
def test_agreement__kappa__as_scikit_learn(counts: tuple[int, int, int, int]) -> None:
    first, second = judged(*counts)
    found = agreement(first, second)
    assert found.kappa is not None
    assert_close(found.kappa, cohen_kappa_score(first, second), atol=1e-12)
    assert (found.milder, found.stricter) == counts[1:3]


def test_agreement__everything_good_for_both__no_kappa() -> None:
    found = agreement(*judged(8, 0, 0, 0))
    assert found.kappa is None and found.share == 1.0


@pytest.mark.parametrize(
    ("milder", "stricter", "one_way"),
    [(6, 0, True), (0, 6, True), (5, 0, False), (9, 1, True), (8, 1, True), (8, 2, False)],
)
def test_agreement__one_way__by_the_sign_test(milder: int, stricter: int, one_way: bool) -> None:
    """Two-sided binomial probabilities at 5 %: 2 (1/2)^6 = 0.031, 2 (1/2)^5 = 0.063, and so on."""
    assert agreement(*judged(5, milder, stricter, 5)).one_way is one_way


def test_agreement__no_part_or_unequal__refused() -> None:
    for first, second in ((0, 0), (3, 2)):
        with pytest.raises(ValueError, match="two judgements each"):
            agreement(np.zeros(first, dtype=bool), np.zeros(second, dtype=bool))


def test_reading_scatter__many_pairs__the_scatter_they_were_made_with() -> None:
    # 20,000 pairs: the estimate is off by 0.5 % (one standard deviation); 3 % is six of them
    made = np.random.default_rng(1).normal(90.0, 2.5, (2, 20_000))
    assert_close(reading_scatter(*made), 2.5, rtol=0.03)


def test_reading_scatter__shift_between_the_two__counts() -> None:
    """All differences 2: sqrt(4 / 2)."""
    assert_close(reading_scatter(np.arange(5.0), np.arange(5.0) + 2), np.sqrt(2.0))
