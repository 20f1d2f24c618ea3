"""The picture of the window, by what it holds: axes, units, areas, lines, shots, setpoint."""

import warnings
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from invented_shots import STUDIES, findings
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.text import Text
from scipy.interpolate import RegularGridInterpolator

from shotwindow.reports.figures import window_figure, write_window
from shotwindow.reports.outcomes import outcomes
from shotwindow.reports.slices import slice_at
from shotwindow.reports.theme import (
    LIKELY_FILL,
    MARKS,
    SIDES,
    SURE_FILL,
    UNTRIED_HATCH,
    WINDOW_LINE,
    picture,
)


@lru_cache
def _drawn(name: str) -> Figure:
    """Return the picture of a study, drawn once for all tests, which only look at it."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return window_figure(findings(name))


def _shapes(name: str) -> list[PathPatch]:
    (axes,) = _drawn(name).axes[:1]
    return [patch for patch in axes.patches if isinstance(patch, PathPatch)]


def _levels(lines: list[PathPatch]) -> list[float]:
    return sorted(float(str(line.get_label()).removeprefix("chance ")) for line in lines)


def _hatches(name: str) -> list[str]:
    return [hatch for shape in _shapes(name) if (hatch := shape.get_hatch())]


def _lines_of(name: str, gid: str) -> list[Any]:
    (axes,) = _drawn(name).axes[:1]
    return [line for line in axes.lines if (line.get_gid() or "").startswith(gid)]


def test_window_map__axes__have_names_units_and_marks() -> None:
    axes = _drawn("map").axes[0]
    assert axes.get_xlabel() == "pressure (bar gauge)"
    assert axes.get_ylabel() == "melt temperature (degC)"
    ticks = sorted({*axes.xaxis.get_ticklocs(), *axes.xaxis.get_ticklocs(minor=True)})
    assert ticks == pytest.approx(findings("map").study.factors[0].marks)
    labels = [label.get_text() for label in axes.get_xticklabels()]
    assert labels[0] == "3" and labels[-1] == "5"


def test_window_map__area_ratio_known__melt_pressure_on_top() -> None:
    figure = _drawn("map")
    figure.draw_without_rendering()
    top = figure.axes[0].child_axes[0]
    assert "melt pressure (bar melt, 12 times the gauge)" in top.get_xlabel()
    assert top.get_xlim() == pytest.approx(tuple(12 * x for x in figure.axes[0].get_xlim()))
    assert not _drawn("avoid").axes[0].child_axes  # nothing told, nothing shown


def test_window_map__melt_pressure_on_top__title_stands_clear_of_it() -> None:
    figure = window_figure(findings("map"))
    figure.draw_without_rendering()
    axes = figure.axes[0]
    (title,) = (t for t in axes.findobj(Text) if t.get_text() == axes.get_title("left"))
    above = axes.child_axes[0].get_tightbbox()
    assert above is not None and title.get_window_extent().y0 > above.y1


def test_window_map__both_sides_and_untried__each_with_its_hatch() -> None:
    found = _hatches("map")
    assert {SIDES["fill"].hatch, SIDES["flash"].hatch, UNTRIED_HATCH} <= set(found)
    texts = {text.get_text() for text in _drawn("map").axes[0].texts}
    assert {"short", "flash"} <= texts


def test_window_map__ruled_out_corner__is_hatched_and_named() -> None:
    texts = {text.get_text() for text in _drawn("avoid").axes[0].texts}
    assert "not tried\nor ruled out" in texts


def test_window_map__other_rejects__have_a_hatch_of_their_own() -> None:
    assert SIDES["other"].hatch in _hatches("sink")
    assert SIDES["other"].hatch not in _hatches("map")


def test_window_map__likely_and_sure__outlines_at_0_5_and_0_9() -> None:
    lines = _drawn_in("map", WINDOW_LINE)
    assert _levels(lines) == [0.5, 0.9]
    widths = {_levels([line])[0]: line.get_linewidth() for line in lines}
    assert widths[0.9] > widths[0.5]
    fills = [shape.get_facecolor() for shape in _shapes("map") if shape.get_fill()]
    assert fills == [to_rgba(color) for color in (LIKELY_FILL, SURE_FILL)]


def test_window_map__edges__have_bands_of_90_percent() -> None:
    for response in ("fill", "flash"):
        assert _levels(_drawn_in("map", SIDES[response].color)) == [0.05, 0.95]


def test_window_map__outline_and_areas__where_the_chances_say() -> None:
    found = findings("map")
    cut = slice_at(found, (0, 1))
    sure = next(line for line in _drawn_in("map", WINDOW_LINE) if _levels([line]) == [0.9])
    on_it = RegularGridInterpolator(cut.places[::-1], cut.in_window, bounds_error=False)
    chances = on_it(np.array(sure.get_path().vertices)[:, ::-1])
    assert np.isfinite(chances).sum() > 20
    assert chances[np.isfinite(chances)] == pytest.approx(0.9, abs=1e-6)
    (filled,) = [s for s in _shapes("map") if s.get_facecolor() == to_rgba(SURE_FILL)]
    places = np.stack(np.meshgrid(*cut.places), axis=-1).reshape(-1, 2)
    inside = filled.get_path().contains_points(places).reshape(cut.in_window.shape)
    assert np.array_equal(inside, np.nan_to_num(cut.in_window) >= 0.9)


def _drawn_in(name: str, color: str) -> list[PathPatch]:
    """Return the lines between chances of a map that have a color."""
    return [
        shape
        for shape in _shapes(name)
        if not shape.get_fill() and not shape.get_hatch()
        if shape.get_edgecolor() == to_rgba(color)
    ]


@pytest.mark.parametrize("name", ["map", "cube", "sink", "dial"])
def test_window_figure__every_shot__is_drawn_once_as_what_it_was(name: str) -> None:
    drawn = _lines_of(name, "shot")
    seen = outcomes(findings(name).readings)
    assert len(drawn) == len(seen)
    for line, outcome in zip(drawn, seen, strict=True):
        assert line.get_marker() == MARKS[str(outcome)].shape


def test_window_figure__repeats__do_not_cover_each_other() -> None:
    figure = _drawn("cube")
    figure.draw_without_rendering()
    shots = [x for x in figure.axes[0].lines if (x.get_gid() or "").startswith("shot")]
    places = np.array(
        [x.get_transform().transform(np.column_stack(x.get_data()))[0] for x in shots]
    )
    apart = np.linalg.norm(places[:, None] - places, axis=-1) + 1e3 * np.eye(len(places))
    assert apart.min() > 5  # pixels at the figure's own resolution


def test_window_map__shots_far_off_in_other_settings__are_small() -> None:
    found = findings("cube")
    sizes = np.array([line.get_markersize() for line in _lines_of("cube", "shot")])
    far = np.abs(found.readings.settings[:, 2] - found.best_settings[2])
    assert sizes[far == far.max()].max() < sizes[far == far.min()].min()


def test_window_map__setpoint_and_ranges__where_they_were_found() -> None:
    found = findings("map")
    assert found.setpoint is not None and found.ranges is not None
    (ring,) = _lines_of("map", "setpoint")
    assert (ring.get_xdata()[0], ring.get_ydata()[0]) == found.setpoint.settings
    axes = _drawn("map").axes[0]
    (box,) = [p for p in axes.patches if isinstance(p, Rectangle)]
    pressure, melt = found.study.factors
    assert box.get_x() == pytest.approx(pressure.marks[found.ranges.low[0]])
    assert box.get_y() + box.get_height() == pytest.approx(melt.marks[found.ranges.high[1]])


def test_window_map__no_setpoint__best_mark_has_another_sign() -> None:
    (cross,) = _lines_of("strict", "best-mark")
    assert cross.get_marker() == "X" and not _lines_of("strict", "setpoint")


def test_window_map__other_settings__stand_in_the_title() -> None:
    title = _drawn("cube").axes[0].get_title(loc="left")
    value = findings("cube").best_settings[2]
    assert title == f"Invented box\nat injection time {value:g} s"


def test_window_figure__one_factor__is_a_ruler() -> None:
    axes = _drawn("dial").axes[0]
    assert axes.get_xlabel() == "pressure (psi gauge)" and len(axes.get_yticks()) == 0


@pytest.mark.parametrize("name", sorted(STUDIES))
def test_window_figure__every_study__no_warning_and_not_empty(name: str) -> None:
    axes = _drawn(name).axes[0]
    assert axes.lines and (axes.collections or axes.patches)


@pytest.mark.parametrize("name", ["map", "dial"])
def test_window_figure__same_findings__same_bytes(name: str) -> None:
    again = window_figure(findings(name))
    for kind in ("svg", "png"):
        assert picture(again, kind) == picture(_drawn(name), kind)


def test_write_window__both_files__are_there(tmp_path: Path) -> None:
    paths = write_window(findings("dial"), tmp_path / "out")
    assert [path.name for path in paths] == ["window.png", "window.svg"]
    assert paths[0].read_bytes().startswith(b"\x89PNG")
    assert paths[1].read_bytes().startswith(b"<?xml")
