import numpy as np
import pytest
from molds import study
from numpy.typing import NDArray

from shotwindow.doe.aliases import rank
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.groups import heat
from shotwindow.doe.plans import PLANS, Plan, make_plan
from shotwindow.doe.restrictions import cost, repeated_groups
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import Task
from shotwindow.doe.terms import model_terms

AVOID = '[[avoid]]\nmelt_temperature = ">= 230"\npressure = "> 4.5"'


def _check_safe(mold: Study, plan: Plan) -> None:
    """What every plan must keep: marks, limits, rules, warm-ups, openings, a start that is safe."""
    every = plan.settings(fitted_only=False)
    assert mold.allowed(every).all()
    if plan.kind != "composite-rotatable":
        for factor, column in zip(mold.factors, every.T, strict=True):
            assert np.isin(column, factor.marks).all()
    assert [shot.shot for shot in plan.shots] == list(range(1, len(plan.shots) + 1))
    slow = [j for j, factor in enumerate(mold.factors) if factor.is_slow]
    changes = (np.diff(every[:, slow], axis=0) != 0).any(axis=1)
    groups = np.array([shot.group for shot in plan.shots])
    np.testing.assert_array_equal(np.diff(groups), changes.astype(int))
    for group in np.unique(groups):
        members = [shot for shot in plan.shots if shot.group == group]
        warm = mold.time.warm_up_shots
        assert [shot.kind == "warm-up" for shot in members] == [True] * warm + [False] * (
            len(members) - warm
        )
        assert all(shot.settings == members[warm].settings for shot in members[:warm])
        assert members[0].settings[0] == min(shot.settings[0] for shot in members)
    openings = every[np.unique(groups, return_index=True)[1]]
    if len(openings) > 1:
        hot = heat(mold, openings)
        assert hot[0] < hot.max()


def _rank(mold: Study, plan: Plan) -> tuple[int, int]:
    terms = model_terms(plan.model, mold.names)
    return rank(terms, coded_settings(mold.factors, plan.settings())), len(terms)


@pytest.mark.parametrize(
    ("count", "shots", "groups", "repeats"), [(1, 8, 1, 0), (2, 11, 5, 2), (3, 15, 8, 2)]
)
def test_make_plan__default__full_quadratic_in_groups_two_of_them_repeated(
    count: int, shots: int, groups: int, repeats: int
) -> None:
    mold = study(count)
    plan = make_plan(mold, seed=4)
    _check_safe(mold, plan)
    assert plan.model == "quadratic"
    assert _rank(mold, plan)[0] == _rank(mold, plan)[1]
    spent = cost(mold, plan)
    assert (spent.shots, spent.groups) == (shots, groups)
    assert spent.minutes <= 240
    assert repeated_groups(mold, plan) == repeats


def test_make_plan__four_factors__twenty_shots_within_the_budget() -> None:
    mold = study(4)
    for seed in (1, 2):
        plan = make_plan(mold, seed=seed)
        _check_safe(mold, plan)
        spent = cost(mold, plan)
        assert (plan.model, spent.shots) == ("quadratic", 20)
        assert _rank(mold, plan) == (15, 15)
        assert spent.minutes <= 240 < spent.free_minutes
        assert repeated_groups(mold, plan) >= 1


def test_make_plan__same_seed__same_plan() -> None:
    assert make_plan(study(3), seed=7) == make_plan(study(3), seed=7)
    assert make_plan(study(3), seed=7) != make_plan(study(3), seed=8)


@pytest.mark.parametrize("kind", PLANS)
def test_make_plan__each_kind__safe_and_on_marks(kind: str) -> None:
    mold = study(5, budget=900)
    if kind == "composite-rotatable":
        mold = study(2, budget=900)
    plan = make_plan(mold, kind=kind, shots=30 if "optimal" in kind else None)
    _check_safe(mold, plan)
    assert plan.kind == kind
    if kind != "ladder":
        assert _rank(mold, plan)[0] == _rank(mold, plan)[1]


@pytest.mark.parametrize("shots", [5, 7, 11, 13, 16, 19, 24])
def test_make_plan__given_shots__met_exactly_with_the_largest_model(shots: int) -> None:
    mold = study(4)
    plan = make_plan(mold, shots=shots)
    _check_safe(mold, plan)
    assert len(plan.fitted()) == shots
    model = "first-order" if shots < 12 else "interactions" if shots < 16 else "quadratic"
    assert plan.model == model
    assert _rank(mold, plan)[0] == _rank(mold, plan)[1]


