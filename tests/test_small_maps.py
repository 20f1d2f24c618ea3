"""Small maps: the same axes all through, the setpoint framed, and the numbers of what is drawn."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.colors import to_rgba
from matplotlib.patches import PathPatch

from shotwindow.reports.alt_text import alt_text
from shotwindow.reports.small_maps import (
    COUNT,
    all_cuts,
    moved_cuts,
    moved_values,
    other_factors,
    small_maps,
    small_maps_exhibit,
)
from shotwindow.reports.theme import SIDES, SURE_FILL, picture


def test_moved_values__marks_from_end_to_end__the_setpoint_among_them() -> None:
    found = findings("cube")
    assert other_factors(found) == (2,)
    values = moved_values(found, 2)
    assert values[0] == 4.0 and values[-1] == 10.0 and found.best_settings[2] in values
    assert set(values) <= set(found.study.factors[2].marks.tolist())
    assert list(values) == sorted(set(values))


def test_moved_cuts__one_setting_moved__the_others_at_the_setpoint() -> None:
    found = findings("cube")
    for cut, value in zip(moved_cuts(found, 2), moved_values(found, 2), strict=True):
        assert cut.at == (*found.best_settings[:2], value)
    place = moved_cuts(found, 2)[0]
    there = np.array([[place.places[0][12], place.places[1][9], 4.0]])
    wanted = (found.goodness.shares(there) >= found.study.good_from).mean()
    assert place.in_window[9, 12] == pytest.approx(float(wanted))


def test_small_maps__a_map_a_value__same_axes_titles_and_a_frame() -> None:
    found = findings("cube")
    figure, values = small_maps(found, all_cuts(found)), moved_values(found, 2)
    assert len(figure.axes) == len(values)
    titles = [axes.get_title(loc="left") for axes in figure.axes]
    assert titles[0].startswith("injection time\n")
    assert [title.split("\n")[-1] for title in titles] == [f"{v:g} s" for v in values]
    frames = [axes.spines["left"].get_linewidth() for axes in figure.axes]
    assert frames.index(max(frames)) == values.index(found.best_settings[2])
    assert len({(*axes.get_xlim(), *axes.get_ylim()) for axes in figure.axes}) == 1
    assert figure.axes[0].get_xlabel() == "pressure (bar gauge)"
    assert figure.axes[0].get_ylabel() == "melt temperature (degC)"


def test_small_maps__areas__hatches_and_fill_of_the_large_map() -> None:
    found = findings("cube")
    hatches: set[str] = set()
    fills = []
    for axes in small_maps(found, all_cuts(found)).axes:
        shapes = [patch for patch in axes.patches if isinstance(patch, PathPatch)]
        hatches |= {hatch for shape in shapes if (hatch := shape.get_hatch())}
        fills += [shape.get_facecolor() for shape in shapes if shape.get_fill()]
    assert {SIDES["fill"].hatch, SIDES["flash"].hatch} <= hatches
    assert to_rgba(SURE_FILL) in fills


def test_small_maps_exhibit__numbers__those_of_the_maps() -> None:
    found = findings("cube")
    made = small_maps_exhibit(found)
    assert made is not None and "a row for injection time" in made.alt
    for row, cut in zip(made.table.rows, moved_cuts(found, 2), strict=True):
        seen = cut.in_window[cut.answered]
        assert cut.in_window.shape == (COUNT, COUNT)
        assert float(row[2].split()[0]) == pytest.approx(100 * (seen >= 0.5).mean(), rel=0.05)
        assert row[:2] == ("injection time", f"{cut.at[2]:g} s")


def test_small_maps_exhibit__framed_map__share_as_said_of_the_large_one() -> None:
    found = findings("cube")
    made = small_maps_exhibit(found)
    assert made is not None
    place = moved_values(found, 2).index(found.best_settings[2])
    likely, sure = made.table.rows[place][2:4]
    assert f"The likely window covers {likely} of it" in alt_text(found)
    assert f"The sure window covers {sure} of it" in alt_text(found)


def test_small_maps_exhibit__good_nowhere__is_said() -> None:
    found = findings("cube")
    strict = replace(found, study=replace(found.study, good_from=1.1))
    made = small_maps_exhibit(strict)
    assert made is not None and "There is no likely window on any of them." in made.alt


def test_small_maps_exhibit__nothing_else_to_move__none() -> None:
    assert small_maps_exhibit(findings("map")) is None
    assert small_maps_exhibit(replace(findings("cube"), window=None, setpoint=None)) is None


def test_small_maps__same_findings__same_bytes() -> None:
    found = findings("cube")
    one, two = (picture(small_maps(found, all_cuts(found)), "svg") for _ in range(2))
    assert one == two
