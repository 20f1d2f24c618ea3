from dataclasses import replace

import pytest
from molds import study

from shotwindow.doe.comparing import compare, more_time, usual_plans
from shotwindow.doe.errors import StudyError
from shotwindow.doe.plans import make_plan
from shotwindow.doe.restrictions import cost


def test_compare__usual_plans__best_within_the_budget_and_why() -> None:
    mold = study(3)
    comparison = compare(mold, usual_plans(mold, seed=1))
    assert [c.name for c in comparison.candidates] == [
        "optimal",
        "composite",
        "factorial",
        "fraction",
    ]
    best = next(c for c in comparison.candidates if c.name == comparison.best)
    assert best.cost.minutes <= 240
    for other in comparison.candidates:
        assert other.error >= best.error or other.cost.minutes > 240
        assert other.name in comparison.why
    assert comparison.why.startswith(f"Take {comparison.best}: ")


def test_compare__one_better_but_too_long__said() -> None:
    mold = study(3, budget=200)
    plans = {"short": make_plan(mold, shots=12), "long": make_plan(mold, kind="composite")}
    comparison = compare(mold, plans)
    assert comparison.best == "short"
    assert "long would predict better but not within 200 minutes" in comparison.why


def test_usual_plans__rule_bars_corners__others_that_differ_take_their_place() -> None:
    """As in the example plant-label: the rule cuts corners off, which most textbook plans hold."""
    rule = '[[avoid]]\nmelt_temperature = ">= 230"\ninjection_time = "> 8"'
    mold = study(4, more=rule)
    candidates = compare(mold, usual_plans(mold, seed=1)).candidates
    names = [c.name for c in candidates]
    assert names == ["optimal", "composite-inscribed", "optimal, interactions", "ladder"]
    assert len({(c.cost.groups, c.cost.shots, c.judgement.ranks) for c in candidates}) == 4
    for one in candidates:
        assert mold.allowed(one.plan.settings()).all()


def test_usual_plans__rule_bars_the_ladder_too__three_all_the_same() -> None:
    mold = study(2, more='[[avoid]]\npressure = ">= 4.8"')
    assert list(usual_plans(mold, seed=1)) == ["optimal", "optimal, interactions", "d-optimal"]


def test_usual_plans__six_factors__none_that_takes_more_than_twice_the_time() -> None:
    mold = study(6, slow=False, budget=100)
    plans = usual_plans(mold, seed=1)
    assert "fraction" in plans and "factorial" not in plans  # 68 shots
    assert all(cost(mold, plan).minutes <= 200 for plan in plans.values())


@pytest.mark.parametrize(("as_good", "best"), [(1.0, "longer"), (1.5, "shorter")])
def test_compare__nearly_as_good__the_quicker_one(
    as_good: float, best: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shotwindow.doe.comparing.AS_GOOD", as_good)
    mold = study(1, slow=False)
    plan = make_plan(mold, shots=12)
    again = replace(plan, shots=(*plan.shots, replace(plan.shots[-1], shot=99)))
    assert compare(mold, {"longer": again, "shorter": plan}).best == best


def test_usual_plans__nothing_possible__told() -> None:
    with pytest.raises(StudyError, match="budget_min"):
        usual_plans(study(4, budget=40), seed=1)


def test_more_time__half_an_hour__more_of_something_and_less_error() -> None:
    found = more_time(study(3), 120)
    assert found.now.cost.minutes <= 120 < found.later.cost.minutes <= 150
    assert found.later.error < found.now.error
    assert any("in place of" in gain for gain in found.gains)


def test_more_time__nothing_slow_and_plenty_already__nothing_to_gain() -> None:
    found = more_time(study(1, slow=False), 300)
    assert found.gains == ()
