from collections import Counter

import numpy as np
import pytest
from molds import study

from shotwindow.doe.aliases import rank
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.groups import same_slow
from shotwindow.doe.kinds import TEXTBOOK, classical_draft, on_marks
from shotwindow.doe.terms import model_terms


@pytest.mark.parametrize(
    ("kind", "count", "shots", "kinds", "model"),
    [
        ("factorial", 4, None, {"factorial": 16, "center": 4}, "interactions"),
        ("factorial", 2, None, {"factorial": 4, "center": 4}, "interactions"),
        ("factorial", 3, 8, {"factorial": 8}, "interactions"),
        ("factorial", 3, 20, {"factorial": 8, "replicate": 8, "center": 4}, "interactions"),
        ("fraction", 4, None, {"factorial": 8, "center": 4}, "first-order"),
        ("fraction", 5, None, {"factorial": 16, "center": 4}, "interactions"),
        ("fraction", 8, None, {"factorial": 16, "center": 4}, "first-order"),
        ("fraction", 6, 9, {"factorial": 8, "center": 1}, "first-order"),
        ("composite", 2, None, {"factorial": 4, "axial": 4, "center": 4}, "quadratic"),
        ("composite", 4, None, {"factorial": 16, "axial": 8, "center": 4}, "quadratic"),
        ("composite", 4, 20, {"factorial": 8, "axial": 8, "center": 4}, "first-order"),
        ("composite", 4, 24, {"factorial": 8, "axial": 8, "center": 8}, "first-order"),
        ("composite", 5, None, {"factorial": 16, "axial": 10, "center": 4}, "quadratic"),
        ("composite-inscribed", 3, None, {"factorial": 8, "axial": 6, "center": 4}, "quadratic"),
        ("box-behnken", 3, None, {"factorial": 12, "center": 4}, "quadratic"),
        ("box-behnken", 5, 46, {"factorial": 40, "center": 6}, "quadratic"),
        ("plackett-burman", 7, None, {"factorial": 12, "center": 4}, "first-order"),
        ("plackett-burman", 7, 8, {"factorial": 8}, "first-order"),
        ("plackett-burman", 8, 30, {"factorial": 24, "center": 6}, "first-order"),
        ("definitive", 6, 13, {"factorial": 12, "center": 1}, "first-order"),
        ("definitive", 8, None, {"factorial": 16, "center": 4}, "first-order"),
    ],
)
def test_classical_draft__kind_and_shots__made_of(
    kind: str, count: int, shots: int | None, kinds: dict[str, int], model: str
) -> None:
    mold = study(count)
    draft = classical_draft(mold, kind, shots)
    assert Counter(draft.kinds) == kinds
    assert shots in (None, len(draft.settings))
    assert draft.model == model
    coded = coded_settings(mold.factors, draft.settings)
    terms = model_terms(model, mold.names)
    assert rank(terms, coded) == len(terms)
    for factor, column in zip(mold.factors, draft.settings.T, strict=True):
        assert np.isin(column, factor.marks).all()


@pytest.mark.parametrize("kind", [*TEXTBOOK])
def test_classical_draft__slow_center__set_twice(kind: str) -> None:
    mold = study(5, more="")
    if kind == "composite-rotatable":
        return
    draft = classical_draft(mold, kind, None)
    assert draft.group is not None
    same = same_slow(mold, draft.settings)
    assert len(np.unique(draft.group)) == len(np.unique(same)) + 1
    center = [g for g, k in zip(draft.group, draft.kinds, strict=True) if k == "center"]
    assert sorted(Counter(center).values()) == [2, 2]


def test_classical_draft__rotatable__beyond_the_range_and_on_marks() -> None:
    mold = study(2)
    draft = classical_draft(mold, "composite-rotatable", None)
    axial = draft.settings[[kind == "axial" for kind in draft.kinds]]
    # 4 -+ 1.414 bar in steps of 0.1, and 220 -+ 21.2 degC in steps of 1
    assert axial.tolist() == [[2.6, 220], [5.4, 220], [4.0, 199], [4.0, 241]]


def test_on_marks__coded_rows__nearest_marks_without_dust() -> None:
    found = on_marks(study(1).factors, np.array([[-1.4142], [0.3], [1.7]]))
    assert found[:, 0].tolist() == [2.6, 4.3, 5.7]


@pytest.mark.parametrize("slow", [True, False])
def test_classical_draft__screening__two_levels_where_factors_are_slow(slow: bool) -> None:
    draft = classical_draft(study(6, slow=slow), "screening", None)
    corners = draft.settings[[kind == "factorial" for kind in draft.kinds]]
    assert len(np.unique(corners[:, 0])) == (2 if slow else 3)


@pytest.mark.parametrize(
    ("kind", "count", "shots", "said"),
    [
        ("factorial", 4, 15, "shots for factorial: found 15; expected 16 or more"),
        ("fraction", 2, None, "factors for fraction: found 2; expected 3 or more"),
        ("fraction", 4, 7, "found 7; expected 8 or more"),
        ("composite", 1, None, "found 1; expected 2 or more"),
        ("composite", 4, 16, "found 16; expected 17 or more"),
        ("box-behnken", 2, None, "found 2; expected 3 to 5"),
        ("box-behnken", 6, None, "found 6; expected 3 to 5"),
        ("box-behnken", 4, 24, "found 24; expected 25 or more"),
        ("screening", 4, None, "factors for screening: found 4; expected 5 to 8"),
        ("plackett-burman", 8, 11, "found 11; expected 12 or more"),
        ("definitive", 5, 12, "found 12; expected 13 or more"),
        ("composite-rotatable", 4, None, "outside the limits"),
    ],
)
def test_classical_draft__does_not_suit__one_sentence(
    kind: str, count: int, shots: int | None, said: str
) -> None:
    with pytest.raises(StudyError, match=said) as caught:
        classical_draft(study(count, slow=False), kind, shots)
    assert len(caught.value.problems) == 1


@pytest.mark.parametrize("kind", ["composite", "box-behnken", "definitive"])
def test_classical_draft__two_marks__too_coarse_for_a_center(kind: str) -> None:
    with pytest.raises(StudyError, match="2 marks from 3 to 5; expected three or more"):
        classical_draft(study(5, slow=False, step="2.0"), kind, None)


def test_classical_draft__two_marks__factorial_without_center() -> None:
    assert len(classical_draft(study(3, step="2.0"), "factorial", None).settings) == 8
    with pytest.raises(StudyError, match="three or more"):
        classical_draft(study(3, step="2.0"), "factorial", 10)


def test_classical_draft__rule_forbids_a_corner__told() -> None:
    rule = '[[avoid]]\nmelt_temperature = ">= 230"\npressure = "> 4.5"'
    with pytest.raises(StudyError, match="2 of 12 shots outside the limits or in"):
        classical_draft(study(3, more=rule), "factorial", None)
