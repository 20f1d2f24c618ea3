"""Over which stretch a setting is claimed to do something: only where either prior agrees."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings, flat

from shotwindow.models.scales import warp
from shotwindow.models.surface import Surface
from shotwindow.reports.findings import Findings
from shotwindow.reports.stretches import stretches


def _with(found: Findings, own: Surface, beside: Surface) -> Findings:
    """Return findings with these fill surfaces by the molding prior and by the weak one."""
    made = replace(found, surfaces=replace(found.surfaces, fill=own))
    assert found.beside is not None  # a small study
    made.__dict__["beside"] = replace(found.beside, fill=beside)
    return made


def test_stretches__same_everywhere__the_whole_range_with_its_least_and_largest_step() -> None:
    found = findings("map")
    fill = flat(found.surfaces.fill, pressure=0.1)
    (told,) = stretches(_with(found, fill, fill), "fill", 0)
    assert (told.low, told.high, told.way) == (3.0, 5.0, 1)
    ends = warp(found.study.factors, np.array([[3.0, 220], [3.5, 220], [4.5, 220], [5.0, 220]]))
    steps = 100 * np.expm1(0.1 * np.diff(ends[:, 0])[[0, 2]])
    assert (told.effect.high, told.effect.low) == pytest.approx(tuple(steps))


def test_stretches__clear_by_one_prior_only__cannot_tell() -> None:
    found = findings("map")
    up, down = (flat(found.surfaces.fill, pressure=slope) for slope in (0.1, -0.02))
    (told,) = stretches(_with(found, up, down), "fill", 0)
    assert told.way == 0 and told.effect.low < 0 < told.effect.high


def test_stretches__bent_surface__adds_then_cannot_tell() -> None:
    found = findings("map")
    fill = flat(found.surfaces.fill, pressure=0.1)
    rows = fill.coefficients.copy()
    rows[:, fill.terms.names.index("pressure^2")] = -0.06
    rows[:, 1] += 0.02 * np.random.default_rng(1).standard_normal(len(rows))
    bent = replace(fill, coefficients=rows)
    first, last = stretches(_with(found, bent, bent), "fill", 0)
    assert (first.way, last.way) == (1, 0)
    assert first.low == 3.0 and first.high == last.low < last.high == 5.0
    assert first.effect.low > 0 and last.effect.low < 0 < last.effect.high


def test_stretches__all_parts_full__the_shots_cannot_tell() -> None:
    """The molding prior alone nearly gives a direction; no shot does."""
    (told,) = stretches(findings("full"), "fill", 0)
    assert told.way == 0


def test_stretches__kept_at_one_value__none() -> None:
    found = findings("map")
    region = replace(found.region, low=np.array([4.0, 205.0]), high=np.array([4.0, 235.0]))
    assert stretches(replace(found, region=region), "fill", 0) == ()
