import numpy as np
import pytest
from molds import study

from shotwindow.doe.blocks import plan_blocks
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.judging import judge
from shotwindow.doe.plans import PLANS
from shotwindow.doe.restrictions import repeated_groups, restrictions
from shotwindow.doe.tasks import block_columns
from shotwindow.doe.terms import full_quadratic, model_terms

# A ladder is climbed in one go; a rotatable composite leaves the limits of these molds.
NOT_IN_DAYS = ("ladder", "composite-rotatable")
TWO = [("Monday", "lot A"), ("Tuesday", "lot B")]


@pytest.mark.parametrize(("count", "shots"), [(2, None), (3, 20), (4, None)])
def test_plan_blocks__two_days__full_rank_beside_the_blocks(count: int, shots: int | None) -> None:
    mold = study(count)
    plan = plan_blocks(mold, TWO, shots=shots)
    assert shots in (None, len(plan.fitted()))
    terms = full_quadratic(mold.names)
    matrix = terms.matrix(coded_settings(mold.factors, plan.settings()))
    blocks = block_columns([shot.block for shot in plan.fitted()])
    assert np.linalg.matrix_rank(np.hstack([matrix, blocks])) == len(terms) + 1
    assert judge(mold, plan).shot_df >= 1
    assert {(shot.block, shot.lot) for shot in plan.shots} == set(TWO)
    sizes = [sum(s.block == name for s in plan.fitted()) for name, _ in TWO]
    assert abs(sizes[0] - sizes[1]) <= 1


def test_plan_blocks__each_block__the_same_reference_in_the_same_slow_setting() -> None:
    mold = study(4)
    plan = plan_blocks(mold, [*TWO, ("Wednesday", "lot B")])
    references = [shot for shot in plan.fitted() if shot.kind == "reference"]
    assert [shot.block for shot in references] == ["Monday", "Tuesday", "Wednesday"]
    assert {shot.settings for shot in references} == {(4.0, 220.0, 45.0, 7.0)}
    assert repeated_groups(mold, plan) >= 2
    assert [shot.shot for shot in plan.shots] == list(range(1, len(plan.shots) + 1))
    groups = [shot.group for shot in plan.shots]
    assert sorted(set(groups)) == list(range(1, max(groups) + 1))
    assert any("Blocks Monday, Tuesday, Wednesday" in said for said in restrictions(mold, plan))


@pytest.mark.parametrize("kind", [kind for kind in PLANS if kind not in NOT_IN_DAYS])
def test_plan_blocks__each_kind__days_of_equal_size_with_a_reference_each(kind: str) -> None:
    mold = study(5, slow=False)
    plan = plan_blocks(mold, TWO, kind=kind, shots=46)
    assert plan.kind == kind
    assert [(s.block, s.lot) for s in plan.fitted()] == [TWO[0]] * 23 + [TWO[1]] * 23
    references = [shot for shot in plan.fitted() if shot.kind == "reference"]
    assert [shot.block for shot in references] == ["Monday", "Tuesday"]
    center = (4.0, 220.0, 45.0, 7.0, 2.0)
    assert {shot.settings for shot in references} == {center}
    terms = model_terms(plan.model, mold.names)
    matrix = terms.matrix(coded_settings(mold.factors, plan.settings()))
    blocks = block_columns([shot.block for shot in plan.fitted()])
    assert np.linalg.matrix_rank(np.hstack([matrix, blocks])) == len(terms) + 1
    assert plan == plan_blocks(mold, TWO, kind=kind, shots=46)


def test_plan_blocks__composite_in_groups__no_slow_setting_on_two_days_but_the_center() -> None:
    mold = study(3)
    plan = plan_blocks(mold, TWO, kind="composite")
    slow = {(s.block, s.settings[1:3]) for s in plan.fitted() if s.settings[1:3] != (220, 45)}
    assert len(slow) == len({setting for _, setting in slow})
    assert judge(mold, plan).ranks[-1] == ("quadratic", 10, 10)


def test_plan_blocks__model_and_criterion__as_asked() -> None:
    mold = study(2, slow=False)
    model = "first-order + pressure^2"
    plan = plan_blocks(mold, TWO, kind="d-optimal", shots=10, model=model)
    assert (plan.kind, plan.model, len(plan.fitted())) == ("d-optimal", model, 10)
    free = plan_blocks(mold, TWO, shots=10, model=model)
    assert free.settings().tolist() != plan.settings().tolist()
    with pytest.raises(StudyError, match="found 6; expected 7 or more in 2 blocks"):
        plan_blocks(mold, TWO, shots=6, model=model)


def test_plan_blocks__few_shots__smaller_model_and_too_few_told() -> None:
    mold = study(3, slow=False)
    assert plan_blocks(mold, TWO, shots=11).model == "interactions"
    with pytest.raises(StudyError, match="found 6; expected 7 or more in 2 blocks"):
        plan_blocks(mold, TWO, shots=6)


def test_plan_blocks__center_forbidden__told() -> None:
    rule = '[[avoid]]\npressure = "== 4.0"'
    with pytest.raises(StudyError, match="plan in blocks"):
        plan_blocks(study(2, more=rule), TWO)
