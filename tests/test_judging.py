import numpy as np
import pytest
from molds import study

from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.judging import Judgement, judge, scatter_df
from shotwindow.doe.plans import Plan, make_plan
from shotwindow.doe.power import power
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import block_columns

HALF = {"kind": "fraction", "shots": 8}


def _plan(mold: Study, coded: list[list[float]], model: str, groups: list[int]) -> Plan:
    """Return a plan of these coded rows as they stand."""
    shots = []
    for number, (row, group) in enumerate(zip(coded, groups, strict=True), start=1):
        values = [float(f.natural(c)) for f, c in zip(mold.factors, row, strict=True)]
        shots.append(PlannedShot(number, "1", "", group, "optimal", tuple(values)))
    return Plan("optimal", model, 1, tuple(shots))


def _judged(kind: str, shots: int | None = None, *, slow: bool = True) -> Judgement:
    mold = study(4, slow=slow)
    return judge(mold, make_plan(mold, kind=kind, shots=shots))


def test_judge__half_fraction__signed_aliases_in_factor_names() -> None:
    found = _judged("fraction", 8)
    first = "pressure = + melt_temperature x mold_temperature x injection_time"
    assert found.aliases[0] == first
    assert "pressure x melt_temperature = + mold_temperature x injection_time" in found.aliases
    assert found.resolution == 4
    assert found.word_lengths == (0, 0, 0, 1)
    words = "+ pressure x melt_temperature x mold_temperature x injection_time"
    assert found.relation == (words,)
    assert found.ranks == (("first-order", 5, 5), ("interactions", 8, 11), ("quadratic", 8, 15))


def test_judge__composite_on_a_half_fraction__rank_twelve_and_nine_groups() -> None:
    # design.md: 20 shots, rank 12 of 15, nine slow settings by two temperatures
    found = _judged("composite", 20)
    assert found.ranks[-1] == ("quadratic", 12, 15)
    assert found.groups == 9 + 1  # and the center's a second time
    assert "pressure x melt_temperature = + mold_temperature x injection_time" in found.aliases


def test_judge__default_plan__nothing_aliased_and_both_scatters_measured() -> None:
    found = _judged("optimal")
    assert found.aliases == ()
    assert found.ranks[-1] == ("quadratic", 15, 15)
    assert found.group_df == found.groups - 6
    assert found.shot_df == 20 - found.groups - 9
    assert found.costly_shots == ()


def test_judge__factorial_in_groups__slow_effects_against_groups() -> None:
    """A 2^2 by hand: errors of a split plot with four groups of four shots, eta = 1."""
    mold = study(4)
    corners = [[p, a, b, t] for a in (-1, 1) for b in (-1, 1) for p in (-1, 1) for t in (-1, 1)]
    rows = [[float(c) for c in row] for row in corners]
    plan = _plan(mold, rows, "interactions", list(np.repeat([1, 2, 3, 4], 4)))
    effects = {effect.name: effect for effect in judge(mold, plan).effects}
    # an effect is a difference of two means of eight shots; the group part adds 4/2 x eta / 2
    assert effects["pressure"].error == pytest.approx(np.sqrt(1 / 8 + 1 / 8))
    assert effects["melt_temperature"].error == pytest.approx(np.sqrt(2 * (1 / 2 + 1 / 8)))
    assert effects["melt_temperature x mold_temperature"].against == "group"
    assert effects["pressure x melt_temperature"].against == "shot"
    assert effects["pressure"].df == 16 - 4 - 7
    assert effects["melt_temperature"].df == 0
    assert effects["melt_temperature"].smallest is None
    smallest = effects["pressure"].smallest
    assert smallest is not None
    assert power(16 * smallest**2 / 4, 5) == pytest.approx(0.8, abs=1e-5)


def test_judge__nothing_slow__all_against_shots() -> None:
    found = _judged("factorial", 19, slow=False)
    assert {effect.against for effect in found.effects} == {"shot"}
    assert found.group_df == 0
    assert {effect.df for effect in found.effects} == {19 - 11}
    prediction = found.prediction
    assert prediction.center == pytest.approx(1 / np.sqrt(19), abs=1e-9)
    assert prediction.corners == pytest.approx(np.sqrt(1 / 19 + 10 / 16), abs=1e-9)
    assert prediction.faces == pytest.approx(np.sqrt(1 / 19 + 1 / 16), abs=1e-9)
    assert prediction.worst == pytest.approx(prediction.corners)


def test_judge__square__error_from_center_to_edge_by_hand() -> None:
    """Means of four shots at the edges and of two at the center; a slope of two at either edge."""
    mold = study(1)
    rows = [[-1.0], [-1.0], [0.0], [0.0], [1.0], [1.0]]
    errors = {e.name: e.error for e in judge(mold, _plan(mold, rows, "quadratic", [1] * 6)).effects}
    assert errors["pressure"] == pytest.approx(np.sqrt(1 / 2 + 1 / 2))
    assert errors["pressure^2"] == pytest.approx(np.sqrt(1 / 4 + 1 / 2))


def test_judge__one_shot_alone_at_its_level__is_costly() -> None:
    mold = study(1)
    plan = _plan(mold, [[-1.0], [-1.0], [1.0], [1.0], [0.0]], "quadratic", [1] * 5)
    assert judge(mold, plan).costly_shots == (5,)


def test_judge__partial_words__aliases_of_the_model_alone() -> None:
    mold = study(5)
    found = judge(mold, make_plan(mold, kind="plackett-burman", shots=12))
    assert len(found.aliases) == 5
    assert found.aliases[0].startswith("pressure = ")
    assert found.aliases[0].count("0.33") == 6 + 4  # products of two and of three other factors
    assert found.resolution == 3
    assert found.relation == ()


def test_judge__forbidden_corners__left_out_of_the_mean() -> None:
    rule = '[[avoid]]\nmelt_temperature = ">= 230"\npressure = "> 4.5"'
    mold = study(2, slow=False, more=rule)
    found = judge(mold, make_plan(mold, shots=12)).prediction
    free = study(2, slow=False)
    assert found.corners is not None
    square = [[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]]
    fixed = judge(mold, _plan(mold, square, "first-order", [1] * 4)).prediction
    # the three corners that are allowed are shot twice, once and once, and leave nothing over
    assert fixed.corners == pytest.approx((np.sqrt(1 / 2) + 1 + 1) / 3)
    assert found.worst < judge(free, make_plan(mold, shots=12)).prediction.worst


def test_scatter_df__blocks_and_groups__counted_once() -> None:
    group = np.array([1, 1, 2, 2, 3, 3, 4, 4])
    matrix = np.column_stack([np.ones(8), np.tile([-1.0, 1.0], 4)])
    assert scatter_df(matrix, block_columns(["1"] * 8), group) == (3, 8 - 4 - 1)
    assert scatter_df(matrix, block_columns(["1"] * 4 + ["2"] * 4), group) == (2, 3)
