"""Each lesson is made anew, says what it should, and its numbers hold when worked out again."""

import io
import re
from contextlib import redirect_stdout
from pathlib import Path

import numpy as np
import pytest
from markupsafe import escape

from shotwindow.cli.main import run
from shotwindow.examples.lessons import (
    aliasing,
    choosing_a_margin,
    clipped_readings,
    failed_confirmation,
    one_at_a_time,
    random_order,
    reading_a_window,
    temperature_groups,
)
from shotwindow.examples.lessons.bench import study, true_window, worked
from shotwindow.examples.lessons.contents import LESSONS, about, read_lesson
from shotwindow.reports.lesson import answers_html, lesson_html

SUMS = {"aliasing": 2, "random_order": 1, "failed_confirmation": 2}  # worked out in its answers


@pytest.mark.parametrize("name", LESSONS)
def test_lesson__handout_invented_and_without_answers(name: str) -> None:
    lesson = read_lesson(name)
    handout, answers = lesson_html(lesson), answers_html(lesson, "letter")
    assert "we invented" in handout and "size: A4" in handout and "size: letter" in answers
    assert not re.search(r"\bnan\b", handout)
    assert about(name)[0].isupper() and 3 <= len(lesson.questions) <= 6
    for question in lesson.questions:
        assert escape(question.answer) in answers and escape(question.answer) not in handout
    assert "://" not in handout.replace("http://www.w3.org", "")


def test_aliasing__half_adds_the_two_effects() -> None:
    found = aliasing.seen()
    low = found.coded[:, 2] < 0
    by_hand = found.fill[~low].mean() - found.fill[low].mean()
    assert found.full[2] == pytest.approx(by_hand)
    assert found.plus[2] == pytest.approx(found.full[2] + found.full[3])
    assert found.minus[2] == pytest.approx(found.full[2] - found.full[3])
    assert found.fill.max() < 100 and found.true[3] > 2  # short shots, and a real interaction


@pytest.mark.parametrize("name", LESSONS)
def test_lesson__sums_as_printed__hold_for_who_works_them_out(name: str) -> None:
    """A student has the rounded numbers only; no number is less than nothing by rounding alone."""
    lesson = read_lesson(name)
    answers = " ".join(question.answer for question in lesson.questions)
    handout = lesson_html(lesson)
    assert not re.search(
        r"[-−]0\.?0*(?![\d.])", re.sub("<svg.*?</svg>", "", handout, flags=re.DOTALL)
    )
    assert not re.search(r"-0\.?0*(?![\d.])", answers)
    sums = re.findall(r"([-+(\d][-+ x^().\d]*) = ([-+]?[\d.]*\d)", answers)
    powers = re.findall(r"([\d.]+ to the power \d+) is ([\d.]*\d)", answers)
    for said, result in sums + powers:
        term = said.replace(" x ", "*").replace("^", "**").replace(" to the power ", "**")
        digits = len(result.partition(".")[2])
        assert round(eval(term), digits) == pytest.approx(float(result), abs=1e-9), said
    assert len(sums) + len(powers) == SUMS.get(name, 0)


def test_random_order__takes_the_drift_out_of_time() -> None:
    found = random_order.seen()
    tidy, still = found.tidy[1], found.tidy_still[1]
    mean, sd = found.shuffled.mean(axis=0)[1], found.shuffled.std(axis=0, ddof=1)[1]
    assert tidy - still > 3 and abs(mean - found.true[1]) < 0.5 < sd


def test_temperature_groups__save_minutes_and_cost_certainty() -> None:
    free, four, two = (temperature_groups.costs()[kind] for kind in temperature_groups.ORDERS)
    assert free.minutes > four.minutes + 60 > two.minutes + 60
    assert free.sd[1] < four.sd[1] < two.sd[1] and two.believed[1] < 0.6 * two.sd[1]
    assert four.by_groups is not None and abs(four.by_groups[1] / four.sd[1] - 1) < 0.25


def test_clipped__line_misses_the_edge_and_intervals_do_not() -> None:
    found = clipped_readings.seen()
    line, _, intervals = (found.said[m].mean() - found.true for m in clipped_readings.METHODS)
    assert line > 0.5 and abs(intervals) < 0.05
    pressure, fill = found.shown.settings[:, 0], clipped_readings.fills(found.shown)
    assert found.line[1] == pytest.approx(np.polyfit(pressure, fill, 1)[0])


def test_one_at_a_time__claims_what_is_not_good_and_costs_more() -> None:
    walked, planned = one_at_a_time.results().values()
    assert np.median([t.overlap for t in walked]) < np.median([t.overlap for t in planned]) - 0.2
    assert np.median([t.minutes for t in walked]) > planned[0].minutes
    low, high = (one_at_a_time.pressures_at(melt) for melt in (212.0, 228.0))
    assert high[1] < low[0]  # hotter melt, less pressure: the window leans


def test_window__corner_of_likely_settings_is_bad() -> None:
    corner = reading_a_window.bad_corner()
    assert corner is not None and corner[1] < 0.1
    assert 0.05 < true_window().mean() < 0.45 and worked().window is not None


def test_margin__setpoint_bears_a_wrong_gauge_best() -> None:
    worst = {name: s.min() for name, s in choosing_a_margin.seen().shares.items()}
    assert max(worst, key=lambda name: worst[name]) == "setpoint"
    assert worst["setpoint"] > study().good_from > max(worst["just full"], 0.0)


def test_confirmation__fails_at_the_edge_and_repeating_it_shows_nothing() -> None:
    first, other = failed_confirmation.hurried(), failed_confirmation.planned()
    assert failed_confirmation.needed() == 11  # 0.8^11 = 0.086 <= 0.1 < 0.8^10, by hand
    assert first.good < 11 == other.good and set(first.outcomes) == {"good", "short"}
    assert failed_confirmation.passes(first.true) == pytest.approx(first.true**11)
    rates = failed_confirmation.pass_rates()
    assert rates[1] > rates[3] > rates[11]


def test_practice__writes_handout_and_answers(tmp_path: Path) -> None:
    printed = io.StringIO()
    with redirect_stdout(printed):
        assert run(["practice", "--lessons"]) == 0
        assert run(["practice", str(tmp_path / "new"), "--lesson", "aliasing"]) == 0
    assert all(name in printed.getvalue() for name in LESSONS)
    names = sorted(path.name for path in (tmp_path / "new").iterdir())
    assert names == ["aliasing-answers.html", "aliasing.html"]
    assert run(["practice", str(tmp_path), "--lesson", "aliasin"]) == 1
    assert run(["practice"]) == 2 == run(["practice", str(tmp_path / "nothing")])
