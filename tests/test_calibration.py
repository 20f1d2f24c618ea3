"""The draws are those of the posterior: ranks of the truth among them are uniform."""

import numpy as np
from calibrations import NAMES, misfit, ranks
from scipy.stats import chi2


def test_ranks__parameters_from_the_prior__uniform() -> None:
    """Forty small studies; the benchmark of the same name takes ten times as many.

    By chance alone one parameter of nine fails in one run of a hundred thousand.
    """
    found = ranks(40, seed=1)
    limit = chi2.isf(1e-5 / len(NAMES), 7)
    assert {n: misfit(c) for n, c in zip(NAMES, found.T, strict=True) if misfit(c) > limit} == {}


def test_misfit__ranks_piled_up__seen() -> None:
    piled = np.random.default_rng(0).beta(2.0, 2.0, 4000)
    assert misfit(piled) > chi2.isf(1e-5, 7)
