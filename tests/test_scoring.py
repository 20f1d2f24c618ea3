"""A window held against the truth of a simulated press."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import PSI

from shotwindow.cli.practice_file import Practice
from shotwindow.cli.practice_press import practice_press
from shotwindow.doe.factors import Factor
from shotwindow.doe.study import Study, parse_study
from shotwindow.models.press import Press
from shotwindow.models.scoring import score, true_share_good
from shotwindow.models.setpoint import Setpoint
from shotwindow.models.window import Window, settings_at


def press_and_truth() -> tuple[Press, Study, np.ndarray[tuple[int], np.dtype[np.float64]]]:
    study = parse_study(PSI.format(1))
    press = practice_press(study, Practice("narrow", 1, ""))
    marks = settings_at(study.factors, np.arange(study.factors[0].count))
    return press, study, true_share_good(press, study, marks)


def window_of(factors: tuple[Factor, ...], chances: object) -> Window:
    inside = np.asarray(chances, dtype=float)
    yes = np.ones(inside.shape, dtype=bool)
    return Window(factors, 0.9, inside, inside, yes, yes, ())


def test_score__the_truth_itself__overlap_of_one() -> None:
    press, study, good = press_and_truth()
    true = good >= 0.9
    middle = int(np.flatnonzero(true).mean())
    setpoint = Setpoint((middle,), (50.0 + middle,), 1.0, 1.0, 1.0, False)
    found = score(press, study, window_of(study.factors, true), setpoint)
    assert found.overlap == 1.0 and found.sure_good == 1.0
    assert found.likely_share == found.true_share == pytest.approx(true.mean())
    assert found.setpoint_good == pytest.approx(good[middle])
    first, last = (50.0 + np.flatnonzero(true))[[0, -1]]
    assert found.true_ranges == ((first, last),)
    outside = replace(setpoint, mark=(0,), settings=(50.0,))
    worse = score(press, study, window_of(study.factors, true), outside)
    assert worse.true_ranges == (None,) and worse.setpoint_good == pytest.approx(good[0])


def test_score__half_of_it_and_nothing() -> None:
    press, study, good = press_and_truth()
    half = (good >= 0.9) & (np.arange(good.size) < np.flatnonzero(good >= 0.9).mean())
    found = score(press, study, window_of(study.factors, half), None)
    assert found.overlap == pytest.approx(half.sum() / (good >= 0.9).sum())
    assert (found.setpoint_good, found.true_ranges) == (None, (None,))
    nothing = score(press, study, window_of(study.factors, np.zeros(good.size)), None)
    assert (nothing.overlap, nothing.sure_good) == (0.0, None)
    wrong = score(press, study, window_of(study.factors, good < 0.9), None)
    assert (wrong.overlap, wrong.sure_good) == (0.0, 0.0)


def test_score__one_sure_mark__is_looked_at_though_few_are_drawn() -> None:
    press, study, good = press_and_truth()
    for mark in range(0, good.size, 5):
        window = window_of(study.factors, np.arange(good.size) == mark)
        told = score(press, study, window, None, most=2).sure_good
        assert told == float(good[mark] >= 0.9)
