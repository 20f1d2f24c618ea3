"""How well settings were held: enough readings, and the worse of what is seen and stated."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import recorded, study

from shotwindow.doe.rows import Row
from shotwindow.models.holding import ENOUGH, as_held, find_holdings
from shotwindow.reports.findings import find
from shotwindow.reports.notes import notes


def _read(sd: float, offset: float = 0.0, count: int = 100) -> tuple[Row, ...]:
    """Rows of "dial" with actual pressures, in turn above and below the planned one."""
    rows, left = [], count
    for i, row in enumerate(recorded("dial")):
        seen = row.settings[0] + offset + (sd if i % 2 else -sd)
        keep = row.is_fitted and left > 0
        left -= keep
        rows.append(replace(row, actual=(seen if keep else None,)))
    return tuple(rows)


def test_find_holdings__offset_and_two_spreads_together() -> None:
    factors = study("dial").factors
    (found,) = find_holdings(factors, _read(0.3, 0.2))
    spread = np.tile([0.3, -0.3], found.shots // 2).std(ddof=1)
    assert found.offset == pytest.approx(0.2) and found.sd == pytest.approx(spread)
    assert found.holds == pytest.approx(0.2 + 2 * spread)
    assert found.stated == 0.5 and found.used == found.holds


def test_as_held__better_than_stated__the_stated_one_stays() -> None:
    factors = study("dial").factors
    held = as_held(factors, find_holdings(factors, _read(0.01)))
    assert held[0].holds == factors[0].holds


def test_find_holdings__too_few_readings__none() -> None:
    factors = study("dial").factors
    assert find_holdings(factors, _read(0.3, count=ENOUGH - 1)) == ()
    assert len(find_holdings(factors, _read(0.3, count=ENOUGH))) == 1


def test_find__badly_held__worst_chance_falls_and_is_said() -> None:
    made = study("dial")
    plain, worse = find(made, recorded("dial")), find(made, _read(1.0, count=ENOUGH))
    assert plain.setpoint is not None and worse.setpoint is not None
    assert worse.study.factors[0].holds > made.factors[0].holds
    assert worse.setpoint.probability_held < plain.setpoint.probability_held
    said = " ".join(notes(worse))
    assert "by 8 actual readings" in said and "in place of the +/-0.5 of study.toml" in said
