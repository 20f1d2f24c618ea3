"""Where a window is asked of few draws, of all or of none, and which demands go with it."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from made_surfaces import surface, surfaces

from shotwindow.models import window as windows
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.window import PROBES, Region, find_window, open_edges, tried_region

DRAWS = 200


def _asked(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Return a list that will hold how many settings were asked of all draws at a time."""
    plain, asked = Goodness.shares, list[int]()

    def counted(self: Goodness, settings: np.ndarray) -> np.ndarray:
        shares = plain(self, settings)
        if shares.shape[1] == DRAWS:
            asked.append(len(settings))
        return shares

    monkeypatch.setattr(Goodness, "shares", counted)
    return asked


@pytest.mark.parametrize(("fill", "chance"), [(1.0, 1.0), (-1.0, 0.0)])
def test_find_window__all_draws_agree__asked_at_the_probes_alone(
    monkeypatch: pytest.MonkeyPatch, fill: float, chance: float
) -> None:
    found = findings("map")
    full = surface("fill", found.study.factors, [fill, 0.0, 0.0])
    flash = surface("flash", found.study.factors, [-1.0, 0.0, 0.0])
    made = goodness(surfaces(full, flash))
    asked = _asked(monkeypatch)
    window = find_window(found.study, found.readings, made)
    answers = window.probability_in_window[~np.isnan(window.probability_in_window)]
    assert (answers == chance).all() and answers.size > PROBES
    assert PROBES <= sum(asked) < 2 * PROBES


def test_find_window__edge_through_the_middle__all_draws_asked_near_it_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = findings("map")
    full = surface("fill", found.study.factors, [0.0, 0.5, 0.0])
    flash = surface("flash", found.study.factors, [-1.0, 0.0, 0.0])
    made = goodness(surfaces(full, flash))
    asked = _asked(monkeypatch)
    window = find_window(found.study, found.readings, made)
    marks = window.probability_good[~np.isnan(window.probability_good)].size
    # an edge with a scatter of 0.03 is open over a fifth of a range of 1
    assert 0.1 * marks < sum(asked) - PROBES < 0.6 * marks


@pytest.mark.parametrize(("side", "chance"), [(1.0, 0.96), (-1.0, 0.04)])
def test_find_window__few_draws_stand_apart_at_the_far_end_only__not_missed(
    side: float, chance: float
) -> None:
    """At low pressure eight of 200 draws are like the others; at high pressure they disagree."""
    found = findings("map")
    fill = surface("fill", found.study.factors, [0.0, 0.0, 0.0], spread=0.0)
    coefficients = fill.coefficients.copy()
    coefficients[:, 0] = np.linspace(0.2, 1.0, DRAWS)
    coefficients[96:104, :2] = [0.24, -0.45]  # 0.6 at a coded pressure of -0.8
    flash = surface("flash", found.study.factors, [-1.0, 0.0, 0.0])
    made = goodness(surfaces(replace(fill, coefficients=side * coefficients), flash))
    window = find_window(found.study, found.readings, made)
    high = window.probability_in_window[-2:]
    assert high[~np.isnan(high)] == pytest.approx(chance, abs=1e-6)


@pytest.mark.parametrize(
    ("good_from", "demands"),
    [(0.9, (0.95, 0.98, 0.99)), (0.95, (0.98, 0.99)), (0.97, (0.98, 0.99)), (0.99, ())],
)
def test_find_window__wanted_share__only_stricter_demands_beside_it(
    good_from: float, demands: tuple[float, ...]
) -> None:
    found = findings("map")
    study = replace(found.study, good_from=good_from)
    window = find_window(study, found.readings, found.goodness)
    assert tuple(demand.good_from for demand in window.stricter) == demands


def _tried(settings: list[list[float]]) -> Region:
    return tried_region(replace(findings("map").readings, settings=np.array(settings)))


def test_tried_region__settings_along_a_diagonal__not_the_corners_beside_it() -> None:
    """Both ends of either setting were tried, but never low pressure with a hot melt."""
    region = _tried([[3.0, 205.0], [4.0, 221.0], [4.0, 219.0], [5.0, 235.0]])
    assert region.holds(np.array([[3.5, 212.5], [4.5, 227.5], [5.0, 235.0]])).all()
    assert not region.holds(np.array([[3.0, 235.0], [5.0, 205.0], [4.0, 221.5]])).any()


def test_tried_region__ends_as_they_are_written__held_in_spite_of_rounding() -> None:
    region = _tried([[0.1 + 0.2, 205.0], [0.6, 235.0], [0.3, 235.0], [0.6, 205.0]])
    assert region.holds(np.array([[0.3, 205.0], [0.3, 235.0], [3 * 0.2, 205.0]])).all()
    assert not region.holds(np.array([[0.3 - 1e-6, 220.0], [0.6 + 1e-6, 220.0]])).any()


@pytest.mark.parametrize(("grades", "seen"), [((0, 1, 1), False), ((0, 2, 1), True)])
def test_open_edges__grades__flash_is_seen_above_the_limit_alone(
    grades: tuple[int, ...], seen: bool
) -> None:
    readings = findings("graded").readings
    assert readings.flash_good == 1.0
    graded = replace(readings, flash_grade=np.array(grades)[:, None])
    assert ("flash" not in open_edges(graded)) == seen


@pytest.mark.parametrize(("to", "seen"), [(97.0, True), (100.0, True), (100.5, False)])
def test_open_edges__one_reading_that_ends_below_the_limit__short_was_seen(
    to: float, seen: bool
) -> None:
    readings = findings("map").readings
    high = np.full_like(readings.fill_high, np.inf)
    high[2, 0] = to
    assert readings.fill_good == 100.0
    assert ("fill" not in open_edges(replace(readings, fill_high=high))) == seen


def test_find_window__taken_in_other_portions__the_same_answers(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = findings("map")
    assert found.window is not None
    monkeypatch.setattr(windows, "CHUNK", 100)
    window = find_window(found.study, found.readings, found.goodness)
    assert np.array_equal(window.tried, found.window.tried)
    for name in ("probability_good", "probability_in_window"):
        one, other = getattr(window, name), getattr(found.window, name)
        assert one == pytest.approx(other, abs=1e-6, nan_ok=True)
    assert window.stricter == found.window.stricter


def test_window__no_mark_may_be_set__no_share_and_no_division_by_nothing() -> None:
    window = findings("map").window
    assert window is not None
    none = np.zeros_like(window.allowed)
    bare = replace(window, allowed=none, probability_in_window=np.where(none, 1.0, np.nan))
    assert (bare.share_likely, bare.share_sure) == (0.0, 0.0)
