"""What the recorded rungs of a ladder say of the range of pressure."""

import pytest

from shotwindow.doe.ladders import Bracket
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study, parse_study
from shotwindow.reports.plan_ladder import ladder_bracket, ladder_words

PRESSURE = '[factors.pressure]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.5\n'
GRADED = '[flash]\nmeasured = "grade"\ngood = 1\n'


def _study(more: str = "") -> Study:
    return parse_study(more + PRESSURE)


def _rung(shot: int, pressure: float, fill: float, flash: float, kind: str = "ladder") -> Row:
    return Row(shot, "1", "", 1, kind, (pressure,), (None,), (fill,), (flash,))


@pytest.mark.parametrize("more", ["", GRADED])
def test_ladder_bracket__both_edges_seen__from_last_short_to_first_flashed(more: str) -> None:
    # flash that is seen and within the limit is no edge
    flash = (0, 0, 0, 1, 2) if more else (0.0, 0.0, 0.06, 0.08, 0.4)
    fills = (80.0, 94.0, 100.0, 100.0, 100.0)
    rows = [_rung(i, 3 + i / 2, fills[i], flash[i]) for i in range(5)]
    assert ladder_bracket(_study(more), rows) == Bracket(3.5, 5.0, True, True)


def test_ladder_bracket__no_rungs__none() -> None:
    assert ladder_bracket(_study(), [_rung(1, 3.0, 90.0, 0.0, "optimal")]) is None
    assert ladder_bracket(_study(), []) is None


def test_ladder_words__edges_never_seen__says_which_way_to_move() -> None:
    found = ladder_bracket(_study(), [_rung(i, 3 + i / 2, 100.0, 0.0) for i in range(3)])
    assert found is not None
    words = ladder_words(_study(), found)
    assert "move low further down" in words and "move high further up" in words
