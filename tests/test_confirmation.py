import numpy as np
import pytest
from published import assert_close
from scipy import stats

from shotwindow.models.confirmation import (
    Sides,
    exact_limits,
    failures_allowed,
    shots_to_show,
    shots_to_tell,
    wilson_limits,
)

# Success run ln(1 - C) / ln R rounded up, and the exact binomial with failures; recomputed.
SHOTS = {
    (0.8, 0.90): (11,), (0.8, 0.95): (14,),
    (0.9, 0.90): (22, 38, 52, 65), (0.9, 0.95): (29, 46, 61, 76),
    (0.95, 0.90): (45, 77, 105, 132), (0.95, 0.95): (59, 93, 124, 153),
    (0.99, 0.90): (230,), (0.99, 0.95): (299, 473, 628, 773),
    (0.999, 0.90): (2302,), (0.999, 0.95): (2995,),
}  # fmt: skip


@pytest.mark.parametrize(("shares", "expected"), SHOTS.items())
def test_shots_to_show__reliability_and_confidence__tables(
    shares: tuple[float, float], expected: tuple[int, ...]
) -> None:
    found = tuple(shots_to_show(*shares, failures=c) for c in range(len(expected)))
    assert found == expected
    assert found[0] == int(np.ceil(np.log(1 - shares[1]) / np.log(shares[0])))


def test_shots_to_show__exactly_enough__not_one_more() -> None:
    assert shots_to_show(0.5, 0.5) == 1
    assert shots_to_show(0.5, 0.75) == 2
    assert shots_to_show(0.9, 1 - 0.9**22) == 22


@pytest.mark.parametrize("failures", [0, 1, 5])
def test_shots_to_show__against_exact_limit__same_verdict(failures: int) -> None:
    shots = shots_to_show(0.9, 0.95, failures)
    low, _ = exact_limits(shots - failures, shots, confidence=0.95, sides="lower")
    less, _ = exact_limits(shots - 1 - failures, shots - 1, confidence=0.95, sides="lower")
    assert less < 0.9 <= low


def test_shots_to_show__no_share__refused() -> None:
    for wrong in ((1.0, 0.9, 0), (0.9, 1.0, 0), (0.9, 0.9, -1)):
        with pytest.raises(ValueError, match="between 0 and 1"):
            shots_to_show(*wrong)


def test_failures_allowed__around_the_tables__steps_where_they_do() -> None:
    for failures, shots in enumerate(SHOTS[0.9, 0.90]):
        assert failures_allowed(shots, 0.9, 0.9) == failures
        assert failures_allowed(shots - 1, 0.9, 0.9) == (failures - 1 if failures else None)


# Newcombe, Statistics in Medicine 17 (1998) 857-872, Table I (from memory), 95 %; the last three
# recomputed.
NEWCOMBE = [
    (81, 263, (0.2527, 0.3676), (0.2553, 0.3662)),
    (15, 148, (0.0578, 0.1617), (0.0624, 0.1605)),
    (0, 20, (0.0, 0.1684), (0.0, 0.1611)),
    (1, 29, (0.0009, 0.1776), (0.0061, 0.1718)),
    (0, 10, (0.0, 0.3085), (0.0, 0.2775)),
    (2, 30, (0.0082, 0.2207), (0.0185, 0.2132)),
]


@pytest.mark.parametrize(("count", "shots", "exact", "wilson"), NEWCOMBE)
def test_limits__newcombe__as_printed(
    count: int, shots: int, exact: tuple[float, float], wilson: tuple[float, float]
) -> None:
    assert_close(exact_limits(count, shots), exact, atol=5.1e-5)
    assert_close(wilson_limits(count, shots), wilson, atol=5.1e-5)
    # seen from the other side
    mirrored = tuple(1 - limit for limit in exact_limits(shots - count, shots)[::-1])
    assert_close(exact_limits(count, shots), mirrored, atol=1e-12)


def test_exact_limits__every_shot__upper_end_is_one() -> None:
    assert_close(exact_limits(10, 10), [0.6915, 1.0], atol=5e-5)
    assert exact_limits(10, 10)[1] == 1.0
    assert wilson_limits(10, 10)[1] == 1.0


def test_wilson_limits__none_or_all__end_exactly_at_zero_and_one() -> None:
    for shots in range(1, 60):
        assert wilson_limits(0, shots)[0] == 0.0
        assert wilson_limits(shots, shots)[1] == 1.0


def test_limits__handbook_four_of_twenty__as_printed() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.1: .071354 and .401029 (from memory), 90 %; recomputed."""
    found = exact_limits(4, 20, confidence=0.9)
    assert_close(found, [0.0713539, 0.4010281], atol=6e-8)
    found = wilson_limits(4, 20, confidence=0.9)
    assert_close(found, [0.0931180, 0.3783767], atol=6e-8)


@pytest.mark.parametrize(
    ("shots", "high"),
    [(10, 0.258866), (22, 0.127305), (29, 0.098145), (59, 0.049508), (299, 0.009969)],
)
def test_exact_limits__no_failure__one_sided(shots: int, high: float) -> None:
    found = exact_limits(0, shots, sides="upper")
    assert_close(found, [0.0, high], atol=6e-7)
    assert_close(found[1], 1 - 0.05 ** (1 / shots), rtol=1e-12)


@pytest.mark.parametrize("sides", ["both", "lower", "upper"])
def test_limits__all_counts__as_scipy(sides: Sides) -> None:
    other = {"both": "two-sided", "lower": "greater", "upper": "less"}[sides]
    for count in range(8):
        test = stats.binomtest(count, 7, alternative=other)
        theirs = test.proportion_ci(0.9, method="exact")
        assert_close(exact_limits(count, 7, confidence=0.9, sides=sides), theirs, atol=1e-9)
        theirs = test.proportion_ci(0.9, method="wilson")
        assert_close(wilson_limits(count, 7, confidence=0.9, sides=sides), theirs, atol=1e-9)


def test_limits__impossible_counts__refused() -> None:
    for count, shots in ((-1, 5), (6, 5), (0, 0)):
        with pytest.raises(ValueError, match="shots"):
            exact_limits(count, shots)


def test_shots_to_tell__handbook__as_printed() -> None:
    """NIST/SEMATECH e-Handbook 7.2.4.2: 10 % or 20 % rejects, 102 and 112 (from memory)."""
    assert shots_to_tell(0.10, 0.20, alarm=0.05, miss=0.10) == 102
    assert shots_to_tell(0.10, 0.20, alarm=0.05, miss=0.10, continuity=True) == 112
    # 101.219 before rounding: one part in a thousand fewer shots fits another difference
    assert shots_to_tell(0.10, 0.20 + 1.2e-4, alarm=0.05, miss=0.10) == 101
    assert shots_to_tell(0.10, 0.20 + 0.8e-4, alarm=0.05, miss=0.10) == 102
