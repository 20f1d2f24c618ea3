import pytest
from molds import study

from shotwindow.doe.comparing import compare, more_time, usual_plans
from shotwindow.doe.errors import StudyError
from shotwindow.doe.plans import make_plan


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
