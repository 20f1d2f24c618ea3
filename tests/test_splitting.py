"""Textbook plans shared out among days: blocks as published, equal sizes, groups kept together."""

import numpy as np
import pytest
from molds import study

from shotwindow.doe.factors import coded_settings
from shotwindow.doe.groups import same_slow
from shotwindow.doe.kinds import classical_draft
from shotwindow.doe.splitting import split
from shotwindow.doe.terms import model_terms


def _rng() -> np.random.Generator:
    return np.random.default_rng(1)


@pytest.mark.parametrize(
    ("kind", "factors", "shots", "count"),
    [
        # 2^3 by a x b x c, 2^4 by a x b x c x d (any textbook)
        ("factorial", 3, 10, 2),
        ("factorial", 4, 18, 2),
        # G. E. P. Box and D. W. Behnken, Technometrics 2 (1960) 455 (from memory): four factors
        # in three orthogonal blocks of nine, five factors in two of 23
        ("box-behnken", 4, 27, 3),
        ("box-behnken", 5, 46, 2),
        # pairs of mirror images that stay together, a center in each block
        ("definitive", 6, 14, 2),
    ],
)
def test_split__plans_that_have_orthogonal_blocks__they_are_found(
    kind: str, factors: int, shots: int, count: int
) -> None:
    mold = study(factors, slow=False)
    draft = classical_draft(mold, kind, shots)
    terms = model_terms(draft.model, mold.names)
    block = split(mold, draft, terms, count, _rng())
    assert np.bincount(block).tolist() == [shots // count] * count
    rows = terms.matrix(coded_settings(mold.factors, draft.settings))
    means = [rows[block == number].mean(axis=0) for number in range(count)]
    np.testing.assert_allclose(means, [rows.mean(axis=0)] * count, atol=0.02)  # marks of steps


def test_split__slow_settings__each_in_one_block_but_the_center() -> None:
    mold = study(4)
    draft = classical_draft(mold, "composite", 28)
    block = split(mold, draft, model_terms(draft.model, mold.names), 2, _rng())
    slow = same_slow(mold, draft.settings)
    center = slow[draft.kinds.index("center")]
    for number in np.unique(slow):
        assert len(set(block[slow == number].tolist())) == (2 if number == center else 1)
    assert abs(np.diff(np.bincount(block))[0]) <= 1


def test_split__same_generator__same_blocks() -> None:
    mold = study(3, slow=False)
    draft = classical_draft(mold, "composite", 20)
    terms = model_terms(draft.model, mold.names)
    first, second = (split(mold, draft, terms, 2, _rng()) for _ in range(2))
    np.testing.assert_array_equal(first, second)
