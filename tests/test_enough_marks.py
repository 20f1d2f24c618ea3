"""Window and setpoint over few of many marks, against those over all of them."""

from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from invented_shots import findings
from made_surfaces import surface, surfaces
from numpy.typing import NDArray

from shotwindow.doe.readings import Readings
from shotwindow.doe.study import Study, parse_study
from shotwindow.models import enough_marks, thinning
from shotwindow.models.enough_marks import find_both, left_out
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.setpoint import SAME, find_setpoint
from shotwindow.models.thinning import LEAST_SWAY, sways, thinned
from shotwindow.models.window import find_window, settings_at, tried_region

#: Three settings of seven marks, the first of which does most.
TEXT = "".join(
    f'[factors.{name}]\nunit = "u"\nlow = 1\nhigh = 7\nstep = 1\nlimits = [0, 8]\nholds = 0.25\n'
    for name in ("first", "second", "third")
)


def _study() -> Study:
    return parse_study(TEXT)


def _shot(study: Study) -> Readings:
    """Return readings of shots at every corner of the ranges."""
    corners = tuple(replace(f, step=f.high - f.low) for f in study.factors)
    return replace(findings("cube").readings, settings=settings_at(corners, np.arange(8)))


def _made(
    study: Study,
    at: float,
    width: float,
    scatter: float,
    slope: tuple[float, ...] = (0.6, 0.23, 0.17),
) -> Goodness:
    """Return surfaces with two edges that run askew to the marks, ``width`` to either side."""
    fill = surface("fill", study.factors, [width - at, *slope], spread=0.002, scatter=scatter)
    flash = surface("flash", study.factors, [-width - at, *slope], spread=0.002, scatter=scatter)
    return goodness(surfaces(fill, flash))


def test_sways__straight_lines__in_parts_of_the_strongest_and_never_nothing() -> None:
    study = _study()
    fill = surface("fill", study.factors, [0.0, 0.5, 0.1, 0.0], spread=0.0)
    flash = surface("flash", study.factors, [0.0, 0.4, -0.3, 0.0], spread=0.0)
    assert sways(surfaces(fill, flash)).tolist() == pytest.approx([1.0, 0.6, LEAST_SWAY])


def test_thinned__strongest_first_in_the_list__keeps_its_marks() -> None:
    study = _study()
    few = thinned(study, 112, sway=np.array([1.0, 0.5, 0.5]))
    assert [factor.count for factor in few.factors] == [7, 4, 4]
    assert [factor.count for factor in thinned(study, 112).factors] == [4, 4, 7]
    again = thinned(study, 112, sway=np.array([1.0, 0.5, 0.5]), whole={2})
    assert [factor.count for factor in again.factors] == [7, 4, 7]


