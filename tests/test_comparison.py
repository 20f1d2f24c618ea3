"""Windows of made-up studies whose difference is known."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from made_surfaces import surface, surfaces

from shotwindow.doe.common_factors import match_factors
from shotwindow.doe.errors import Unanswerable
from shotwindow.models.comparison import Comparison, compare_windows
from shotwindow.models.goodness import goodness
from shotwindow.models.lots import of_one_lot
from shotwindow.models.shifts import Side
from shotwindow.models.surface import Surfaces

FOUND = findings("map")


def _side(fill: float, *, spread: float = 0.005, flash: float = 0.2) -> Side:
    factors = FOUND.study.factors
    made = surfaces(
        surface("fill", factors, [fill, 0.1, 0.0], spread=spread),
        surface("flash", factors, [flash - 0.316, 0.1, 0.0], spread=spread),
    )
    return Side(FOUND.study, goodness(made), FOUND.region)


def _compare(a: Side, b: Side) -> Comparison:
    return compare_windows(a, b, match_factors(a.study, b.study))


def test_compare__same_study_twice__no_difference() -> None:
    found = _compare(_side(0.03), _side(0.03))
    assert found.difference.low < 0 < found.difference.high
    # of 200 pairs of draws about half are larger: four standard errors
    assert found.chance_b_larger == pytest.approx(0.5, abs=4 * 0.5 / 200**0.5)
    assert found.sure_only_a == found.sure_only_b == 0
    assert found.common.a == found.common.b


def test_compare__fuller_mold__short_edge_lower_by_as_much() -> None:
    found = _compare(_side(0.0, spread=0.001), _side(0.03, spread=0.001))
    edges = {(s.factor, s.side): s for s in found.shifts}
    low = edges["pressure", "low"]
    # 0.1 for half of the range, which is logarithmic: 0.03 is 15 % of ln(5/3) = 8 % of pressure
    assert low.moved is not None and low.chance_higher < 0.01
    ratio = np.exp(-0.15 * np.log(5 / 3))
    place = found.common.a[0]
    assert place > 3.9
    edge_a = 15**0.5 * np.exp(np.log(5 / 3) / 2 * (1.3 * 0.02 / 0.1))  # where nine of ten are full
    assert low.moved.median == pytest.approx(edge_a * (ratio - 1), abs=0.03)
    assert found.only_b.median > 0.1 and found.only_a.median < 0.01
    assert found.chance_b_larger > 0.99
    assert 0 < found.sure_only_b <= found.only_b.median
    parts = (found.both.median, found.only_a.median, found.only_b.median)
    assert sum(parts) == pytest.approx(
        found.share_a.median + found.share_b.median - found.both.median, abs=0.02
    )


def test_compare__nothing_tried_in_both__unanswerable() -> None:
    a = _side(0.0)
    region = replace(a.region, low=a.region.low + 100, high=a.region.high + 100)
    with pytest.raises(Unanswerable, match="tried in both"):
        _compare(a, replace(_side(0.0), region=region))


def test_compare__common_setting__good_in_both_as_each_says() -> None:
    a, b = _side(0.0), _side(0.06, flash=0.25)
    found = _compare(a, b)
    for side, held in ((a, found.common.held_a), (b, found.common.held_b)):
        good = side.goodness.probability_good(np.array([found.common.a]))[0]
        assert held <= good


def _two_lots(spread: float) -> Surfaces:
    """Return surfaces on which the second lot fills more by 0.03, whatever the draw."""
    factors = FOUND.study.factors
    made = surfaces(
        surface("fill", factors, [0.0, 0.1, 0.0], spread=spread),
        surface("flash", factors, [-0.116, 0.1, 0.0], spread=spread),
    )
    level = made.fill.coefficients * [1.0, 0.0, 0.0] + [0.0, 0.1, 0.0]  # only the level is open
    fill = replace(made.fill, coefficients=level, lot=np.tile([0.0, 0.03], (200, 1)))
    flash = replace(made.flash, lot=np.zeros((200, 2)))
    return replace(made, fill=fill, flash=flash, lots=("L1", "L2"))


def test_compare__two_lots_of_one_fit__shift_known_though_the_edge_is_not() -> None:
    both = _two_lots(spread=0.015)
    one, other = (
        Side(FOUND.study, goodness(of_one_lot(both, lot)), FOUND.region) for lot in both.lots
    )
    match = match_factors(FOUND.study, FOUND.study)
    together = compare_windows(one, other, match, one_fit=True)
    apart = compare_windows(one, other, match)
    edge, loose = (
        next(s.moved for s in found.shifts if (s.factor, s.side) == ("pressure", "low"))
        for found in (together, apart)
    )
    assert edge is not None and loose is not None
    # every draw moves its edge by 8 % of the pressure (see above), wherever it lies
    assert edge.high < 0 and edge.high - edge.low < 0.4 * (loose.high - loose.low)
    assert edge.median == pytest.approx(together.common.a[0] * -0.074, abs=0.06)
    assert together.only_a.high == 0.0 and together.chance_b_larger > 0.99
    assert together.both.median == pytest.approx(together.share_a.median, abs=1e-9)


def test_of_one_lot__one_never_shot__refused() -> None:
    with pytest.raises(ValueError, match="L3"):
        of_one_lot(_two_lots(0.01), "L3")
