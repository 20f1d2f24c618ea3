import pytest
from molds import study

from shotwindow.doe.plans import make_plan
from shotwindow.doe.restrictions import cost, repeated_groups, restrictions


def _said(kind: str = "optimal", count: int = 4, **given: float) -> str:
    mold = study(count, budget=given.pop("budget", 240), slow=bool(given.pop("slow", True)))
    plan = make_plan(mold, kind=kind, shots=int(given["shots"]) if given else None)
    return "\n".join(restrictions(mold, plan))


def test_cost__default_plan__counts_and_both_clocks() -> None:
    mold = study(4, more='[held.charge]\nvalue = 12\nunit = "g"')
    plan = make_plan(mold)
    spent = cost(mold, plan)
    assert spent.shots == 20
    assert spent.warm_up_shots == 2 * spent.groups
    assert spent.pellets_g == pytest.approx(12 * len(plan.shots))
    # start-up, clean-up and shots are in both; soaks of at least 10 x ln(1+6)/ln(1+12) a change
    assert spent.minutes > 35 + 3 * len(plan.shots) + 7 * (spent.groups - 1)
    assert spent.free_minutes > 1.5 * spent.minutes
    assert cost(mold, plan) == spent


def test_restrictions__repeated_groups__said_with_their_number() -> None:
    said = _said()
    assert "groups repeat earlier slow settings" in said
    assert "lowest pressure" in said
    assert "saves soaks" in said


def test_restrictions__no_group_twice__assumed_not_measured() -> None:
    mold = study(4)
    plan = make_plan(mold, kind="factorial", shots=16)
    assert repeated_groups(mold, plan) == 0
    assert "assumed, not measured" in "\n".join(restrictions(mold, plan))


def test_restrictions__smaller_model__said_with_both_numbers_of_terms() -> None:
    said = _said(shots=12)
    assert "has 15 terms" in said
    assert "interactions model (11 terms)" in said
    assert "15 terms" not in _said(shots=20)


def test_restrictions__over_budget__minutes_named() -> None:
    assert "minutes more than the budget of 120" in _said(kind="composite", budget=120)
    assert "budget" not in _said(kind="factorial")


def test_restrictions__scatter_of_groups__what_is_taken_for_it_and_where_it_stands() -> None:
    assert "to be as large as that of shots: group_scatter in study.toml [press]." in _said()
    loose = study(3, more="[press]\ngroup_scatter = 2.5")
    told = " ".join(restrictions(loose, make_plan(loose, kind="ladder")))
    assert "not measured (2.5 times that of shots: group_scatter in study.toml [press])" in told


def test_restrictions__ladder_and_nothing_slow__only_what_applies() -> None:
    assert "Pressure only rises" in _said(kind="ladder")
    free = _said(count=3, slow=False)
    assert "group-to-group" not in free
    assert "soaks" not in free


def test_restrictions__clamp_too_weak_for_the_range__left_out_and_said() -> None:
    """38 cm2 at 12 times 4.2 bar is 19.15 kN: F = A p."""
    weak = "[mold]\nprojected_area_cm2 = 38\n[press]\narea_ratio = 12\nclamp_force_kN = 19.15"
    pressed = study(more=weak)
    plan = make_plan(pressed, seed=1)
    assert plan.settings(fitted_only=False)[:, 0].max() <= 4.2
    assert any(said.startswith("Above 4.2 bar of pressure") for said in restrictions(pressed, plan))
