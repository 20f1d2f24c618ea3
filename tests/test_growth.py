from dataclasses import replace

import numpy as np
import pytest
from molds import study

from shotwindow.doe.aliases import resolution, told_apart
from shotwindow.doe.blocks import plan_blocks
from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.growth import WAYS, grow, renamed, until, without
from shotwindow.doe.judging import judge
from shotwindow.doe.plans import Plan, make_plan
from shotwindow.doe.study import Study
from shotwindow.doe.terms import first_order, full_quadratic, with_interactions
from shotwindow.doe.worth import expected_error


def _corners(mold: Study, plan: Plan) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    rows = [shot.settings for shot in plan.fitted() if shot.kind == "factorial"]
    return coded_settings(mold.factors, np.array(rows))


@pytest.mark.parametrize("how", WAYS)
def test_grow__each_way__recorded_shots_untouched_and_a_new_block(how: str) -> None:
    mold = study(3)
    plan = make_plan(mold, kind="fraction", shots=6)
    longer = grow(mold, plan, how)
    assert longer.shots[: len(plan.shots)] == plan.shots
    added = longer.shots[len(plan.shots) :]
    assert {shot.block for shot in added} == {"2"}
    assert added[0].shot == plan.shots[-1].shot + 1
    assert added[0].group == plan.shots[-1].group + 1
    assert added[0].kind == "warm-up"
    assert mold.allowed(longer.settings()).all()
    assert grow(mold, longer, "center").shots[-1].block == "3"


@pytest.mark.parametrize(
    ("how", "shots", "count"),
    [
        ("center", 3, 3),
        ("center", None, 4),
        ("replicate", 5, 5),
        ("axial", 9, 9),
        ("optimal", 7, 7),
    ],
)
def test_grow__number_of_shots__met_exactly(how: str, shots: int | None, count: int) -> None:
    mold = study(3)
    plan = make_plan(mold, kind="factorial", shots=8)
    assert len(grow(mold, plan, how, shots=shots).fitted()) == 8 + count


def test_grow__fold_over__resolution_three_becomes_four() -> None:
    # any textbook: a fraction of resolution III and its mirror image are of resolution IV
    mold = study(7, slow=False, budget=900)
    plan = make_plan(mold, kind="fraction", shots=8)
    assert resolution(_corners(mold, plan)) == 3
    assert resolution(_corners(mold, grow(mold, plan, "fold"))) == 4


def test_grow__fold_over_of_one_factor__frees_its_main_effect_and_interactions() -> None:
    mold = study(7, slow=False, budget=900)
    plan = make_plan(mold, kind="fraction", shots=8)
    longer = grow(mold, plan, "fold", factor="pressure")
    coded = _corners(mold, longer)
    terms = with_interactions(mold.names)
    ours = [j for j, name in enumerate(terms.names) if "pressure" in name.split(" x ")]
    others = [j for j in range(len(terms)) if j not in ours]
    products = terms.matrix(coded)
    np.testing.assert_allclose(products[:, ours].T @ products[:, others], 0, atol=1e-9)
    assert resolution(coded) == 3


def test_grow__axial_shots__factorial_becomes_a_composite_of_full_rank() -> None:
    mold = study(3)
    plan = make_plan(mold, kind="factorial", shots=10)
    longer = grow(mold, plan, "axial")
    assert (plan.model, longer.model) == ("interactions", "quadratic")
    assert judge(mold, longer).ranks[-1] == ("quadratic", 10, 10)


def test_grow__axial_orthogonal__blocks_do_not_touch_the_terms() -> None:
    mold = study(2, slow=False, step="0.05")
    plan = make_plan(mold, kind="factorial", shots=7)
    longer = grow(mold, plan, "axial-orthogonal", shots=7)
    coded = coded_settings(mold.factors, longer.settings())
    terms = full_quadratic(mold.names).matrix(coded)
    block = np.array([shot.block for shot in longer.fitted()])
    means = [terms[block == name].mean(axis=0) for name in ("1", "2")]
    np.testing.assert_allclose(means[0], means[1], atol=0.02)  # as far as the marks allow
    assert np.abs(coded).max() == pytest.approx(2**0.5, abs=0.03)


def test_grow__optimal__better_than_replicates_and_than_centers() -> None:
    mold = study(3)
    plan = make_plan(mold, kind="factorial", shots=8)
    error = {how: expected_error(mold, grow(mold, plan, how, shots=6)) for how in WAYS[:2]}
    best = expected_error(mold, grow(mold, plan, "optimal", shots=6))
    assert best < min(error.values())


