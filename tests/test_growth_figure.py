"""How the window grew: every stage knows its own shots alone, and the last is the study."""

from functools import lru_cache

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.reports.findings import Findings
from shotwindow.reports.growth_figure import (
    STAGES,
    growth_exhibit,
    growth_figure,
    shares_of,
    stages,
)
from shotwindow.reports.theme import MARKS, picture


@lru_cache
def _grown() -> tuple[Findings, ...]:
    return stages(findings("map"))


def test_stages__first_shots_alone__and_the_whole_study_at_the_end() -> None:
    found, grown = findings("map"), _grown()
    assert grown[-1] is found and len(grown) == STAGES
    assert [len(stage.readings.shot) for stage in grown] == [5, 8, 12, 16]  # of 16, evenly
    for stage in grown[:-1]:
        count = len(stage.readings.shot)
        assert stage.readings.shot.tolist() == found.readings.shot[:count].tolist()
        assert all(row.shot <= found.readings.shot[count - 1] for row in stage.rows)
        assert stage.best_settings == found.best_settings


def test_growth_figure__a_map_a_stage_with_its_shots__and_both_shares() -> None:
    grown = _grown()
    figure = growth_figure(grown)
    *maps, shares = figure.axes
    for axes, stage in zip(maps, grown, strict=True):
        drawn = [x for x in axes.lines if (x.get_gid() or "").startswith("shot-")]
        assert len(drawn) == len(stage.readings.shot)
        assert {x.get_marker() for x in drawn} <= {mark.shape for mark in MARKS.values()}
        assert axes.get_title(loc="left") == f"after {len(stage.readings.shot)} shots"
        assert axes.get_xlabel() == "pressure (bar gauge)"
        inside = axes.get_window_extent()
        for sign in drawn:  # on its own map, not on the one beside it
            ((x, _),) = sign.get_transform().transform(sign.get_xydata())
            radius = sign.get_markersize() / 2 * figure.dpi / 72
            assert inside.x0 < x - radius and x + radius < inside.x1
    told = np.array(shares_of(grown))
    for line, column, dash in zip(shares.lines, (1, 2), ("--", "-"), strict=True):
        assert np.asarray(line.get_xdata()) == pytest.approx(told[:, 0])
        assert np.asarray(line.get_ydata()) == pytest.approx(100 * told[:, column])
        assert line.get_linestyle() == dash
    assert shares.get_xlabel() == "shots" and "percent" in shares.get_ylabel()


def test_growth_exhibit__numbers_words_and_one_setting() -> None:
    made = growth_exhibit(findings("map"))
    assert made is not None and len(made.table.rows) == len(_grown())
    assert made.table.rows[-1][0] == "16" and "after 16" in made.alt
    assert growth_exhibit(findings("dial")) is None


def test_growth_figure__same_stages__same_bytes() -> None:
    assert picture(growth_figure(_grown()), "svg") == picture(growth_figure(_grown()), "svg")
