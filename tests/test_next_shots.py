"""Shots to make next: new, allowed, in the present group first, and worth more than others."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.models import choosing
from shotwindow.models.candidates import Ground
from shotwindow.models.choosing import Choosing
from shotwindow.models.edge_error import find_error
from shotwindow.models.goodness import ShareCurve
from shotwindow.models.next_shots import Batch, choose_next
from shotwindow.models.window import Window, settings_at
from shotwindow.reports.findings import Findings


def _ground(found: Findings) -> Ground:
    return Ground(found.study, found.region, np.array([row.settings for row in found.rows]))


def _window(found: Findings) -> Window:
    assert found.window is not None
    return found.window


def _next(name: str, shots: int = 4, *, cold: bool = False, seed: int = 1) -> Batch:
    found = findings(name)
    present = None if cold else np.array(found.rows[-1].settings)
    return choose_next(
        _ground(found), _window(found), found.goodness, shots=shots, present=present, seed=seed
    )


@pytest.mark.parametrize("name", ["map", "cube", "graded", "avoid", "sink"])
def test_next__every_shot__new_on_marks_and_allowed(name: str) -> None:
    found, batch = findings(name), _next(name)
    settings = np.array([s.settings for s in batch.shots])
    ground = _ground(found)
    assert len(settings) == 4
    assert found.study.allowed(settings).all() and ground.is_new(settings).all()
    for i in range(4):
        others = [settings[[j]] for j in range(4) if j != i]
        assert ground.is_new(settings[[i]], others)[0]
    for j, factor in enumerate(found.study.factors):
        steps = (settings[:, j] - factor.low) / factor.step
        assert steps == pytest.approx(np.round(steps), abs=1e-6)


def test_next__same_seed__same_shots() -> None:
    assert _next("map") == _next("map")


def test_next__one_shot__mends_more_than_any_other_of_its_group() -> None:
    found = findings("map")
    (shot,) = _next("map", 1).shots
    ground, present = _ground(found), np.array(found.rows[-1].settings)
    error = find_error(found.study, _window(found), found.goodness, found.region, groups=2)
    here = np.array([shot.settings])
    moved = ground.moved(here, present)
    others = ground.spread(np.random.default_rng(1), here[0])
    others = others[ground.is_new(others)]
    left = error.after(others, np.full(len(others), int(moved[0])))
    assert shot.settles == pytest.approx(error.now - left.min(), abs=1e-9)
    assert shot.new_group == moved[0]


def test_next__soaks_that_take_forever__stays_in_the_present_group() -> None:
    found = findings("map")
    factors = tuple(
        replace(f, soak_min=9000.0, soak_down_min=9000.0) if f.is_slow else f
        for f in found.study.factors
    )
    ground = replace(_ground(found), study=replace(found.study, factors=factors))
    present = np.array(found.rows[-1].settings)
    batch = choose_next(ground, _window(found), found.goodness, shots=3, present=present)
    assert {s.settings[1] for s in batch.shots} == {present[1]}
    assert not any(s.new_group for s in batch.shots)


def test_next__cold_press__opens_a_group_from_low_pressure_up() -> None:
    batch = _next("map", cold=True)
    assert batch.shots[0].new_group
    first = [s for s in batch.shots if s.settings[1] == batch.shots[0].settings[1]]
    assert [s.settings[0] for s in first] == sorted(s.settings[0] for s in first)


def test_next__edge_never_seen__sought_a_small_step_outside() -> None:
    found, batch = findings("full"), _next("full")
    assert "fill" in _window(found).open_edges
    sought = [s for s in batch.shots if s.why == "edge" and s.response == "fill"]
    (shot,) = sought
    # all full from 3 bar up: below, by a tenth of the range of 2 bar
    assert shot.settings == (2.8,) and shot.beyond == ("pressure",)


def test_next__edge_never_seen_and_limits_leave_no_room__said() -> None:
    found = findings("full")
    factors = tuple(replace(f, limits=(3.0, 7.0)) for f in found.study.factors)
    ground = replace(_ground(found), study=replace(found.study, factors=factors))
    good = _window(found)
    sure = replace(
        found.goodness,
        curves=tuple(
            replace(c, handicap=c.handicap - 5.0)
            if isinstance(c, ShareCurve) and c.surface.response == "fill"
            else c
            for c in found.goodness.curves
        ),
    )
    batch = choose_next(ground, good, sure, shots=2, present=np.array(found.rows[-1].settings))
    assert batch.blocked == ("fill",)


def test_next__nothing_good__walks_toward_it_beyond_the_highest_pressure() -> None:
    batch = _next("short", 4)
    assert batch.nothing_good and not batch.stop
    assert {s.why for s in batch.shots} == {"walk"}
    # all short up to 5 bar: one step beyond, no jump, and no shot where nothing can be good
    assert [s.settings for s in batch.shots] == [(5.2,)]


def test_next__reference__among_them_once_and_in_a_group_of_its_own() -> None:
    found, present = findings("map"), np.array([3.0, 235.0])
    made = np.array(found.rows[9].settings)  # shot before: only a reference may be near a shot
    assert made[1] != present[1] and not _ground(found).is_new(made[None, :])[0]
    ground = replace(_ground(found), reference=made)
    batch = choose_next(ground, _window(found), found.goodness, shots=4, present=present)
    (shot,) = [s for s in batch.shots if s.why == "reference"]
    assert shot.settings == tuple(made) and len(batch.shots) == 4
    # the present group comes first and is not waited for; the one of the reference is, once
    opened = [s.settings[1] for s in batch.shots if s.new_group]
    assert opened.count(made[1]) == 1 and present[1] not in opened
    assert present[1] not in [s.settings[1] for s in batch.shots[1:] if s.new_group]


def test_next__nothing_in_doubt__stop() -> None:
    found = findings("map")
    sharp = tuple(
        replace(c, surface=replace(c.surface, coefficients=np.tile(mean, (400, 1))))
        for c in found.goodness.curves
        for mean in [c.surface.coefficients.mean(axis=0)]
    )
    known = replace(found.goodness, curves=sharp)
    present = np.array(found.rows[-1].settings)
    batch = choose_next(_ground(found), _window(found), known, shots=2, present=present)
    assert batch.wrong_now < 1e-6 and batch.stop
    assert not _next("map").stop


def test_next__heavy_flash_seen__nothing_at_least_as_high_in_every_factor() -> None:
    found = findings("map")
    flashed = np.array([_next("map").shots[0].settings])  # as if it had flashed heavily there
    ground, present = replace(_ground(found), flashed=flashed), np.array(found.rows[-1].settings)
    batch = choose_next(ground, _window(found), found.goodness, shots=4, present=present)
    settings = np.array([s.settings for s in batch.shots])
    assert (settings < flashed).any(axis=1).all()


def test_is_safe__as_high_in_every_factor_as_heavy_flash__is_not() -> None:
    ground = replace(_ground(findings("map")), flashed=np.array([[4.0, 215.0], [4.5, 210.0]]))
    settings = np.array([[4.0, 215.0], [4.2, 216.0], [4.5, 212.0], [3.9, 230.0], [4.4, 214.0]])
    assert ground.is_safe(settings).tolist() == [False, False, False, True, True]


def test_worth_a_soak__the_group_itself_or_well_apart_from_it() -> None:
    ground = _ground(findings("map"))  # melt temperature from 205 to 235 degC, slow; pressure not
    settings = np.array([[3.0, 220.0], [3.1, 220.4], [5.0, 218.6], [3.0, 221.5], [3.0, 222.0]])
    groups = [np.array([4.0, 220.0])]
    assert ground.is_worth_a_soak(settings, groups).tolist() == [True, False, False, False, True]
    groups.append(np.array([4.0, 222.4]))
    assert not ground.is_worth_a_soak(settings, groups)[4]
    assert ground.is_worth_a_soak(settings, []).all()
    # without slow settings there is nothing to wait for
    fast = _ground(findings("dial"))
    assert fast.is_worth_a_soak(np.array([[60.0], [61.0]]), [np.array([60.0])]).all()


@pytest.mark.parametrize("candidates", [choosing._spread, choosing._reach])
def test_choosing__settings_to_choose_from__none_a_soak_away_for_a_degree(
    candidates: Callable[[Choosing], np.ndarray],
) -> None:
    found = findings("map")
    window, present, ground = _window(found), np.array([4.0, 220.0]), _ground(found)
    error = find_error(found.study, window, found.goodness, found.region, groups=2)
    pool = settings_at(found.study.factors, np.arange(window.allowed.size))
    rng = np.random.default_rng(1)
    state = Choosing(ground, found.goodness, error, window, present, [present], pool, rng, [], [])
    away = np.unique(np.abs(candidates(state)[:, 1] - 220.0))
    assert away[0] == 0.0 and away[1] > 1.5  # degrees: a twentieth of the range


def test_beyond__inside_the_limits_and_one_factor_at_a_time() -> None:
    found = findings("avoid")
    ground = _ground(found)
    corners = np.array([[3.0, 4.0], [5.0, 4.0], [4.0, 7.0]])
    steps = ground.beyond(corners)
    assert found.study.allowed(steps).all()
    ends = np.clip(steps, found.region.low, found.region.high)
    assert ((steps != ends).sum(axis=1) == 1).all()
    assert sorted(map(tuple, steps.round(6).tolist())) == [
        (2.8, 4.0), (3.0, 3.5), (5.0, 3.5), (5.2, 4.0)
    ]  # fmt: skip
    tight = tuple(replace(f, limits=(f.low, f.high)) for f in found.study.factors)
    assert not len(replace(ground, study=replace(found.study, factors=tight)).beyond(corners))