def test_make_plan__named_terms__those_and_no_others_demanded() -> None:
    mold = study(4, slow=False)
    model = "first-order + pressure x injection_time + pressure^2"
    plan = make_plan(mold, shots=7, model=model)
    assert plan.model == model
    assert _rank(mold, plan) == (7, 7)
    coarse = study(2, slow=False, step="2.0")  # a square of the other factor can be asked for
    curved = make_plan(coarse, shots=6, model="first-order + melt_temperature^2")
    assert len(np.unique(curved.settings()[:, 1])) >= 3
    with pytest.raises(StudyError, match="2 marks from 3 to 5"):
        make_plan(coarse, shots=6, model="first-order + pressure^2")


def test_make_plan__rules__planned_around_with_full_rank() -> None:
    mold = study(4, more=AVOID)
    plan = make_plan(mold, seed=2)
    _check_safe(mold, plan)
    assert _rank(mold, plan) == (15, 15)
    settings = plan.settings()
    assert not ((settings[:, 1] >= 230) & (settings[:, 0] > 4.5)).any()
    assert (settings[:, 1] >= 230).any()
    assert (settings[:, 0] > 4.5).any()


def test_make_plan__nothing_slow__one_group_that_predicts_as_well_as_free_ones() -> None:
    mold = study(3, slow=False)
    plan = make_plan(mold, shots=16)
    _check_safe(mold, plan)
    assert {shot.group for shot in plan.shots} == {1}
    terms = model_terms("quadratic", mold.names)
    rows = terms.matrix(np.random.default_rng(1).uniform(-1, 1, (4000, 3)))
    levels: tuple[NDArray[np.float64], ...] = (np.array([-1.0, 1.0]),) * 3
    task = Task(terms, levels, np.eye(16), moments=rows.T @ rows / 4000)
    # 0.5 to 0.6 for good plans of sixteen shots; a random one has 1.5 or more
    assert task.loss(coded_settings(mold.factors, plan.settings())) < 0.6


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"shots": 4}, "found 4; expected 5 or more for the 5 terms of the first-order model"),
        (
            {"shots": 12, "model": "quadratic"},
            "found 12; expected 15 or more for the 15 terms of the quadratic model; "
            "so few suffice for the interactions model",
        ),
        ({"minutes": 60}, r"plan --minutes: found 60; expected \d+ or more for 7 shots in 3 temp"),
        ({"minutes": 60, "kind": "factorial"}, "found 60; expected 2.. or more for the 20 shots"),
        ({"minutes": 0}, "plan --minutes: found 0; expected more than 0"),
        ({"shots": 0}, "plan --shots: found 0; expected 1 or more"),
        ({"kind": "fraktion"}, "did you mean fraction"),
        ({"shots": 40, "minutes": 100}, r"expected \d+ or more for 40 shots"),
    ],
)
def test_make_plan__cannot_be__one_sentence(given: dict[str, object], said: str) -> None:
    with pytest.raises(StudyError, match=said) as caught:
        make_plan(study(4), **given)  # type: ignore[arg-type]
    assert len(caught.value.problems) == 1


@pytest.mark.parametrize(
    ("mold", "said"),
    [
        (study(4, budget=40), r"budget_min: found 40; expected \d+ or more"),
        (study(2, slow=False, budget=30), r"budget_min: found 30; expected \d\d or more"),
        (study(3, step="2.0"), "2 marks from 3 to 5"),
        (
            study(2, more='[[avoid]]\npressure = ">= 4"\n[[avoid]]\npressure = "< 4"'),
            "no setting escapes",
        ),
        (
            study(2, slow=False, more='[[avoid]]\npressure = "> 3"'),
            "rules that leave too few different settings",
        ),
    ],
)
def test_make_plan__study_does_not_allow_it__one_sentence(mold: Study, said: str) -> None:
    with pytest.raises(StudyError, match=said) as caught:
        make_plan(mold)
    assert len(caught.value.problems) == 1


def test_settings__warm_up_shots__left_out_unless_asked_for() -> None:
    plan = make_plan(study(1), shots=5)
    assert plan.settings().shape == (5, 1)
    assert plan.settings(fitted_only=False).shape == (7, 1)
