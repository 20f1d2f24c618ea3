"""Effects with either prior: the picture holds what `changes` finds."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.container import ErrorbarContainer

from shotwindow.reports.changes import Interval, changes
from shotwindow.reports.effect_figure import (
    ALONE,
    SHIFT,
    alone,
    effect_exhibit,
    effect_figure,
)
from shotwindow.reports.plain_fit import plain_effect, plain_fit
from shotwindow.reports.theme import picture


def test_effect_figure__panels_rows_and_intervals__those_of_changes() -> None:
    figure = effect_figure(findings("map"))
    assert [axes.get_title(loc="left") for axes in figure.axes] == ["fill", "flash"]
    labels = [label.get_text() for label in figure.axes[0].get_yticklabels()]
    assert labels == ["pressure +0.5 bar", "melt temperature +8 degC"]
    for axes, surface in zip(figure.axes, findings("map").surfaces.each, strict=True):
        told = changes(findings("map"), surface)
        bars = [c for c in axes.containers if isinstance(c, ErrorbarContainer)]
        assert [bar.get_label() for bar in bars] == ["molding prior", "weak prior", ALONE]
        places = np.asarray(bars[0].lines[0].get_xdata(), dtype=float)
        assert places == pytest.approx([change.effect.middle for change in told])
        ends = np.array([path[:, 0] for path in bars[0].lines[2][0].get_segments()])
        assert ends == pytest.approx(np.array([[c.effect.low, c.effect.high] for c in told]))


def test_effect_figure__interval_that_runs_out_of_the_panel__an_arrowhead_on_the_rim(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    wide = (Interval(1.0, -900.0, 900.0), Interval(1.0, 0.9, 900.0))
    monkeypatch.setattr("shotwindow.reports.effect_figure.alone", lambda *_: wide)
    axes = effect_figure(findings("map")).axes[0]
    heads = {
        (line.get_gid(), *(float(np.ravel(at)[0]) for at in line.get_data()))
        for line in axes.lines
        if str(line.get_gid()).startswith("beyond")
    }
    low, high = axes.get_xlim()
    rows = [row + SHIFT for row in range(2)]
    assert heads == {
        ("beyond-<", low, rows[0]), ("beyond->", high, rows[0]), ("beyond->", high, rows[1])
    }  # fmt: skip


def test_effect_figure__units_and_bytes() -> None:
    figure = effect_figure(findings("map"))
    assert figure.axes[0].get_xlabel() == "percent of fill added"
    assert figure.axes[1].get_xlabel().startswith("mm of flash added")
    assert picture(figure, "svg") == picture(effect_figure(findings("map")), "svg")


def test_alone__least_squares_of_the_bare_readings__drawn_beside() -> None:
    found = findings("map")
    for axes, response in zip(effect_figure(findings("map")).axes, ("fill", "flash"), strict=True):
        bare, plain = alone(found, response), plain_fit(found, response)
        assert plain is not None
        wanted = [plain_effect(found, plain, j) for j in range(2)]
        assert list(bare) == wanted and all(effect is not None for effect in bare)
        (bar,) = [
            c
            for c in axes.containers
            if isinstance(c, ErrorbarContainer) and c.get_label() == ALONE
        ]
        drawn = np.asarray(bar.lines[0].get_xdata(), dtype=float)
        assert drawn == pytest.approx([effect.middle for effect in bare if effect is not None])
        low, high = axes.get_xlim()
        assert low < min(0.0, drawn.min()) and drawn.max() < high


def test_alone__grades_and_words__have_no_answer() -> None:
    assert alone(findings("graded"), "flash") == (None, None)
    assert alone(findings("sink"), "other") == (None, None)
    made = effect_exhibit(findings("graded"))
    assert made is not None
    assert {row[-1] for row in made.table.rows if row[0] == "flash"} == {"no answer"}


def test_effect_exhibit__large_study__fitted_once_and_said_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert findings("map").beside is not None
    found = replace(findings("map"))  # whose second fit is still to be made
    monkeypatch.setattr("shotwindow.reports.fitted.LARGE", 10)
    assert found.beside is None
    made = effect_exhibit(found)
    assert made is not None and "`surfaces --prior weak`" in made.said
    assert {row[4] for row in made.table.rows} == {"no answer"}
    assert len(made.table.heads) == len(made.table.rows[0]) == 6
