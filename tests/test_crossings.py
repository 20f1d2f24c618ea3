"""Where a response passes its limit along a setting: against the line that it is read from."""

from math import inf

import numpy as np
import pytest
from invented_shots import findings, flat

from shotwindow.models.scales import warp
from shotwindow.reports.crossings import crossing


def test_crossing__straight_surface__where_it_meets_the_limit() -> None:
    found = findings("map")
    place = crossing(found, flat(found.surfaces.fill, one=-0.05, pressure=0.1), 0)
    at = warp(found.study.factors, np.array([[place.middle, 220.0]]))[0, 0]
    assert at == pytest.approx(0.5, abs=0.01) and place.rising
    assert place.low == place.high == place.middle


def test_crossing__falling_surface__beyond_the_limit_up_to_that_place() -> None:
    found = findings("map")
    place = crossing(found, flat(found.surfaces.fill, one=-0.05, pressure=-0.1), 0)
    at = warp(found.study.factors, np.array([[place.middle, 220.0]]))[0, 0]
    assert at == pytest.approx(-0.5, abs=0.01) and not place.rising


@pytest.mark.parametrize("slope", [0.1, -0.1])
def test_crossing__never_met__all_along_or_nowhere(slope: float) -> None:
    found = findings("map")
    high = crossing(found, flat(found.surfaces.fill, one=1.0, pressure=slope), 0)
    low = crossing(found, flat(found.surfaces.fill, one=-1.0, pressure=slope), 0)
    assert {abs(v) for v in (high.low, high.middle, high.high, low.low, low.middle)} == {inf}
    assert high.middle == high.everywhere and low.middle != low.everywhere
