"""Readings that may be slips of the pen."""

from dataclasses import replace

import numpy as np
import pytest
from densities import density, prior
from invented_shots import recorded, study
from scipy.special import expit
from scipy.stats import multivariate_normal

from shotwindow.doe.readings import readings
from shotwindow.doe.seeds import generator
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.suspects import SLIPS, draw_doubting

X = np.linspace(-1.0, 1.0, 9)
DESIGN = np.column_stack([np.ones(9), X])
WIDTH = 0.01


def _line(off: float) -> np.ndarray:
    """Readings along a line, the fifth of them off."""
    y = 0.3 + 0.7 * X + 0.1 * np.sin(7.0 * X)
    y[4] += off
    return np.asarray(y)


def _chance(y: np.ndarray) -> float:
    """Exact chance that the fifth reading is a slip, scales known: normal densities by scipy."""
    covariance = DESIGN @ DESIGN.T + 0.5**2 * np.eye(9)
    keep = np.arange(9) != 4
    all_of_them = multivariate_normal(np.zeros(9), covariance).logpdf(y)
    without = multivariate_normal(np.zeros(8), covariance[np.ix_(keep, keep)]).logpdf(y[keep])
    slip = np.log(0.5 * WIDTH) - np.log(WIDTH) + without - all_of_them
    return float(expit(slip + np.log(SLIPS / (1.0 - SLIPS))))


@pytest.mark.parametrize("off", [1.6, 1.9, 2.05])
def test_draw_doubting__scales_known__chance_of_a_slip_is_exact(off: float) -> None:
    y = _line(off)
    assert 0.1 < _chance(y) < 0.95
    what = density(DESIGN, y[:, None] - WIDTH / 2, y[:, None] + WIDTH / 2, prior(2))
    any_reading = np.full(9, np.log(0.5 * WIDTH))
    _, (slip,) = draw_doubting(what, any_reading, generator(1, "slip"), draws=400)
    assert slip.row == 4 and not slip.low
    # evidence of normal readings is exact but for the intervals
    assert slip.chance == pytest.approx(_chance(y), abs=0.02)


def test_draw_doubting__a_chance_in_between__draws_are_mixed() -> None:
    y = _line(1.9)
    what = density(DESIGN, y[:, None] - WIDTH / 2, y[:, None] + WIDTH / 2, prior(2))
    drawn, (slip,) = draw_doubting(
        what, np.full(9, np.log(0.5 * WIDTH)), generator(1, "slip"), draws=4000
    )
    believed, doubted = (_center(y, keep) for keep in (np.ones(9, bool), np.arange(9) != 4))
    expected = (1.0 - slip.chance) * believed + slip.chance * doubted
    # posterior sd of the middle about 0.17: four standard errors of 300 effective draws
    assert drawn.states[0].mean() == pytest.approx(expected, abs=0.04)


def _center(y: np.ndarray, keep: np.ndarray) -> float:
    """Posterior mean of the intercept, conjugate."""
    x = DESIGN[keep]
    return float(np.linalg.solve(x.T @ x / 0.25 + np.eye(2), x.T @ y[keep] / 0.25)[0])


def test_draw_doubting__nothing_odd__nothing_named() -> None:
    y = _line(0.0)
    what = density(DESIGN, y[:, None] - WIDTH / 2, y[:, None] + WIDTH / 2, prior(2))
    _, slips = draw_doubting(what, np.full(9, np.log(0.5 * WIDTH)), generator(1, "slip"), draws=400)
    assert slips == ()


def test_fit_surfaces__one_reading_beyond_belief__left_out_and_named() -> None:
    rows = list(recorded("avoid"))
    clean = fit_surfaces(readings(study("avoid"), rows), seed=1)
    rows[9] = replace(rows[9], fill=(10.0,))
    found = fit_surfaces(readings(study("avoid"), rows), seed=1)
    (suspect,) = found.suspects
    assert clean.suspects == ()
    assert (suspect.response, suspect.shot, suspect.low) == ("fill", rows[9].shot, True)
    assert suspect.chance > 0.99
    assert np.median(found.fill.shot_sd) < 2.0 * np.median(clean.fill.shot_sd)
