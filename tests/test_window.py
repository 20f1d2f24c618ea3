"""The window over the marks: where it answers, and what it leaves open."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from made_surfaces import surface, surfaces

from shotwindow.models.goodness import goodness
from shotwindow.models.window import find_window, open_edges, settings_at, tried_region


def test_find_window__every_mark__as_asked_one_by_one() -> None:
    """Marks that a few draws find clear are not asked further; all others are exact."""
    found = findings("map")
    window = found.window
    assert window is not None
    asked = np.flatnonzero(~np.isnan(window.probability_good))
    shares = found.goodness.shares(settings_at(window.factors, asked)).astype(float)
    assert window.probability_good.ravel()[asked] == pytest.approx(shares.mean(axis=1), abs=0.005)
    inside = (shares >= window.good_from).mean(axis=1)
    assert window.probability_in_window.ravel()[asked] == pytest.approx(inside, abs=0.005)


def test_find_window__stricter_share__never_larger() -> None:
    found = findings("map")
    sizes = []
    for good_from in (0.6, 0.8, 0.9, 0.97):
        study = replace(found.study, good_from=good_from)
        window = find_window(study, found.readings, goodness(found.surfaces))
        sizes.append((window.share_likely, window.share_sure))
    assert all(a >= b for a, b in zip(sizes, sizes[1:], strict=False))
    assert sizes[0] > sizes[-1]


def test_tried_region__holds_what_was_shot_and_nothing_outside() -> None:
    found = findings("map")
    region, settings = tried_region(found.readings), found.readings.settings
    assert region.holds(settings).all()
    beyond = settings.max(axis=0) + 0.1 * np.ptp(settings, axis=0)
    assert not region.holds(beyond[None, :]).any()


def test_tried_region__one_factor_held__no_answer_elsewhere() -> None:
    found = findings("map")
    held = found.readings.settings.copy()
    held[:, 1] = held[0, 1]
    region = tried_region(replace(found.readings, settings=held))
    moved = held.copy()
    moved[:, 1] += 1.0
    assert region.holds(held).all() and not region.holds(moved).any()


def test_open_edges__only_good_shots__both_unknown() -> None:
    readings = findings("map").readings
    full = replace(
        readings,
        fill_low=np.full_like(readings.fill_low, 100.0),
        fill_high=np.full_like(readings.fill_high, np.inf),
        flash_low=np.full(readings.shot.shape + (1,), -np.inf),
        flash_high=np.full(readings.shot.shape + (1,), 0.02),
        flash_grade=None,
    )
    assert open_edges(full) == ("fill", "flash")


def test_find_window__few_draws_stand_apart__not_missed() -> None:
    """As with many factors: eight of 200 draws, none of the first, say that all parts are short."""
    found = findings("map")
    fill = surface("fill", found.study.factors, [0.3, 0.0, 0.0], spread=0.002)
    apart = fill.coefficients.copy()
    apart[150:158, 0] = -0.3
    flash = surface("flash", found.study.factors, [-1.0, 0.0, 0.0], spread=0.002)
    made = goodness(surfaces(replace(fill, coefficients=apart), flash))
    window = find_window(found.study, found.readings, made)
    asked = ~np.isnan(window.probability_in_window)
    assert window.probability_in_window[asked] == pytest.approx(0.96, abs=1e-6)
