"""Confirmation shots: how many, where, in which groups, and the chance that they pass."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings, study
from made_surfaces import surface, surfaces
from scipy.stats import binom, norm

from shotwindow.doe.seeds import generator
from shotwindow.models.challenge import (
    Demand,
    chance_to_pass,
    corner_odds,
    plan_challenge,
    risks,
    worst_corners,
)
from shotwindow.models.goodness import goodness
from shotwindow.models.setpoint import Ranges


def test_worst_corners__lowest_for_fill_and_highest_for_flash_first() -> None:
    found = findings("cube")
    counts = [f.count for f in found.study.factors]
    ranges = Ranges(tuple(n // 4 for n in counts), tuple(3 * n // 4 for n in counts), "sure")
    corners = worst_corners(found.goodness, found.study.factors, ranges)
    ends = [(f.marks[a], f.marks[b]) for f, a, b in
            zip(found.study.factors, ranges.low, ranges.high, strict=True)]  # fmt: skip
    # fill and flash of the invented shots rise in every factor
    assert corners[0].tolist() == [low for low, _ in ends]
    assert corners[1].tolist() == [high for _, high in ends]
    assert len(np.unique(corners, axis=0)) == 4


def test_worst_corners__one_mark_wide__no_corner_twice() -> None:
    found = findings("cube")
    corners = worst_corners(found.goodness, found.study.factors, Ranges((5, 2, 2), (5, 4, 2), "x"))
    assert len(corners) == 2


def test_plan_challenge__groups_dealt_evenly_and_corners_between_them() -> None:
    made = study("map")
    corners = np.array([[4.4, 225.0], [4.0, 215.0], [4.0, 225.0], [4.4, 220.0]])
    plan = plan_challenge(made, np.array([4.2, 220.0]), corners, Demand(0.8, 0.9, groups=3))
    assert plan.shots_by_group == (4, 4, 3)  # 11 shots show 0.8 with 0.9
    # setpoint, 215 degC, setpoint, 225 degC, setpoint: it is really left and found again
    assert np.bincount(plan.group).tolist() == [0, 4, 1, 4, 2, 4]
    assert plan.reheated == ()
    at = plan.settings[plan.corner].tolist()
    assert at == [[4.0, 215.0], [4.0, 225.0], [4.4, 225.0], [4.4, 220.0]]
    # the corner at the setpoint's own temperature is shot in its last group
    assert plan.group[plan.corner].tolist() == [2, 4, 4, 5]


def test_plan_challenge__one_group__corners_after_it() -> None:
    corners = np.array([[4.4, 225.0], [4.0, 215.0], [4.0, 225.0]])
    plan = plan_challenge(study("map"), np.array([4.2, 220.0]), corners, Demand(0.8, 0.9))
    assert np.bincount(plan.group).tolist() == [0, 11, 1, 2]
    assert not plan.corner[:11].any() and plan.corner[11:].all()


def test_plan_challenge__too_few_corners__says_which_groups_nothing_parts() -> None:
    corners, three = np.array([[4.4, 225.0]]), Demand(0.8, 0.9, groups=3)
    plan = plan_challenge(study("map"), np.array([4.2, 220.0]), corners, three)
    assert plan.group[~plan.corner][[0, 4, 8]].tolist() == [1, 3, 4]
    assert plan.reheated == (3,)


def test_chance_to_pass__known_surface__binomial() -> None:
    factors = study("map").factors
    fill = surface("fill", factors, [0.03, 0.0, 0.0], spread=0.0)
    made = surfaces(fill, surface("flash", factors, [-1.0, 0.0, 0.0], spread=0.0))
    demand = Demand(0.9, 0.9, failures=1)
    plan = plan_challenge(study("map"), np.array([4.2, 220.0]), np.zeros((0, 2)), demand)
    chance = chance_to_pass(goodness(made), plan, demand, lot="L1", rng=generator(1, "test"))
    expected = binom.cdf(1, 38, norm.sf(0.03 / 0.02))
    # 4,000 repeats: four standard errors
    assert chance.setpoint == pytest.approx(expected, abs=4 * 0.5 / 4000**0.5)
    assert chance.corners == 1.0


def test_chance_to_pass__scatter_between_groups_shared_by_a_group() -> None:
    factors = study("map").factors
    fill = surface("fill", factors, [0.03, 0.0, 0.0], spread=0.0, scatter=1e-6)
    fill = replace(fill, group_sd=0.02 * np.ones(200))
    made = surfaces(fill, surface("flash", factors, [-1.0, 0.0, 0.0], spread=0.0))
    for groups in (1, 3):
        demand = Demand(0.9, 0.9, groups=groups)
        plan = plan_challenge(study("map"), np.array([4.2, 220.0]), np.zeros((0, 2)), demand)
        chance = chance_to_pass(goodness(made), plan, demand, lot="L1", rng=generator(1, "g"))
        # all shots of a group are good together
        expected = norm.cdf(0.03 / 0.02) ** groups
        assert chance.setpoint == pytest.approx(expected, abs=4 * 0.5 / 4000**0.5)


def test_corner_odds__binomial() -> None:
    for failures in range(5):
        expected = binom.sf(failures - 1, 4, 0.1)
        assert corner_odds(failures, 4, 0.9) == pytest.approx(expected)


def test_risks__by_counting_alone_and_with_groups() -> None:
    factors = study("map").factors
    fill = surface("fill", factors, [0.03, 0.0, 0.0], scatter=0.02)
    flash = surface("flash", factors, [-1.0, 0.0, 0.0], scatter=0.02)
    demand = Demand(0.9, 0.9, groups=3)
    plan = plan_challenge(study("map"), np.array([4.2, 220.0]), np.zeros((0, 2)), demand)
    worse, just = risks(goodness(surfaces(fill, flash)), plan, demand)
    assert (worse.share, just.share) == pytest.approx((0.8, 0.9))
    for risk in (worse, just):  # no scatter between groups
        assert risk.as_planned == pytest.approx(risk.alone) == binom.cdf(0, 22, 1 - risk.share)
    fill = replace(fill, group_sd=0.02 * np.ones(200))
    worse, just = risks(goodness(surfaces(fill, flash)), plan, demand)
    assert worse.alone < worse.as_planned < worse.one_group < just.one_group
    # below half good, twice as many bad shots would be more than there are
    assert [r.share for r in risks(goodness(surfaces(fill, flash)), plan, Demand(0.4, 0.9))] == [
        0.4
    ]
