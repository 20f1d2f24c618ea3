"""What `confirm` says: each verdict in its own words, and how far it reaches."""

from dataclasses import replace

import numpy as np
from invented_shots import findings, planned

from shotwindow.doe.attempts import Attempt
from shotwindow.models.challenge import Challenge, Chance, Risk
from shotwindow.models.judgement import Judgement, Surprise
from shotwindow.models.weighed import weigh
from shotwindow.reports.attempt_verdicts import Judged, cannot_tell
from shotwindow.reports.attempt_words import demand_words, reheating_words, risk_words, scope_words
from shotwindow.reports.confirm_words import (
    corner_words,
    group_words,
    judged_lines,
    moved_words,
    next_hint,
    setpoint_words,
    surprise_words,
)
from shotwindow.reports.confirming import Planned

GOOD = Judgement("confirmed", 22, 0, 0, 0.9, 0.9, 4, 0, 1.0, (), 1, (0,))


def _judged(judgement: Judgement, name: str = "map", failed: bool = False) -> Judged:
    found = findings(name)
    assert found.setpoint is not None
    at = found.setpoint.settings
    attempt = Attempt(1, 0.9, 0.9, 0, judgement.groups, at, (), (41, 42), 0.7, 1, "molding", "")
    return Judged(attempt, judgement, found, found if failed else None, ())


def test_demand_words__failures_allowed_or_none() -> None:
    said = demand_words(0.9, 0.95, 0)
    assert "at least 90 % good shots" in said and "confidence of 95 %; none" in said
    assert demand_words(0.9, 0.95, 2).endswith("at most 2 of them may fail")


def test_scope_words__one_two_and_three_groups() -> None:
    assert scope_words(1).startswith("One temperature group proves that this heating of the mold")
    assert "not that the next one will be" in scope_words(1) and "--qualify" in scope_words(1)
    assert "these 2 temperature groups only" in scope_words(2) and "--qualify" in scope_words(2)
    assert "group scatter is in the count" in scope_words(3) and "--qualify" not in scope_words(3)


def _planned(*risks: Risk, groups: int = 1, reheated: bool = False) -> Planned:
    found = findings("map")
    assert found.setpoint is not None
    at = found.setpoint.settings
    attempt = Attempt(1, 0.9, 0.9, 0, groups, at, (), (41, 42), 0.7, 1, "molding", "")
    group = np.repeat(np.arange(groups) * (1 if reheated else 2) + 1, 4)
    made = Challenge(np.tile(at, (group.size, 1)), group, np.zeros(group.size, dtype=bool))
    chance = Chance(0.8, 0.9, 0.7)
    return Planned(found, attempt, made, chance, risks, planned("map"), 60.0)


def test_risk_words__counting_alone_one_group_and_three() -> None:
    alike = risk_words(_planned(Risk(0.8, 0.007, 0.007, 0.007), Risk(0.9, 0.1, 0.1, 0.1)))
    assert "80 % good shots with a chance of under 0.01" not in alike  # 0.007 rounds up
    assert "80 % good shots with a chance of 0.01" in alike and "share" not in alike
    both = Risk(0.8, 0.007, 0.24, 0.24), Risk(0.9, 0.1, 0.47, 0.47)
    said = risk_words(_planned(*both))
    assert "with a chance of 0.24" in said and "more than by counting alone (0.01 and 0.10)" in said
    assert "share its heating" in said and "in one group it would" not in said
    said = risk_words(_planned(replace(both[0], as_planned=0.1), both[1], groups=3))
    assert "with a chance of 0.10" in said and "in one group it would be 0.24 and 0.47" in said


def test_reheating_words__only_where_nothing_parts_two_groups() -> None:
    one = Risk(0.9, 0.1, 0.1, 0.1)
    assert reheating_words(_planned(one, groups=3)) == ""
    said = reheating_words(_planned(one, groups=3, reheated=True))
    assert said.startswith("Before groups 2 and 3 at the setpoint") and "same heating" in said


