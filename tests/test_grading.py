"""What two persons' readings are worth, and what is to be done: verdict, step, words."""

import json
from collections.abc import Sequence

import numpy as np
import pytest
from sheets import EYE, GRADES

from shotwindow.doe.blind_lists import Part
from shotwindow.doe.regrading import Pair, Regraded
from shotwindow.doe.study import parse_study
from shotwindow.reports.documents import json_text
from shotwindow.reports.grading import GradingCheck, check_document, grading_check
from shotwindow.reports.grading_words import grading_lines

WORDS = EYE + '[fill]\nmeasured = "full-or-short"\n'


def pairs(values: Sequence[tuple[float, float]], good: float, heading: str) -> tuple[Pair, ...]:
    """Pairs of invented readings; up to `good` is good."""
    return tuple(
        Pair(Part(shot, heading, f"{shot}-1"), a, b, a <= good, b <= good)
        for shot, (a, b) in enumerate(values, start=3)
    )


def graded(both: int, second_alone: int, first_alone: int, neither: int, *, left: int) -> Regraded:
    """Flash grades of two persons by how many parts each pair of verdicts holds."""
    values = [(1, 1)] * both + [(2, 1)] * second_alone + [(1, 2)] * first_alone + [(2, 2)] * neither
    found = pairs(values, 1, "flash (grade)")
    return Regraded("flash", "Ben", ("Ada",), found, left)


def check(*counts: int, left: int = 0) -> GradingCheck:
    return grading_check(parse_study(GRADES), graded(*counts, left=left))


def said(found: GradingCheck, text: str = GRADES) -> str:
    return " ".join(" ".join(grading_lines(parse_study(text), [found])).split())


@pytest.mark.parametrize(
    ("counts", "verdict"),
    [
        ((10, 0, 0, 10), "good"),
        ((9, 1, 1, 9), "good"),
        ((9, 2, 1, 8), "doubtful"),
        ((8, 2, 3, 7), "poor"),
        ((5, 5, 5, 5), "poor"),
        ((2, 0, 0, 3), "too few"),
        ((4, 1, 2, 3), "too few"),
    ],
)
def test_verdict__by_agreement_and_its_doubt(counts: tuple[int, ...], verdict: str) -> None:
    assert check(*counts).verdict == verdict


def test_words__agreement_with_interval_and_guessing() -> None:
    words = said(check(9, 2, 1, 8))
    assert "Grading check of flash: Ben read 20 parts, first read by Ada" in words
    # Clopper and Pearson for 17 of 20, 0.621 and 0.968 (recomputed: scipy.stats.binomtest)
    assert "17 of 20 parts on the same side of the limit: 85 %" in words
    assert "between 62 % and 97 %" in words and "Guessing would do so for 50 %" in words
    assert "Ben alone calls 2 good, the first person alone 1." in words
    assert "Doubtful" in words and "limit sample" in words and "Or measure the width" in words
    assert "No result is changed by this check." in words


def test_words__all_agree__nothing_to_do() -> None:
    words = said(check(10, 0, 0, 10))
    assert "Good:" in words and "limit sample" not in words and "alone" not in words


def test_words__one_way__another_limit_in_mind() -> None:
    assert "Ben is milder, and more often than by chance" in said(check(5, 7, 0, 5))
    assert "Ben is stricter, and more often than by chance" in said(check(5, 0, 7, 5))
    assert "Look again at the limit sample" in said(check(5, 4, 3, 5))


def test_words__parts_apart__named_once_all_are_read() -> None:
    assert "Look together at 4-1 (2, then 1) and 5-1 (1, then 2)." in said(check(1, 1, 1, 9))
    left = said(check(1, 1, 1, 9, left=2))
    assert "Look together" not in left and "2 parts of the list not read again." in left


def eye(scatter: float, step: float, shift: float = 0.0) -> GradingCheck:
    """Invented readings by eye of forty short parts that scatter so, by two persons."""
    made = np.random.default_rng(5).normal(0.0, scatter, (40, 2)) + np.linspace(60, 80, 40)[:, None]
    read = np.round((made + [0.0, shift]) / step) * step
    values = [(float(a), float(b)) for a, b in read]
    found = pairs(values, -1, "fill (%)")
    study = parse_study(EYE + f'[fill]\nmeasured = "eye"\nstep = {step}\n')
    return grading_check(study, Regraded("fill", "Ben", ("Ada",), found, 0))


def test_wider_step__readings_that_scatter_more_than_their_step() -> None:
    """Rounding to steps of w scatters by w / sqrt(12) (uniform distribution, any textbook)."""
    found = eye(scatter=3.0, step=2)
    assert found.scatter is not None and found.wider is not None
    # 40 pairs: the estimate of 3 is off by 11 % (one sd); rounding adds 2 / sqrt(12) to it
    assert 2.2 < found.scatter < 4.0
    assert found.wider == np.ceil(np.sqrt(12) * found.scatter / 2) * 2
    text = EYE + '[fill]\nmeasured = "eye"\nstep = 2\n'
    assert f"step = {found.wider:.3g} under [fill] in study.toml" in said(found, text)


def test_wider_step__readings_as_good_as_their_step__none() -> None:
    assert eye(scatter=0.5, step=2).wider is None
    assert eye(scatter=0.5, step=2, shift=12.0).wider is not None  # the two read differently


def test_wider_step__full_parts_and_grades__say_nothing_of_it() -> None:
    study = parse_study(EYE)
    values = [(100.0, 92.0)] * 20
    found = grading_check(study, Regraded("fill", "Ben", (), pairs(values, -1, "fill (%)"), 0))
    assert (found.scatter, found.wider) == (None, None)
    assert check(5, 5, 5, 5).scatter is None


@pytest.mark.parametrize(
    ("response", "text", "words"),
    [("fill", WORDS, "weigh the parts"), ("fill", EYE, "correct what is wrong (record, key c)")],
)
def test_words__poor_fill__another_way_to_judge(response: str, text: str, words: str) -> None:
    study = parse_study(text)
    part = Part(3, "fill", "3-1")
    read = tuple(
        Pair(part, a, b, a == "full", b == "full")
        for a, b in [("full", "short"), ("short", "full"), ("full", "full")] * 7
    )
    assert words in said(grading_check(study, Regraded(response, "Ben", (), read, 0)), text)


def test_document__every_verdict__numbers_or_null() -> None:
    document = json.loads(json_text(check_document(check(10, 0, 0, 0))))
    assert document["kappa"] is None and document["reading_sd"] is None
    assert (document["agreed"], document["parts"], document["high"]) == (10, 10, 1.0)
