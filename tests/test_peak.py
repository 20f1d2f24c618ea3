"""The first place of the scales, against plain integration and against all draws."""

import numpy as np
import pytest
from benchmarks.sampling import made_study
from densities import density, prior
from scipy.stats import multivariate_normal, norm

from shotwindow.models.drawing import draw
from shotwindow.models.given_scales import rest_prior
from shotwindow.models.peak import peak


def test_peak__values_known_exactly__highest_place_of_the_density_and_its_curvature() -> None:
    """One unknown scale, whose density scipy's normals give on a fine grid."""
    rng = np.random.default_rng(3)
    design = np.column_stack([np.ones(9), rng.uniform(-1.0, 1.0, 9)])
    read = (design @ [0.5, 0.8] + 0.9 * rng.standard_normal(9))[:, None]
    what = density(design, read, read, prior(2, scatter_spread=0.8))
    grid = np.linspace(-3.0, 2.0, 2001)
    log = np.empty_like(grid)
    for i, scatter in enumerate(grid):
        scales = np.where(np.arange(what.log_median.size) == 0, scatter, what.log_median)[:, None]
        (mean,), (precision,) = rest_prior(what, scales)
        spread = what.rows / precision @ what.rows.T + np.exp(2.0 * scatter) * np.eye(9)
        log[i] = multivariate_normal(what.rows @ mean, spread).logpdf(read[:, 0])
    log += norm(what.log_median[0], 0.8).logpdf(grid)
    best = int(log.argmax())
    step = 80  # of the grid: as wide as the differences that are taken
    bend = (log[best + step] + log[best - step] - 2.0 * log[best]) / (step * 0.0025) ** 2
    found = peak(what)
    assert found.scales[0] == pytest.approx(grid[best], abs=0.05)
    assert (found.root @ found.root.T)[0, 0] == pytest.approx(-1.0 / bend, rel=0.1)


def test_peak__most_readings_open_on_one_side__where_the_draws_are_and_as_wide() -> None:
    """Invented readings; the most probable rest lies far off the middle of the rest here."""
    what = made_study(20, 1)
    assert np.isinf(what.data.high).mean() > 0.5
    scales = draw(what, np.random.default_rng(1), effective=2000.0).states[what.shared :]
    found, sd = peak(what), scales.std(axis=1)
    assert np.abs((found.scales - scales.mean(axis=1)) / sd).max() < 0.5
    width = np.sqrt((found.root @ found.root.T).diagonal())
    assert (width / sd).tolist() == pytest.approx(np.ones(sd.size), abs=0.3)
