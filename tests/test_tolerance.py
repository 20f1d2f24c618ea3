import numpy as np
import pytest
from published import assert_close

from shotwindow.models.tolerance import (
    howe_factor,
    one_sided_factor,
    shots_for_extremes,
    two_sided_factor,
)

# Concept of ISO 16269-6:2014; recomputed with two programs that agree to nine digits. That for two
# sides and twenty readings was handed down as 2.76043; nested adaptive quadrature gives 2.760346.
FACTORS = [
    (5, 4.20268, 5.07687), (10, 2.91096, 3.39343), (20, 2.39600, 2.76035),
    (30, 2.21984, 2.55489), (50, 2.06499, 2.38156), (100, 1.92654, 2.23388),
]  # fmt: skip


@pytest.mark.parametrize(("shots", "one", "two"), FACTORS)
def test_factors__95_95__exact(shots: int, one: float, two: float) -> None:
    assert_close(one_sided_factor(shots, 0.95, 0.95), one, atol=6e-6)
    assert_close(two_sided_factor(shots, 0.95, 0.95), two, atol=6e-6)


@pytest.mark.parametrize(
    ("shots", "two"), [(5, 6.59798), (10, 4.43691), (30, 3.35458), (100, 2.93555)]
)
def test_two_sided_factor__99_95__exact(shots: int, two: float) -> None:
    assert_close(two_sided_factor(shots, 0.99, 0.95), two, atol=6e-6)


def test_factors__handbook_wafers__exact_and_howe() -> None:
    """NIST/SEMATECH e-Handbook 7.2.6.3: 43 wafers, mean 97.07, sd 0.0268; 90 % with 99 %.

    The page prints Howe's two-sided factor and an approximate one-sided one, 1.8751896.
    """
    assert_close(howe_factor(43, 0.90, 0.99), 2.2173159, atol=6e-8)
    assert_close(
        97.07 + 0.0268 * howe_factor(43, 0.90, 0.99) * np.array([-1, 1]),
        [97.010576, 97.12942],
        atol=6e-6,
    )
    assert_close(one_sided_factor(43, 0.90, 0.99), 1.8739536, atol=6e-8)
    assert_close(two_sided_factor(43, 0.90, 0.99), 2.2228252, atol=6e-8)
    # the printed upper limit rests on the approximation: the exact one agrees to 4e-5
    assert_close(97.07 + 0.0268 * one_sided_factor(43, 0.90, 0.99), 97.120255, atol=4e-5)


def test_howe_factor__95_95__third_digit_differs() -> None:
    assert_close(howe_factor(10, 0.95, 0.95), 3.3819, atol=6e-5)
    assert_close(howe_factor(30, 0.95, 0.95), 2.5496, atol=6e-5)


def test_shots_for_extremes__wilks__tables() -> None:
    one = {(0.9, 0.95): 29, (0.95, 0.95): 59, (0.99, 0.95): 299}
    assert {shares: shots_for_extremes(*shares, sides=1) for shares in one} == one
    two = {(0.9, 0.9): 38, (0.9, 0.95): 46, (0.95, 0.95): 93, (0.99, 0.95): 473, (0.99, 0.99): 662}
    assert {shares: shots_for_extremes(*shares) for shares in two} == two


def test_two_sided_factor__normal_samples__holds_as_often_as_stated() -> None:
    """4000 samples of 8, 90 % coverage with 95 %: 3800 +- 14; fails by chance in 1 of 1000."""
    from scipy.special import ndtr

    samples = np.random.default_rng(41).normal(size=(4000, 8))
    mean, reach = samples.mean(axis=1), two_sided_factor(8, 0.90, 0.95) * samples.std(1, ddof=1)
    held = np.sum(ndtr(mean + reach) - ndtr(mean - reach) >= 0.90)
    assert 3755 <= held <= 3845
