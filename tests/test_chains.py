"""The second way to the posterior, beside the first."""

import numpy as np
import pytest
from densities import density, prior

from shotwindow.models.chains import CHAINS, settled, walk
from shotwindow.models.drawing import draw
from shotwindow.models.posterior import Density


def _censored() -> Density:
    """Twelve shots along one setting, the upper half full: what is above the limit is open."""
    x = np.linspace(-1.0, 1.0, 12)
    y = 0.8 * x + np.array([0.1, -0.2, 0.0, 0.3, -0.1, 0.1, -0.3, 0.2, 0.0, -0.1, 0.2, -0.2])
    low = np.minimum(y, 0.2)[:, None]
    high = np.where(y < 0.2, y + 0.01, np.inf)[:, None]
    what = prior(2, scatter_spread=0.7, effect_spread=0.7)
    return density(np.column_stack([np.ones(12), x]), low, high, what)


def test_walk__censored_shots__the_draws_of_the_weights() -> None:
    what, rng = _censored(), np.random.default_rng(5)
    weighed = draw(what, rng, draws=4000, effective=2000.0)
    assert weighed.diagnostics.converged and weighed.diagnostics.r_hat is None
    # from far off: the chains have to find their own way
    starts = what.log_median[:, None] + what.log_spread[:, None] * rng.standard_normal(
        (len(what.log_median), CHAINS)
    )
    walked = walk(what, starts, rng, draws=2000)
    assert walked.r_hat < 1.1 and walked.effective > 200
    spread = weighed.states.std(axis=1)
    apart = np.abs(walked.states.mean(axis=1) - weighed.states.mean(axis=1)) / spread
    # four standard errors of a mean of 200 draws; four means: 1 in 4,000 by chance
    assert apart.max() < 4 * (1 / 200 + 1 / 1500) ** 0.5
    assert walked.states.std(axis=1) == pytest.approx(spread, rel=0.2)


def test_settled__chains_that_disagree__seen() -> None:
    rng = np.random.default_rng(1)
    apart = rng.standard_normal((200, 2, 32))
    apart[:, 1, :16] += 1.0
    _, r_hat = settled(apart)
    assert r_hat > 1.1


def test_settled__steps_with_memory__fewer_draws_count() -> None:
    """An autoregression with 0.9 has (1 + 0.9) / (1 - 0.9) = 19 times less (textbook)."""
    rng = np.random.default_rng(2)
    steps = np.zeros((4000, 1, 32))
    noise = rng.standard_normal(steps.shape)
    for k in range(1, 4000):
        steps[k] = 0.9 * steps[k - 1] + noise[k]
    effective, _ = settled(steps[500:])
    assert effective == pytest.approx(3500 * 32 / 19, rel=0.1)
