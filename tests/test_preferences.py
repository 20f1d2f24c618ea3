"""Preferences: as good a setpoint, lower where it is wanted, and told what that costs."""

from dataclasses import replace
from functools import lru_cache

import pytest
from invented_shots import STUDIES, findings, recorded, study

from shotwindow.doe.errors import StudyError
from shotwindow.doe.study import parse_study
from shotwindow.models.setpoint import SAME
from shotwindow.reports.findings import Findings, find
from shotwindow.reports.shape_documents import shape_document
from shotwindow.reports.shape_words import preference_words


@lru_cache
def _preferring(name: str, prefer: str) -> Findings:
    return find(replace(study(name), prefer=prefer), recorded(name))


@pytest.mark.parametrize(
    ("prefer", "axis"), [("low-pressure", 0), ("cool-melt", 1), ("short-time", 2)]
)
def test_find__preferred__lowest_of_the_marks_that_are_as_good(prefer: str, axis: int) -> None:
    plain, found = findings("cube"), _preferring("cube", prefer)
    assert plain.setpoint is not None and found.setpoint is not None
    assert found.plain == plain.setpoint
    assert found.setpoint.mark[axis] <= plain.setpoint.mark[axis]
    cost = plain.setpoint.probability_held - found.setpoint.probability_held
    assert -SAME <= cost <= SAME


def test_preference__words_and_document__setting_without_it_and_its_cost() -> None:
    found = _preferring("cube", "low-pressure")
    said, told = preference_words(found), shape_document(found)["preference"]
    assert found.plain is not None and found.setpoint is not None
    assert found.setpoint.mark != found.plain.mark  # else this test shows nothing
    assert said.startswith("Low pressure was preferred. Without that: pressure")
    assert told["sentence"] == said and told["without"]["pressure"] == found.plain.settings[0]
    assert f"{told['marks_to_the_end']} mark" in said


@pytest.mark.parametrize(
    ("less", "cost"), [(0.003, "0.003"), (0.0001, "nothing"), (-0.004, "nothing")]
)
def test_preference__what_it_costs__a_number_only_where_there_is_one(
    less: float, cost: str
) -> None:
    found = _preferring("cube", "low-pressure")
    assert found.plain is not None and found.setpoint is not None
    held = found.setpoint.probability_held + less
    before = replace(found, plain=replace(found.plain, probability_held=held))
    assert f"It costs {cost} of the lowest chance" in preference_words(before)


def test_preference__none__nothing_is_said() -> None:
    assert preference_words(findings("cube")) == ""
    assert shape_document(findings("cube"))["preference"] is None


def test_parse_study__preference_that_no_factor_can_follow__refused() -> None:
    with pytest.raises(StudyError, match="short-time"):
        parse_study('prefer = "short-time"\n' + STUDIES["map"][0])
    assert parse_study('prefer = "cool-melt"\n' + STUDIES["map"][0]).prefer == "cool-melt"
