"""Shots to make next: new, allowed, in the present group first, and worth more than others."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.models.candidates import Ground
from shotwindow.models.doubt import find_doubt
from shotwindow.models.next_shots import Batch, choose_next
from shotwindow.models.showing import showing
from shotwindow.models.window import Window
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
def test_next__every_shot__new_on_marks_allowed_and_tried(name: str) -> None:
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


def test_next__one_shot__settles_more_than_any_other_of_its_group() -> None:
    found = findings("map")
    batch = _next("map", 1)
    doubt = find_doubt(_window(found), found.goodness)
    ground, present = _ground(found), np.array(found.rows[-1].settings)
    others = ground.group(np.array(batch.shots[0].settings), np.random.default_rng(1))
    others = others[ground.is_new(others)]
    alike = np.full((1, doubt.draws), 1 / doubt.draws, dtype=np.float32)
    left = doubt.expected(alike, showing(found.goodness, found.study, others))
    assert batch.shots[0].settles == pytest.approx(doubt.now - left.min(), abs=1e-6)
    assert (
        batch.shots[0].new_group
        == ground.moved(np.array([batch.shots[0].settings]), present).item()
    )


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
            replace(c, handicap=c.handicap - 5.0) if c.surface.response == "fill" else c
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


def test_next__nothing_in_doubt__stop() -> None:
    found = findings("map")
    chance = _window(found).probability_in_window
    clear = replace(_window(found), probability_in_window=np.where(chance >= 0.5, 1.0, 0.0))
    present = np.array(found.rows[-1].settings)
    batch = choose_next(_ground(found), clear, found.goodness, shots=2, present=present)
    assert batch.doubt_now == 0.0 and batch.stop
    assert not _next("map").stop


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
