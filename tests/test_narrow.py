"""A window that cannot be held: whether it is seen, and whether the remedies are true.

On a small air-driven press the good window can be as narrow as 60 to 65 psi on the gauge (common
practice, no source): marks of 5 psi must be told to be too coarse for it, marks of 1 psi not.
"""

from dataclasses import replace

import numpy as np
from invented_shots import findings, recorded, study

from shotwindow.models.held_chances import held_probability
from shotwindow.reports.findings import find
from shotwindow.reports.narrow import find_narrow


def test_find_narrow__window_that_holds__nothing() -> None:
    assert findings("map").setpoint is not None
    assert findings("map").narrow is None


def test_find_narrow__coarse_marks__finer_ones_would_do() -> None:
    found = findings("coarse")
    assert found.narrow is not None and found.setpoint is not None and found.setpoint.narrow
    (remedy,) = found.narrow.remedies
    assert remedy.step < 5 and remedy.probability_held >= 0.9
    factor = replace(study("coarse").factors[0], holds=remedy.holds)
    marks = np.arange(50, 75 + 1e-9, remedy.step)[:, None]
    held = held_probability(found.goodness, (factor,), marks)
    assert held.max() == remedy.probability_held


def test_find_narrow__same_shots_with_finer_marks__no_longer_narrow() -> None:
    coarse = study("coarse")
    fine = replace(coarse, factors=(replace(coarse.factors[0], step=1.0, holds=0.5),))
    found = find(fine, recorded("coarse"))
    assert found.narrow is None and found.setpoint is not None
    assert 62 <= found.setpoint.settings[0] <= 68


def test_find_narrow__good_only_between_marks__is_found_there() -> None:
    found = findings("coarse")
    assert found.window is not None
    # marks that miss the window: as many psi lower, so that 62 and 67 become 60 and 70
    factor = replace(study("coarse").factors[0], low=51.0, high=71.0, step=20.0, holds=10.0)
    good = found.goodness.probability_good(factor.marks[:, None])
    blind = replace(found.window, factors=(factor,), probability_good=good)
    narrow = find_narrow((factor,), blind, found.goodness, None)
    assert narrow is not None and narrow.between
    assert 61 <= narrow.settings[0] <= 69
    assert narrow.probability_good >= 0.9 > good.max()


def test_find_narrow__nothing_good_anywhere__nothing() -> None:
    assert findings("short").setpoint is None
    assert findings("short").narrow is None


def test_find_narrow__tight__is_the_factor_whose_hold_costs_most() -> None:
    found = findings("map")
    assert found.window is not None and found.setpoint is not None
    loose = tuple(replace(f, holds=h) for f, h in zip(found.study.factors, (0.8, 0.5), strict=True))
    held = replace(found.setpoint, narrow=True)
    narrow = find_narrow(loose, found.window, found.goodness, held)
    assert narrow is not None and narrow.tight.name == "pressure"
    assert narrow.probability_held < 0.9
    assert [r.factor.name for r in narrow.remedies] == ["pressure"]
    assert narrow.remedies[0].holds < 0.8


def test_find_narrow__setpoint_at_an_end__tells_whether_the_stretch_grows_that_way() -> None:
    found = findings("map")
    assert found.window is not None and found.setpoint is not None
    hot = tuple(replace(f, holds=h) for f, h in zip(found.study.factors, (0.8, 0.5), strict=True))
    for melt, end in ((205.0, "low"), (235.0, "high")):
        held = replace(found.setpoint, settings=(4.0, melt), narrow=True)
        narrow = find_narrow(hot, found.window, found.goodness, held)
        assert narrow is not None
        line = np.column_stack([np.linspace(3, 5, 201), np.full(201, melt)])
        inner = line + np.array([0.0, 7.5 if end == "low" else -7.5])
        grows = (found.goodness.probability_good(line) >= 0.9).sum() > (
            found.goodness.probability_good(inner) >= 0.9
        ).sum()
        assert (("melt_temperature", end) in [(f.name, e) for f, e in narrow.wider]) == grows
