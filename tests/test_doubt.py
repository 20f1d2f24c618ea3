"""Doubt that is left after a shot, against counting draws, and what outcomes a shot may show."""

import numpy as np
import pytest
from invented_shots import findings
from made_surfaces import surface, surfaces
from numpy.typing import NDArray

from shotwindow.models.doubt import Doubt, find_doubt
from shotwindow.models.goodness import goodness
from shotwindow.models.showing import showing


def _doubt(inside: NDArray[np.float64]) -> Doubt:
    """Doubt of all marks (marks, draws), with all parts kept."""
    centered = inside - inside.mean(axis=1, keepdims=True)
    values, vectors = np.linalg.eigh(4.0 / len(inside) * centered.T @ centered)
    return Doubt((vectors * np.sqrt(values.clip(0.0))).astype(np.float32))


def test_expected__outcome_that_tells_draws_apart__counted() -> None:
    rng = np.random.default_rng(3)
    inside = (rng.random((50, 40)) < 0.5).astype(float)
    first = np.arange(40) < 15  # the outcome is certain given the draw
    shows = np.stack([first, ~first]).astype(np.float32)[None]
    alike = np.full((1, 40), 1 / 40, dtype=np.float32)
    expected = 0.0
    for part in (first, ~first):  # sample variance, as in numpy
        expected += part.mean() * 4 * inside[:, part].var(axis=1, ddof=1).mean()
    assert _doubt(inside).expected(alike, shows)[0] == pytest.approx(expected, rel=1e-4)


def test_expected__outcome_that_tells_nothing__doubt_as_now() -> None:
    rng = np.random.default_rng(4)
    inside = (rng.random((200, 400)) < 0.5).astype(float)
    made = _doubt(inside)
    # tells of draws apart, but nothing of the marks: by chance alone, so the mean is right
    shows = (rng.random((60, 1, 400)) < 0.1).astype(np.float32)
    shows = np.concatenate([shows, 1 - shows], axis=1)
    alike = np.full((1, 400), 1 / 400, dtype=np.float32)
    found = made.expected(alike, shows)
    assert found.mean() == pytest.approx(made.now, rel=0.002)


def test_find_doubt__as_the_chances_of_all_marks() -> None:
    found = findings("map")
    assert found.window is not None
    chance = np.nan_to_num(found.window.probability_in_window)
    direct = 4 * (chance * (1 - chance)).sum() / found.window.allowed.sum()
    doubt = find_doubt(found.window, found.goodness).now
    # all marks in doubt are looked at; 1 in 400 is the correction for few draws
    assert doubt == pytest.approx(direct * 400 / 399, rel=1e-3)


def test_showing__sums_to_one_and_as_simulated() -> None:
    found = findings("map")
    factors = found.study.factors
    made = surfaces(
        surface("fill", factors, [0.0, 0.1, 0.05], draws=3, spread=0.0),
        surface("flash", factors, [0.3, 0.1, 0.05], draws=3, spread=0.0),
    )
    here = np.array([[4.0, 220.0], [4.6, 230.0]])
    shows = showing(goodness(made), found.study, here)
    assert shows.sum(axis=1) == pytest.approx(1.0, abs=1e-5)
    # outcomes of flash run fastest; there are five: unseen, good, over, more, far more
    by_fill = shows.reshape(2, -1, 5, 3).sum(axis=2)
    rng = np.random.default_rng(1)
    height = made.fill.latent(here)[:, 0]
    full = (height[:, None] + 0.02 * rng.normal(size=(2, 100_000)) >= 0).mean(axis=1)
    # four standard errors of a share of 100,000
    assert by_fill[:, 0, 0] == pytest.approx(full, abs=4 * 0.5 / 100_000**0.5)
