"""The share that a window gets wrong, against counting draws and against weighting them anew."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from made_surfaces import surface, surfaces
from scipy.stats import norm

from shotwindow.models.edge_error import EdgeError, find_error
from shotwindow.models.goodness import Goodness, goodness

FOUND = findings("map")
DRAWS = 20_000


def _made(draws: int = DRAWS, group: float = 0.0) -> Goodness:
    """Return surfaces of which only the short edge runs through the marks."""
    factors = FOUND.study.factors
    fill = surface("fill", factors, [0.0, 0.3, 0.1], draws=draws, spread=0.03)
    fill = replace(fill, group_sd=group * np.ones(draws))
    flash = surface("flash", factors, [-1.0, 0.0, 0.0], draws=draws, spread=0.0)
    return goodness(surfaces(fill, flash))


def _error(made: Goodness, groups: int = 5) -> EdgeError:
    assert FOUND.window is not None
    return find_error(FOUND.study, FOUND.window, made, FOUND.region, groups=groups)


def _wrong(inside: np.ndarray, weights: np.ndarray) -> float:
    chance = inside @ weights
    return float(np.minimum(chance, 1.0 - chance).mean())


def test_now__as_counted_over_the_draws() -> None:
    made = _made()
    error = _error(made)
    inside = made.shares(error.marks) >= 0.9
    counted = _wrong(inside, np.full(DRAWS, 1 / DRAWS))
    # normal heights, and edges as long as the marks are wide
    assert error.now == pytest.approx(counted, rel=0.06)


def test_now__edges_across_each_other__each_counts_only_where_the_other_is_good() -> None:
    factors = FOUND.study.factors
    fill = surface("fill", factors, [0.0, 0.3, 0.0], draws=DRAWS, spread=0.03)
    flash = surface("flash", factors, [0.0, 0.0, 0.3], draws=DRAWS, spread=0.03)
    made = goodness(surfaces(fill, flash))
    error = _error(made)
    counted = _wrong(made.shares(error.marks) >= 0.9, np.full(DRAWS, 1 / DRAWS))
    # without the other edge each would count twice as much
    assert error.now == pytest.approx(counted, rel=0.15)


def test_edges__where_they_most_likely_run__the_share_of_good_shots_is_what_is_wanted() -> None:
    made = _made(400)
    error = _error(made)
    likeliest = error.marks[np.argsort(-error.edges[0].weight)[:10]]
    # marks lie beside the edge and seldom on it
    assert np.median(made.shares(likeliest)) == pytest.approx(0.9, abs=0.06)


def test_after__one_number_read__as_by_weighting_the_draws_anew() -> None:
    made = _made()
    error, here = _error(made), np.array([[3.6, 226.0]])  # short for sure: read as a number
    inside = made.shares(error.marks) >= 0.9
    height = made.curves[0].surface.latent(here)[0]
    rng, left = np.random.default_rng(1), []
    for true in rng.choice(height, 60, replace=False):
        weights = norm.pdf(true + 0.02 * rng.normal(), height, 0.02)
        left.append(_wrong(inside, weights / weights.sum()))
    found = error.after(here, np.array([0]))[0] / error.now
    now = _wrong(inside, np.full(DRAWS, 1 / DRAWS))
    # 60 outcomes scatter by less than a tenth: their mean by 0.013, four of which are allowed
    assert found == pytest.approx(np.mean(left) / now, abs=0.05) and found < 0.9


def test_after__near_the_edge_tells_more_than_full_parts_do() -> None:
    error = _error(_made(400))
    settings = np.array([[3.8, 220.0], [5.0, 235.0]])
    edge, full = error.after(settings, np.array([0, 0]))
    assert edge < full <= error.now * (1 + 1e-9)


def test_with_shot__then_now__what_after_said() -> None:
    error = _error(_made(400, group=0.02))
    settings = np.array([[3.8, 220.0]])
    said = error.after(settings, np.array([2]))[0]
    assert error.with_shot(settings[0], 2).now == pytest.approx(said, rel=1e-9)


def test_groups__second_shot_of_a_group_tells_less_of_the_level_than_one_of_another() -> None:
    error = _error(_made(400, group=0.1)).with_shot(np.array([3.8, 220.0]), 0)
    same, other = error.after(np.array([[3.8, 222.0]] * 2), np.array([0, 1]))
    assert other < same


def test_unanswered__marks_outside_of_what_was_tried_count_until_a_shot_brings_them_in() -> None:
    made = _made(400)
    assert FOUND.window is not None
    narrow = replace(FOUND.region, high=np.array([4.5, 235.0]))
    error = find_error(FOUND.study, FOUND.window, made, narrow, groups=2)
    whole = _error(made)
    assert error.now > whole.now + 0.1  # a quarter of the marks, most of them good
    far, near = error.after(np.array([[5.0, 235.0], [4.4, 220.0]]), np.array([0, 0]))
    assert far < near - 0.1
    assert error.with_shot(np.array([5.0, 235.0]), 0).now == pytest.approx(far, rel=1e-9)


def test_find_error__same_seed_same_marks_and_no_more_than_enough() -> None:
    cube = findings("cube")
    assert cube.window is not None
    one, other = (
        find_error(cube.study, cube.window, cube.goodness, cube.region, groups=1, seed=3)
        for _ in range(2)
    )
    assert (one.marks == other.marks).all() and one.now == other.now
    assert len(one.marks) == min(1200, int(cube.window.allowed.sum()))
