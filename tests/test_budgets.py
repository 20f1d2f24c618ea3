import numpy as np
import pytest
from molds import study

from shotwindow.doe.budgets import Wish, optimal_draft
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.layouts import Layout, fill, task_of


@pytest.mark.parametrize(
    ("minutes", "model"), [(120, "first-order"), (150, "interactions"), (210, "quadratic")]
)
def test_optimal_draft__minutes__kept_and_used(minutes: float, model: str) -> None:
    found = optimal_draft(study(4), Wish(minutes=minutes), 1)
    assert minutes - 12 < found.minutes <= minutes
    assert found.draft.model == model


def test_optimal_draft__many_minutes__more_slow_settings_where_that_predicts_better() -> None:
    mold = study(3)
    found = optimal_draft(mold, Wish(minutes=270), 1)
    assert found.layout.units > 6
    assert found.layout.repeats == 2
    least = fill(mold, Layout("quadratic", found.layout.shots, 6, 2), 1)
    assert least is not None
    assert found.loss < least.loss


def test_optimal_draft__study_budget__usual_number_and_no_more() -> None:
    found = optimal_draft(study(2, budget=600), Wish(), 1)
    assert found.layout == Layout("quadratic", 11, 3, 2)
    # named minutes are used up, to three shots a term
    used = optimal_draft(study(2, budget=10), Wish(minutes=600), 1)
    assert used.layout.shots == 18


def test_optimal_draft__shorter_days__fewer_repeats_and_then_fewer_terms() -> None:
    mold = study(3)
    wide = optimal_draft(mold, Wish(), 1).layout
    assert (wide.repeats, wide.model) == (2, "quadratic")
    some = optimal_draft(study(3, budget=196), Wish(), 1).layout
    assert (some.repeats, some.model) == (1, "quadratic")
    none = optimal_draft(study(3, budget=178), Wish(), 1).layout
    assert (none.repeats, none.model) == (0, "quadratic")
    few = optimal_draft(study(3, budget=130), Wish(), 1).layout
    assert few.model == "interactions"


def test_optimal_draft__given_shots_over_the_budget__still_planned() -> None:
    found = optimal_draft(study(4, budget=150), Wish(shots=45), 1)
    assert found.layout.shots == 45
    assert found.minutes > 150


@pytest.mark.parametrize("minutes", [128, 135, 163])
def test_optimal_draft__better_plan_takes_longer__the_one_that_keeps_the_minutes(
    minutes: float,
) -> None:
    mold = study(3)
    found = optimal_draft(mold, Wish(minutes=minutes), 1)
    better = fill(mold, found.layout, 1, budget=minutes)
    assert better is not None and found.minutes <= minutes < better.minutes


def test_optimal_draft__two_marks__other_models_only() -> None:
    mold = study(2, step="2.0")
    found = optimal_draft(mold, Wish(shots=8, model="interactions"), 1)
    assert np.unique(found.draft.settings[:, 0]).tolist() == [3.0, 5.0]
    with pytest.raises(StudyError, match="2 marks from 3 to 5"):
        optimal_draft(mold, Wish(shots=8, model="quadratic"), 1)


def test_optimal_draft__named_model__saturated_allowed() -> None:
    found = optimal_draft(study(2, slow=False), Wish(shots=6, model="quadratic"), 1)
    assert found.layout == Layout("quadratic", 6, 1, 0)


def test_optimal_draft__criterion_and_ratio_of_scatters__each_best_by_its_own_measure() -> None:
    """Integrated variance or |X' V^-1 X|, for groups that scatter little or much."""
    molds = [study(3, more=f"[press]\ngroup_scatter = {ratio**0.5}") for ratio in (0.1, 10.0)]
    asked = [(criterion, mold) for criterion in ("I", "D") for mold in molds]
    found = [optimal_draft(mold, Wish(16, None, "quadratic", c), 1) for c, mold in asked]
    coded = [coded_settings(molds[0].factors, plan.draft.settings) for plan in found]
    losses = np.array(
        [
            [float(task_of(mold, plan.layout).loss(rows)) for rows in coded]
            for plan, (_, mold) in zip(found, asked, strict=True)
        ]
    )
    # one percent is what a quicker plan may be worse by
    assert (np.diag(losses) <= losses.min(axis=1) * 1.01).all()
    assert losses[0, 2] > 1.02 * losses[0, 0]
    assert losses[2, 0] > 1.02 * losses[2, 2]