def test_grow__optimal__effects_told_apart_from_the_new_block() -> None:
    """All shots so far at low pressure: the new block needs low ones too, to see the slope."""
    mold = study(1, slow=False)
    made = [PlannedShot(n, "1", "", 1, "optimal", (3.0,)) for n in (1, 2, 3)]
    longer = grow(mold, Plan("optimal", "first-order", 1, tuple(made)), "optimal", shots=3)
    added = [shot.settings[0] for shot in longer.fitted()[3:]]
    assert sorted(added) == pytest.approx([3.0, 4.0, 5.0], abs=0.2)


def test_grow__lost_shots__made_again_or_made_up_for() -> None:
    mold = study(2, slow=False)
    plan = make_plan(mold, shots=8)
    lost = [shot.shot for shot in plan.fitted()[2:5]]
    again = grow(mold, plan, "replicate", lost=lost).fitted()[8:]
    assert sorted(s.settings for s in again) == sorted(
        s.settings for s in plan.fitted() if s.shot in lost
    )
    left = without(plan, lost)
    assert len(left.fitted()) == 5
    longer = grow(mold, plan, "optimal", shots=3, lost=lost)
    assert longer.model == "quadratic"
    assert judge(mold, without(longer, lost)).ranks[-1] == ("quadratic", 6, 6)


def test_grow__replicates__least_known_settings_first() -> None:
    mold = study(1, slow=False)
    plan = make_plan(mold, shots=6)
    again = grow(mold, plan, "replicate", shots=2).fitted()[6:]
    assert {shot.settings for shot in again} == {(3.0,), (5.0,)}


@pytest.mark.parametrize(
    ("how", "shots", "count"),
    [("center", 3, 3), ("replicate", 4, 4), ("optimal", 5, 5), ("optimal", None, 7)],
)
def test_grow__blocks_with_reference_shots__one_more_in_the_new_block(
    how: str, shots: int | None, count: int
) -> None:
    mold = study(3)
    plan = plan_blocks(mold, [("Monday", "A"), ("Tuesday", "B")], shots=16)
    added = grow(mold, plan, how, shots=shots).fitted()[16:]
    assert len(added) == count
    (reference,) = [shot for shot in added if shot.kind == "reference"]
    assert reference.settings == (4.0, 220.0, 45.0)
    assert (reference.block, reference.lot) == ("3", "B")


def test_grow__another_lot__a_reference_shot_at_the_center() -> None:
    mold = study(2, more='[material]\nlot = "A"')
    plan = make_plan(mold, kind="factorial", shots=6)
    assert "reference" not in {shot.kind for shot in grow(mold, plan, "axial").shots}
    changed = replace(mold, material=replace(mold.material, lot="B"))
    added = grow(changed, plan, "axial")
    references = [shot for shot in added.shots if shot.kind == "reference"]
    assert [(shot.lot, shot.settings) for shot in references] == [("B", (4.0, 220.0))]
    assert len(added.fitted()) == 6 + 4 + 2  # one of the centers is the reference


def test_renamed__one_block__others_as_they_were() -> None:
    mold = study(2, slow=False)
    plan = grow(mold, make_plan(mold, shots=8), "center", shots=2)
    day = renamed(plan, "2", "Wednesday")
    assert [shot.block for shot in day.fitted()] == ["1"] * 8 + ["Wednesday"] * 2


def test_until__shot_number__what_was_made() -> None:
    plan = make_plan(study(2), shots=8)
    assert until(plan, 5).shots == plan.shots[:5]


@pytest.mark.parametrize(
    ("kind", "how", "given", "said"),
    [
        ("factorial", "shrink", {}, "found shrink; expected one of center"),
        ("optimal", "fold", {}, "one with factorial shots"),
        ("factorial", "fold", {}, "its own mirror image"),
        ("fraction", "fold", {"factor": "speed"}, "found speed; expected one of the factors pres"),
        ("fraction", "axial", {"shots": 3}, "found 3; expected 6 or more"),
        ("fraction", "axial-orthogonal", {"shots": 26}, "outside the limits"),
    ],
)
def test_grow__cannot_be__one_sentence(
    kind: str, how: str, given: dict[str, object], said: str
) -> None:
    mold = study(3, slow=False)
    plan = make_plan(mold, kind=kind, shots=12 if kind == "optimal" else None)
    with pytest.raises(StudyError, match=said):
        grow(mold, plan, how, **given)  # type: ignore[arg-type]


def test_told_apart__first_order_after_growth__all() -> None:
    mold = study(3)
    longer = grow(mold, make_plan(mold, kind="fraction", shots=4), "optimal", shots=4)
    coded = coded_settings(mold.factors, longer.settings())
    assert told_apart(first_order(mold.names), coded).all()
