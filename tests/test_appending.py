"""Shots added at the end of a plan: group, warm-up shots, block, minutes."""

import pytest
from invented_shots import planned, study

from shotwindow.doe.appending import Wanted, added_minutes, append
from shotwindow.doe.errors import StudyError


def test_append__same_slow_setting__goes_on_in_the_group_without_warm_up() -> None:
    plan = planned("map")
    last = plan.shots[-1]
    longer = append(study("map"), plan, [Wanted((3.3, last.settings[1]), "next")])
    (added,) = longer.shots[len(plan.shots) :]
    assert (added.shot, added.group, added.block) == (last.shot + 1, last.group, last.block)
    assert longer.shots[:-1] == plan.shots


def test_append__slow_setting_changes__a_new_group_after_its_warm_up_shots() -> None:
    plan, made = planned("map"), study("map")
    longer = append(made, plan, [Wanted((4.0, 212.0), "reference"), Wanted((4.5, 212.0), "next")])
    added = longer.shots[len(plan.shots) :]
    warm = made.time.warm_up_shots
    assert [s.kind for s in added] == ["warm-up"] * warm + ["reference", "next"]
    assert {s.group for s in added} == {plan.shots[-1].group + 1}
    assert [s.shot for s in added] == list(range(len(plan.shots) + 1, len(longer.shots) + 1))


def test_append__fresh__a_new_group_though_nothing_changes() -> None:
    plan = planned("map")
    here = plan.shots[-1].settings
    longer = append(study("map"), plan, [Wanted(here, "confirm", True)], block="confirm 1")
    assert longer.shots[-1].group == plan.shots[-1].group + 1
    assert longer.shots[-1].block == "confirm 1"


def test_append__press_stands_in_an_earlier_group__that_group_goes_on() -> None:
    plan = planned("map")
    early = plan.shots[2]
    longer = append(study("map"), plan, [Wanted((3.3, early.settings[1]), "next")], after=3)
    assert longer.shots[-1].group == early.group


def test_append__outside_the_limits__refused() -> None:
    with pytest.raises(StudyError, match="outside the limits"):
        append(study("map"), planned("map"), [Wanted((7.5, 220.0), "next")])


def test_added_minutes__soak_and_warm_up_shots_counted() -> None:
    plan, made = planned("map"), study("map")
    last = plan.shots[-1].settings  # 235 degC: the end of the range
    longer = append(made, plan, [Wanted((last[0], 205.0), "next")])
    # cooling down the whole range takes soak_down_min
    expected = 25 + made.time.shot_min * (1 + made.time.warm_up_shots)
    assert added_minutes(made, plan, longer) == pytest.approx(expected)
    cold = expected - 25 + made.time.start_up_min + made.time.clean_up_min
    assert added_minutes(made, plan, longer, cold=True) == pytest.approx(cold)
