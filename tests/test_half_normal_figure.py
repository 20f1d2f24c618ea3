"""Effects on half-normal paper: where they lie, which stand out, and the margins drawn."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.lines import Line2D

from shotwindow.models.effects import half_normal, lenth
from shotwindow.reports.half_normal_figure import (
    half_normal_exhibit,
    half_normal_figure,
    slow_effects,
    spreads,
)
from shotwindow.reports.plain_fit import plain_fit
from shotwindow.reports.textbook_effects import Spread
from shotwindow.reports.theme import picture


def _signs(response: str) -> list[Line2D]:
    found = findings("map")
    panel = list(spreads(found)).index(response)
    lines = half_normal_figure(found, spreads(found)).axes[panel].lines
    return [line for line in lines if (line.get_gid() or "").startswith("effect")]


def test_half_normal_figure__signs__sizes_against_scores() -> None:
    for response, spread in spreads(findings("map")).items():
        places = np.array([np.column_stack(line.get_data())[0] for line in _signs(response)])
        assert places[:, 0] == pytest.approx(np.abs(spread.size))
        order, score = half_normal(spread.size)
        assert places[:, 1] == pytest.approx(score) and (np.diff(order) > 0).all()


def test_half_normal_figure__long_names__stay_in_their_panels(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    long = property(lambda self: ("melt temperature x pack pressure",) * len(self.size))
    monkeypatch.setattr(Spread, "names", long)
    found = findings("map")
    even = {  # signs everywhere along the axis
        response: replace(each, size=np.linspace(1, 2.5, len(each.size)) * each.margin.margin)
        for response, each in spreads(found).items()
    }
    figure = half_normal_figure(found, even)
    canvas = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    for axes in figure.axes:
        frame = axes.get_window_extent()
        ends = [(box.x0, box.x1) for t in axes.texts for box in [t.get_window_extent(canvas)]]
        assert ends and all(frame.x0 < low and high < frame.x1 for low, high in ends)


def test_half_normal_figure__scores_as_close_as_names_are_high__all_named_apart() -> None:
    found = findings("map")
    close = {
        response: replace(
            each,
            size=np.linspace(2, 4, len(each.size)) * each.margin.simultaneous,
            score=np.linspace(2.5 - 0.119 * (len(each.size) - 1), 2.5, len(each.size)),
        )
        for response, each in spreads(found).items()
    }
    figure = half_normal_figure(found, close)
    canvas = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    for axes, each in zip(figure.axes, close.values(), strict=True):
        assert {text.get_text() for text in axes.texts} == set(each.names)
        boxes = sorted((t.get_window_extent(canvas) for t in axes.texts), key=lambda box: box.y0)
        letters = [0.8 * (box.y1 - box.y0) for box in boxes]  # the rest is room for descenders
        for low, high, height in zip(boxes, boxes[1:], letters, strict=False):
            assert high.y0 - low.y0 > height


def test_effect_spread__balanced_plan__effects_from_low_to_high() -> None:
    """By hand: twice the mean rise per deviation of the column, which is its own scale."""
    found = findings("map")
    plain, spread = plain_fit(found, "flash"), spreads(found)["flash"]
    assert plain is not None
    pressure = spread.names.index("pressure")
    x, y = plain.coded[:, 0], plain.fit.response
    slope = ((x - x.mean()) * y).sum() / ((x - x.mean()) ** 2).sum()
    # freed of the constant alone; scaled as a column of +1 and -1 would be
    assert spread.size[pressure] == pytest.approx(2 * slope * x.std(), rel=1e-9)


def test_half_normal_figure__margins__those_of_lenth() -> None:
    found = findings("map")
    figure = half_normal_figure(found, spreads(found))
    assert [axes.get_title(loc="left") for axes in figure.axes] == ["fill", "flash"]
    for axes, spread in zip(figure.axes, spreads(found).values(), strict=True):
        upright = [x for x in axes.lines if np.array_equal(np.asarray(x.get_ydata()), [0, 1])]
        margin = lenth(spread.size)
        drawn = [np.asarray(line.get_xdata(), dtype=float)[0] for line in upright]
        assert drawn == pytest.approx([margin.margin, margin.simultaneous])
        assert axes.get_ylabel() == "half-normal score"
    assert figure.axes[1].get_xlabel() == "size of the effect from low to high (mm)"


def test_half_normal_figure__slow_settings_and_those_that_stand_out__signs_of_their_own() -> None:
    found = findings("map")
    for response, spread in spreads(found).items():
        slow = slow_effects(found, spread)
        assert [name for name, s in zip(spread.names, slow, strict=True) if s] == [
            name for name in spread.names if "pressure" not in name
        ]
        for sign, size, is_slow in zip(_signs(response), spread.size, slow, strict=True):
            assert sign.get_marker() == ("s" if is_slow else "o")
            beyond = abs(size) > spread.margin.simultaneous
            assert (sign.get_fillstyle() == "full") == beyond


def test_half_normal_figure__the_largest__are_named() -> None:
    found = findings("map")
    for axes, spread in zip(
        half_normal_figure(found, spreads(found)).axes, spreads(found).values(), strict=True
    ):
        assert spread.names[-1] in {text.get_text() for text in axes.texts}


def test_half_normal_exhibit__table_words_and_studies_without_numbers() -> None:
    made, told = half_normal_exhibit(findings("map")), spreads(findings("map"))
    assert made is not None
    assert len(made.table.rows) == sum(len(spread.size) for spread in told.values())
    assert made.table.rows[0][1] == told["fill"].names[-1]
    assert list(spreads(findings("graded"))) == ["fill"]  # a grade has no half-normal paper
    assert half_normal_exhibit(findings("dial")) is None  # too few effects


def test_half_normal_figure__same_findings__same_bytes() -> None:
    found = findings("map")
    one, two = (half_normal_figure(found, spreads(found)) for _ in range(2))
    assert picture(one, "svg") == picture(two, "svg")
