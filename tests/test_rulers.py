"""A factor as a dial: its marks, the good stretch, both edges, the setpoint."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba
from matplotlib.patches import Rectangle

from shotwindow.models.margins import Edge
from shotwindow.reports.findings import Findings
from shotwindow.reports.rulers import draw_ruler, set_marks, stretches
from shotwindow.reports.theme import LIKELY_FILL, SIDES, SURE_FILL, new_figure, themed


def _ruler(found: Findings, j: int) -> Axes:
    with themed():
        axes = new_figure(6, 2).subplots()
        draw_ruler(axes, found, j)
    return axes


def _block(axes: Axes, fill: str) -> Rectangle:
    found = [p for p in axes.patches if p.get_facecolor() == to_rgba(fill)]
    assert len(found) == 1 and isinstance(found[0], Rectangle)
    return found[0]


def test_draw_ruler__every_mark__has_a_tick() -> None:
    axes = _ruler(findings("dial"), 0)
    ticks = {*axes.xaxis.get_ticklocs(), *axes.xaxis.get_ticklocs(minor=True)}
    assert sorted(ticks) == pytest.approx(np.arange(50, 76))
    assert axes.get_xlabel() == "pressure (psi gauge)"


def test_draw_ruler__sure_stretch__holds_the_sure_marks_and_lies_in_the_likely() -> None:
    found = findings("dial")
    assert found.window is not None
    axes = _ruler(found, 0)
    sure, likely = _block(axes, SURE_FILL), _block(axes, LIKELY_FILL)
    marks = found.study.factors[0].marks[found.window.sure]
    assert sure.get_x() <= marks.min() and sure.get_x() + sure.get_width() >= marks.max()
    assert marks.min() - sure.get_x() < 1 and likely.get_width() > sure.get_width()


def test_draw_ruler__short_below_flash_above__each_hatched() -> None:
    axes = _ruler(findings("map"), 0)
    by_hatch = {p.get_hatch(): p for p in axes.patches if p.get_hatch()}
    short, flash = by_hatch[SIDES["fill"].hatch], by_hatch[SIDES["flash"].hatch]
    assert isinstance(short, Rectangle) and isinstance(flash, Rectangle)
    assert short.get_x() < flash.get_x()


def test_draw_ruler__edges__bands_and_name_where_they_lie() -> None:
    found = findings("map")
    edge = Edge("pressure", "low", "fill", 3.52, (3.45, 3.6), (3.3, 3.7))
    axes = _ruler(replace(found, edges=(edge,)), 0)
    lines = [np.asarray(line.get_xdata(), dtype=float).round(6).tolist() for line in axes.lines]
    spans = {(places[0], places[-1]) for places in lines}
    assert {(3.45, 3.6), (3.3, 3.7)} <= spans
    assert any(text.get_text() == "short 3.52" for text in axes.texts)


def test_draw_ruler__open_edge__runs_into_an_arrow() -> None:
    found = findings("map")
    edge = Edge("pressure", "high", None, None, (None, None), (4.9, None))
    axes = _ruler(replace(found, edges=(edge,)), 0)
    assert any(line.get_marker() == ">" for line in axes.lines)


@pytest.mark.parametrize("name", ["dial", "strict"])
def test_draw_ruler__setpoint_or_best_mark__is_named(name: str) -> None:
    found = findings(name)
    word = "setpoint" if found.setpoint else "best mark"
    texts = [text.get_text() for text in _ruler(found, 0).texts]
    assert any(text.startswith(f"{word} {found.best_settings[0]:g}: ") for text in texts)


def test_stretches__ends_and_nothing() -> None:
    assert stretches(np.array([], dtype=bool)) == []
    assert stretches(np.array([False, True, True])) == [(1, 2)]


def test_set_marks__numbers__are_round_and_few() -> None:
    with themed():
        axes = new_figure(6, 2).subplots()
    factor = replace(findings("dial").study.factors[0], low=50.0, high=75.0, step=1.0)
    set_marks(axes.xaxis, factor)
    assert [label.get_text() for label in axes.get_xticklabels()] == [
        "50", "55", "60", "65", "70", "75",
    ]  # fmt: skip
    odd = replace(factor, low=0.05, high=0.95, step=0.3)  # no mark at a multiple of the step
    set_marks(axes.xaxis, odd)
    assert [label.get_text() for label in axes.get_xticklabels()] == [
        "0.05",
        "0.35",
        "0.65",
        "0.95",
    ]
