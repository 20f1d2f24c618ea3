import numpy as np
import pytest
from molds import study

from shotwindow.doe import layouts
from shotwindow.doe.groups import slow_positions
from shotwindow.doe.layouts import (
    Layout,
    draft_minutes,
    fill,
    least_minutes,
    slow_terms,
    task_of,
)
from shotwindow.doe.tasks import grouped_weights
from shotwindow.doe.terms import full_quadratic


def test_layout__groups__even_sizes_and_the_last_repeat_the_first() -> None:
    layout = Layout("quadratic", 20, 6, 2)
    assert np.bincount(layout.group).tolist() == [3, 3, 3, 3, 2, 2, 2, 2]
    units = [int(layout.unit[layout.group == group][0]) for group in range(8)]
    assert units == [0, 1, 2, 3, 4, 5, 0, 1]


@pytest.mark.parametrize(
    ("count", "model", "terms"),
    [(4, "quadratic", 6), (4, "interactions", 4), (4, "first-order", 3), (2, "quadratic", 3)],
)
def test_slow_terms__model__constant_and_those_of_slow_factors(
    count: int, model: str, terms: int
) -> None:
    assert slow_terms(study(count), model) == terms
    assert slow_terms(study(count, slow=False), model) == 1


def test_task_of__smaller_model__wishes_for_the_rest() -> None:
    task = task_of(study(2), Layout("first-order", 6, 2, 0))
    assert task.prior is not None
    assert task.terms == full_quadratic(("pressure", "melt_temperature"))
    assert np.diag(task.prior).tolist() == [0, 0, 0, 1, 1, 1]
    coarse = task_of(study(2, step="2.0"), Layout("interactions", 6, 2, 0))
    assert "pressure^2" not in coarse.terms.names


def test_task_of__ratio_of_scatters__in_the_weights() -> None:
    layout = Layout("quadratic", 14, 6, 1)
    weights = task_of(study(3, more="[press]\ngroup_scatter = 2.0"), layout).weights
    np.testing.assert_allclose(weights, grouped_weights(layout.group, 4.0))
    free = task_of(study(3, slow=False), Layout("quadratic", 14, 1, 0))
    np.testing.assert_array_equal(free.weights, np.eye(14))


def test_fill__any_layout__at_least_the_least_minutes_and_its_own_loss() -> None:
    mold = study(3)
    layout = Layout("quadratic", 14, 6, 1)
    filled = fill(mold, layout, 1)
    assert filled is not None
    assert least_minutes(mold, layout) <= filled.minutes
    assert filled.minutes == draft_minutes(mold, filled.draft, 1)
    coded = np.stack(
        [f.coded(filled.draft.settings[:, j]) for j, f in enumerate(mold.factors)], axis=1
    )
    assert task_of(mold, layout).loss(coded) == pytest.approx(filled.loss)
    slow = filled.draft.settings[:, list(slow_positions(mold))]
    for unit in range(6):
        assert len(np.unique(slow[layout.unit == unit], axis=0)) == 1


def test_fill__several_nearly_as_good__the_quickest(monkeypatch: pytest.MonkeyPatch) -> None:
    mold, layout = study(3), Layout("quadratic", 14, 6, 1)
    quick = fill(mold, layout, 1)
    monkeypatch.setattr(layouts, "NEAR", 1.0)
    best = fill(mold, layout, 1)
    assert quick is not None and best is not None
    assert best.loss < quick.loss <= 1.01 * best.loss
    assert quick.minutes < best.minutes - 5


def test_fill__budget_just_missed__a_quicker_plan_that_is_a_little_worse() -> None:
    mold = study(4)
    layout = Layout("quadratic", 18, 6, 1)
    best = fill(mold, layout, 2)
    assert best is not None
    hurried = fill(mold, layout, 2, budget=best.minutes - 1)
    assert hurried is not None
    assert hurried.minutes <= best.minutes - 1
    assert best.loss <= hurried.loss <= 1.11 * best.loss


def test_fill__too_few_slow_settings__none() -> None:
    assert fill(study(3), Layout("quadratic", 14, 5, 0), 1) is None
