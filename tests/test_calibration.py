"""The draws are those of the posterior: ranks of the truth among them are uniform."""

import numpy as np
import pytest
from calibrations import LEVELS, NAMES, covered, misfit, ranks
from scipy.stats import binom, chi2


def test_ranks__parameters_from_the_prior__uniform() -> None:
    """Forty small studies; the benchmark of the same name takes ten times as many.

    By chance alone one of ten fails in one run of a hundred thousand.
    """
    found = ranks(40, seed=1)
    limit = chi2.isf(1e-5 / len(NAMES), 7)
    assert {n: misfit(c) for n, c in zip(NAMES, found.T, strict=True) if misfit(c) > limit} == {}
    # bands of 50, 80 and 95 % hold the true edge of the window as often as they say; by chance
    # alone one of them would fail in one run of three thousand
    for level in LEVELS:
        low, high = binom.interval(1.0 - 1e-4, 40, level)
        assert low <= 40 * covered(found[:, NAMES.index("edge")], level) <= high, level


@pytest.mark.parametrize("level", LEVELS)
def test_covered__ranks_all_alike__the_level_and_piled_up_ones_more(level: float) -> None:
    even = (np.arange(1000) + 0.5) / 1000
    assert covered(even, level) == pytest.approx(level, abs=2e-3)
    assert covered(0.5 + 0.5 * (even - 0.5), level) == pytest.approx(min(1.0, 2 * level), abs=4e-3)


def test_misfit__ranks_piled_up__seen() -> None:
    piled = np.random.default_rng(0).beta(2.0, 2.0, 4000)
    assert misfit(piled) > chi2.isf(1e-5, 7)
