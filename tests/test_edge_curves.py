"""Edges as curves: at the setpoint they are the edges, elsewhere where half the draws part."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.models.edge_curves import EdgeCurve, find_curves


def _curve(name: str, side: str, along: str) -> EdgeCurve:
    found = findings(name)
    return next(c for c in found.curves if (c.side, c.along) == (side, along))


@pytest.mark.parametrize("side", ["low", "high"])
def test_find_curves__at_the_edge__share_of_the_middle_draw_is_what_is_wanted(side: str) -> None:
    found, seen = findings("map"), 0
    for point in _curve("map", side, "melt_temperature").points:
        if point.median is not None and point.chance > 0.93:
            share = found.goodness.shares(np.array([[point.median, point.at]]))
            assert np.median(share) == pytest.approx(found.study.good_from, abs=0.03)
            seen += 1
    assert seen >= 2


def test_find_curves__hotter_melt__both_edges_of_pressure_fall() -> None:
    for side, response in (("low", "fill"), ("high", "flash")):
        points = _curve("map", side, "melt_temperature").points
        known = [(p.at, p.median) for p in points if p.median is not None]
        assert [at for at, _ in known] == sorted(at for at, _ in known) and len(known) > 3
        assert all(a[1] > b[1] for a, b in zip(known, known[1:], strict=False))
        assert {p.response for p in points if p.median is not None} == {response}


def test_find_curves__bands__hold_one_another() -> None:
    for curve in findings("cube").curves:
        beyond = -np.inf if curve.side == "low" else np.inf
        for p in curve.points:
            five = (p.band90[0], p.band50[0], p.median, p.band50[1], p.band90[1])
            places = [beyond if place is None else place for place in five]
            assert places == sorted(places) and 0 < p.chance <= 1


def test_find_curves__some_draws_without_an_edge__band_is_open_on_that_side() -> None:
    found = findings("map")
    assert found.setpoint is not None
    middle = next(
        p for p in _curve("map", "low", "melt_temperature").points if p.at == 220.0
    )  # an edge near 3.8 bar, surely between 3.5 and 4.1
    assert middle.median is not None
    # as if no shot had been made below the place where half the draws have their edge
    region = replace(found.region, low=np.array([middle.median, found.region.low[1]]))
    curves = find_curves(found.goodness, found.setpoint, region, found.study.good_from)
    cut = next(p for p in curves[0].points if p.at == 220.0)
    assert cut.band90[0] is None and cut.band50[0] is None
    assert cut.band90[1] == pytest.approx(middle.band90[1], abs=0.02)


@pytest.mark.parametrize("side", ["low", "high"])
def test_find_curves__of_a_chosen_factor__its_edges_over_the_others(side: str) -> None:
    found = findings("map")
    assert found.setpoint is not None
    curves = find_curves(
        found.goodness, found.setpoint, found.region, found.study.good_from, "melt_temperature"
    )
    assert {(c.factor, c.along) for c in curves} == {("melt_temperature", "pressure")}
    (curve,) = (c for c in curves if c.side == side)
    seen = 0
    for point in curve.points:
        if point.median is not None and point.chance > 0.93:
            share = found.goodness.shares(np.array([[point.at, point.median]]))
            assert np.median(share) == pytest.approx(found.study.good_from, abs=0.03)
            seen += 1
    assert seen >= 2


def test_find_curves__one_factor__nothing_to_draw_over() -> None:
    found = findings("dial")
    assert found.setpoint is not None
    assert find_curves(found.goodness, found.setpoint, found.region, 0.9) == ()
