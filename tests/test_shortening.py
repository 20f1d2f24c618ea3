import pytest
from molds import study

from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.errors import StudyError
from shotwindow.doe.judging import judge
from shotwindow.doe.plans import Plan, make_plan
from shotwindow.doe.restrictions import cost
from shotwindow.doe.shortening import shorten
from shotwindow.doe.worth import expected_error


def test_shorten__enough_minutes__nothing_is_dropped() -> None:
    mold = study(3)
    plan = make_plan(mold)
    assert shorten(mold, plan, 0, cost(mold, plan).minutes) == plan


@pytest.mark.parametrize("last", [0, 5, 13])
def test_shorten__fewer_minutes__made_shots_kept_and_the_rest_fits(last: int) -> None:
    mold = study(3)
    plan = make_plan(mold)
    whole = cost(mold, plan).minutes
    shorter = shorten(mold, plan, last, 0.7 * whole if last == 0 else 60)
    assert shorter.shots[:last] == plan.shots[:last]
    assert last < len(shorter.shots) < len(plan.shots)
    kept = {(shot.kind, shot.settings) for shot in shorter.shots}
    assert kept <= {(shot.kind, shot.settings) for shot in plan.shots}
    assert [shot.shot for shot in shorter.shots] == list(range(1, len(shorter.shots) + 1))
    groups = [shot.group for shot in shorter.shots]
    assert sorted(set(groups)) == list(range(1, max(groups) + 1))
    if last == 0:
        assert cost(mold, shorter).minutes <= 0.7 * whole


def test_shorten__groups_to_choose_from__better_than_leaving_off_the_end() -> None:
    mold = study(3)
    plan = make_plan(mold)
    minutes = 0.7 * cost(mold, plan).minutes
    ends = [
        expected_error(mold, cut)
        for number in range(4, len(plan.shots))
        if plan.shots[number - 1].kind != "warm-up"
        and cost(mold, cut := type(plan)("", "", 1, plan.shots[:number])).minutes <= minutes
    ]
    assert expected_error(mold, shorten(mold, plan, 0, minutes)) < min(ends)


def test_shorten__terms_lost__the_model_that_is_left() -> None:
    mold = study(3)
    plan = make_plan(mold)
    assert shorten(mold, plan, 5, 60).model != plan.model == "quadratic"
    assert judge(mold, shorter := shorten(mold, plan, 5, 60)).ranks[0] == ("first-order", 4, 4)
    assert shorter.model == "first-order"


def test_shorten__shots_that_were_void__made_up_for() -> None:
    """Three cold shots and three hot ones are made: the next are cold where the cold were void."""
    mold = study(2)
    melts = (205.0, 235.0, 205.0, 235.0)
    shots = tuple(
        PlannedShot(3 * g + n + 1, "1", "", g + 1, "optimal", (3.0 + n, melt))
        for g, melt in enumerate(melts)
        for n in range(3)
    )
    plan = Plan("optimal", "first-order", 1, shots)
    for lost, melt in (((1, 2, 3), 205.0), ((4, 5, 6), 235.0)):
        kept = shorten(mold, plan, 6, 50, lost=lost).shots[6:]
        assert [shot.settings[1] for shot in kept] == [melt] * 3


def test_shorten__no_time_for_a_shot__told() -> None:
    mold = study(3)
    with pytest.raises(StudyError, match="found 16; expected enough for one more shot"):
        shorten(mold, make_plan(mold), 6, 16)