def test_thinned__five_factors__fewer_marks_are_enough_than_of_four(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(thinning, "MOST_MARKS", 7**4)
    monkeypatch.setattr(thinning, "MOST_OF_MANY", 7**3)
    factors = _study().factors
    more = tuple(replace(factors[0], name=name) for name in ("fourth", "fifth"))
    four = replace(_study(), factors=(*factors, more[0]))
    assert thinned(four) == four
    five = thinned(replace(four, factors=(*factors, *more)))
    assert np.prod([factor.count for factor in five.factors]) <= 7**3


@pytest.mark.parametrize("at", [-0.5, -0.1, 0.3])
def test_find_window__all_marks_of_the_strongest__shares_as_of_all_marks(at: float) -> None:
    study, good = _study(), _made(_study(), at, 0.2, 0.05, (0.6, 0.07, 0.05))
    whole = find_window(study, _shot(study), good)
    few, blind = (
        find_window(thinned(study, 112, sway=sway), _shot(study), good)
        for sway in (sways(good.surfaces), None)
    )
    assert few.allowed.shape == (7, 4, 4) and blind.allowed.shape == (4, 4, 7)
    assert few.share_likely == pytest.approx(whole.share_likely, abs=0.01)
    assert few.share_sure == pytest.approx(whole.share_sure, abs=0.01)
    assert abs(blind.share_likely - whole.share_likely) > 0.015


def test_find_both__windows_thin_and_wide__setpoint_held_as_well_as_over_all_marks(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(thinning, "MOST_MARKS", 112)
    study, again, gained = _study(), 0, 0
    for at, width, scatter in product((-0.5, -0.1, 0.3), (0.08, 0.12, 0.2), (0.02, 0.05)):
        good, seen = _made(study, at, width, scatter), _shot(study)
        best = find_setpoint(find_window(study, seen, good), good)
        first = find_window(thinned(study, sway=sways(good.surfaces)), seen, good)
        alone = find_setpoint(first, good)
        window, found = find_both(study, seen, good, tried_region(seen))
        held, highest, before = (p.probability_held if p else 0.0 for p in (found, best, alone))
        assert held >= highest - SAME and held >= before
        assert found is None or found.settings == tuple(
            factor.marks[m] for factor, m in zip(window.factors, found.mark, strict=True)
        )
        again += window.allowed.size > first.allowed.size
        gained += held > before + SAME
    assert 0 < gained == again < 18  # only where that helped


def test_find_both__few_marks__all_of_them_once(monkeypatch: pytest.MonkeyPatch) -> None:
    study, seen = _study(), _shot(_study())
    good = _made(study, -0.1, 0.08, 0.02)
    monkeypatch.setattr(enough_marks, "HeldSearch", lambda *_: pytest.fail("no mark was left out"))
    window, found = find_both(study, seen, good, tried_region(seen))
    assert window.allowed.shape == (7, 7, 7)
    assert found == find_setpoint(window, good)


def test_left_out__no_good_mark_was_kept__as_many_as_it_takes_to_find_one() -> None:
    study, seen = _study(), _shot(_study())
    for at in (-0.3, 0.1):
        good = _made(study, at, 0.05, 0.02)
        region = tried_region(seen)
        few = find_window(thinned(study, 27), seen, good)
        assert find_setpoint(few, good) is None
        whole = left_out(study, few, good, region, None)
        found = find_setpoint(find_window(thinned(study, 27, whole=whole), seen, good), good)
        assert whole and found is not None and found.probability_good >= study.good_from


def test_left_out__more_marks_than_can_be_looked_at__none(monkeypatch: pytest.MonkeyPatch) -> None:
    study, seen = _study(), _shot(_study())
    good = _made(study, -0.1, 0.12, 0.02)
    few = find_window(thinned(study, 112, sway=sways(good.surfaces)), seen, good)
    point = find_setpoint(few, good)
    assert left_out(study, few, good, tried_region(seen), point) == {1}
    monkeypatch.setattr(enough_marks, "MOST_MARKS", 7 * 7 * 4 - 1)
    assert left_out(study, few, good, tried_region(seen), point) == frozenset()


def test_left_out__marks_that_may_not_be_set_or_were_not_tried__are_not_asked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    study, seen = _study(), _shot(_study())
    good = _made(study, -0.1, 0.12, 0.02)
    few = find_window(thinned(study, 112, sway=sways(good.surfaces)), seen, good)
    point = find_setpoint(few, good)
    ruled = replace(study, avoid=({"second": (">", 5.5)},))
    region = replace(tried_region(seen), low=np.array([1.0, 1.0, 1.5]))
    best, asked = enough_marks._best, []

    def spied(settings: NDArray[np.float64], *others: Any, held: bool) -> Any:
        asked.append(settings)
        return best(settings, *others, held=held)

    monkeypatch.setattr(enough_marks, "_best", spied)
    left_out(ruled, few, good, region, point)
    settings = np.concatenate(asked)
    assert settings[:, 1].max() == 5.0 and settings[:, 2].min() == 2.0