def test_setpoint_words__none_some_and_all_made() -> None:
    assert setpoint_words(GOOD) == (
        "At the setpoint 22 of 22 shots good: that shows 90 % good shots or more."
    )
    some = setpoint_words(replace(GOOD, shots=10, failed=1, missing=12, shown=0.66))
    assert "9 of 10 shots good" in some and some.endswith("66 % good shots or more; 12 still to "
                                                          "be made.")  # fmt: skip
    assert "No shot was made" in setpoint_words(replace(GOOD, shots=0, missing=22))


def test_corner_words__held_failed_and_none() -> None:
    assert "nothing speaks against the ranges" in corner_words(GOOD)
    said = corner_words(replace(GOOD, corners_failed=2, corner_odds=0.0523))
    assert "2 of 4 challenge shots good" in said and "is 0.05 if the ranges hold" in said
    assert "ranges are not confirmed" in corner_words(replace(GOOD, corners=0))


def test_surprise_words__named_up_to_five() -> None:
    assert surprise_words(()).startswith("All readings lie where they were predicted")
    seven = [Surprise(shot, 2, "flash", "high") for shot in range(1, 8)]
    said = surprise_words(seven)
    assert "shot 1 cavity 2 more flash than predicted" in said and "and 2 more" in said


def test_group_words__failures_by_group_and_what_other_groups_may_show() -> None:
    two = replace(GOOD, failed=3, groups=2, failed_by_group=(3, 0), shown_over_groups=0.7)
    said = group_words(_judged(two))
    assert said.startswith("Failures at the setpoint by temperature group: 3 and 0.")
    assert "Over other groups these shots show 70 % good shots or more, not 90 %" in said
    assert "assumed" in said  # too few groups were shot to measure it
    assert "Over other groups" not in group_words(_judged(GOOD))


def test_moved_words__gone_stays_and_moves() -> None:
    found = findings("map")
    assert found.setpoint is not None
    here = found.setpoint.settings
    assert "there is no setpoint" in moved_words(replace(found, setpoint=None), here)
    assert "stays where it is" in moved_words(found, here)
    assert "moves to pressure" in moved_words(found, (3.0, 205.0))


def test_judged_lines__80_columns_and_only_failed_ones_go_on() -> None:
    failed = replace(GOOD, answer="not confirmed", failed=2, shown=0.8)
    grams = np.array([2.08, 2.10, 2.09, 2.11, 2.08])
    mass = weigh(1, grams, 2.06, 0.9, 0.9)
    assert mass is not None
    weighed = replace(_judged(GOOD), weighed=(mass,))
    for judged in (_judged(GOOD), _judged(failed, failed=True), weighed):
        lines = judged_lines(judged)
        assert max(map(len, lines)) <= 80 and all(line.isascii() for line in lines)
        assert ("now in the fit" in " ".join(lines)) == (judged.after is not None)
    assert judged_lines(weighed)[0] == "Attempt 1: CONFIRMED, for this temperature group only"
    three = replace(GOOD, groups=3, failed_by_group=(0, 0, 0))
    assert judged_lines(_judged(three))[0] == "Attempt 1: CONFIRMED"
    assert judged_lines(_judged(failed, failed=True))[0] == "Attempt 1: NOT CONFIRMED"
    assert any("Part mass in g" in line for line in judged_lines(weighed))


def test_next_hint__each_answer_leads_on() -> None:
    assert "report lid" in next_hint(_judged(GOOD), "lid")
    waiting = _judged(replace(GOOD, answer="cannot tell", missing=3))
    assert "record lid" in next_hint(waiting, "lid") and not cannot_tell(waiting)
    assert cannot_tell(_judged(replace(GOOD, answer="cannot tell")))
    failed = next_hint(_judged(replace(GOOD, answer="not confirmed")), "lid")
    assert failed.index("next lid") < failed.index("confirm lid --again")
