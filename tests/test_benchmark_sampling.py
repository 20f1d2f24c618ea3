"""What draws are worth, against draws of which it is known."""

import numpy as np
import pytest
from benchmarks.sampling import worth


def test_worth__independent_draws__as_many_as_there_are() -> None:
    drawn = np.random.default_rng(1).standard_gamma(2.0, (400, 3, 500))
    bulk, tails = worth(drawn)
    # a variance of 400 means is known to 7 percent
    assert bulk == pytest.approx(np.full(3, 500.0), rel=0.25)
    assert tails == pytest.approx(np.full(3, 480.0), rel=0.25)


def test_worth__draws_that_hang_together_in_fours__a_quarter() -> None:
    fours = np.repeat(np.random.default_rng(2).standard_cauchy((400, 2, 125)), 4, axis=2)
    bulk, tails = worth(fours)
    assert bulk == pytest.approx(np.full(2, 125.0), rel=0.25)
    assert tails == pytest.approx(np.full(2, 120.0), rel=0.25)
