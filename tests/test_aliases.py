import csv
from pathlib import Path

import numpy as np
import pytest

from shotwindow.doe.aliases import (
    alias_matrix,
    aliases,
    defining_relation,
    rank,
    resolution,
    told_apart,
    word_lengths,
    word_means,
)
from shotwindow.doe.classical import generated, two_level
from shotwindow.doe.terms import Terms, first_order, full_quadratic, with_interactions

DESIGNS = Path(__file__).parent / "reference" / "designs"
LETTERS = "ABCDEFGHJKL"  # the books leave I out: it stands for the constant
ROMAN = {"III": 3, "IV": 4, "V": 5, "VI": 6, "VII": 7}


def _published() -> list[dict[str, str]]:
    with (DESIGNS / "fractional_generators.csv").open(encoding="utf-8") as file:
        return [row for row in csv.DictReader(file) if "=" in row["generators"]]


@pytest.mark.parametrize("row", _published(), ids=lambda row: row["design"])
def test_word_lengths__published_generators__published_pattern(row: dict[str, str]) -> None:
    # MA-WLP: Montgomery, table 8.14; Box, Hunter and Hunter; see reference/SOURCES.md
    generators = [text.split("=")[1] for text in row["generators"].split(";")]
    words = tuple(tuple(LETTERS.index(letter) + 1 for letter in word) for word in generators)
    base = int(np.log2(int(row["runs"])))
    plan = generated(base, words)
    lengths = word_lengths(plan)
    assert plan.shape == (int(row["runs"]), base + len(words))
    published = [float(count) for count in row["WLP_3.."].split()]
    np.testing.assert_allclose(lengths[2 : 2 + len(published)], published, atol=1e-9)
    assert sum(lengths) == pytest.approx(2 ** len(words) - 1)
    assert resolution(plan) == ROMAN[row["resolution"]]


def test_published_generators__all_of_them__read() -> None:
    assert len(_published()) == 23


def test_word_means__plackett_burman_12__third_of_every_pair_with_a_third_factor() -> None:
    # README of the check values, PB: each main effect aliased with each interaction not containing
    # it at +-1/3, 495 pairs
    plan = np.loadtxt(DESIGNS / "pb12.csv", delimiter=",", skiprows=1)
    threes = [mean for chosen, mean in word_means(plan, 3).items() if len(chosen) == 3]
    np.testing.assert_allclose(np.abs(threes), 1 / 3)
    assert 3 * len(threes) == 495


def test_defining_relation__negative_generator__keeps_its_sign() -> None:
    base = two_level(2)
    plan = np.column_stack([base, -base[:, 0] * base[:, 1]])
    assert defining_relation(("a", "b", "c"), plan) == ("- a x b x c",)
    assert aliases(first_order("abc"), plan) == ("a = - b x c", "b = - a x c", "c = - a x b")


def test_aliases__half_of_four_factors__as_the_textbook() -> None:
    # I = ABCD: A = BCD, AB = CD (any textbook)
    plan = generated(3, ((1, 2, 3),))
    found = aliases(with_interactions("abcd"), plan)
    assert found[0] == "a = + b x c x d"
    assert "a x b = + c x d" in found
    assert len(found) == 7


def test_aliases__full_factorial_and_center__squares_only() -> None:
    plan = np.vstack([two_level(2), np.zeros((1, 2))])
    assert aliases(full_quadratic("ab"), plan) == ("a^2 = + b^2",)
    assert aliases(with_interactions("ab"), two_level(2)) == ()


def test_alias_matrix__one_missing_corner__as_solved_by_hand() -> None:
    # without (1, 1): b x c is explained as x1x2 = -1 - x1 - x2 at the other three corners
    plan = np.array([[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0]])
    product = Terms(((1, 1),), ("a", "b"))
    np.testing.assert_allclose(alias_matrix(first_order("ab"), product, plan)[:, 0], [-1, -1, -1])


def test_told_apart__block_that_changes_with_a_factor__not_that_factor() -> None:
    plan = np.array([[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]])
    block = np.array([[-0.5], [-0.5], [0.5], [0.5]])
    assert told_apart(first_order("ab"), plan, block).tolist() == [True, False, True]
    assert rank(first_order("ab"), plan) == 3


def test_rank__composite_on_a_half_fraction__twelve_of_fifteen() -> None:
    # design.md: pressure x melt temperature stays aliased with mold temperature x time
    cube = generated(3, ((1, 2, 3),))
    plan = np.vstack([cube, np.eye(4), -np.eye(4), np.zeros((4, 4))])
    terms = full_quadratic("abcd")
    assert rank(terms, plan) == 12
    kept = told_apart(terms, plan)
    assert kept.sum() == 12
    assert set(np.array(terms.names)[~kept]) == {"b x c", "b x d", "c x d"}
    assert "a x b = + c x d" in aliases(terms, plan)
