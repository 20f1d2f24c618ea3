"""Fill by cavity: the later cavities were invented to fill less, and the picture says how much."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from shotwindow.doe.study import read_study
from shotwindow.reports.cavity_figure import (
    balance,
    cavity_exhibit,
    cavity_figure,
    cavity_fills,
    places_of,
)
from shotwindow.reports.theme import SIDES, picture


def test_cavity_fills__offsets_of_the_draws__beside_their_mean() -> None:
    found = findings("cube")
    offsets = np.array([[0.03, -0.01], [0.02, -0.02], [0.01, -0.03]])
    fill = replace(found.surfaces.fill, cavity=offsets)
    one, two = cavity_fills(replace(found, surfaces=replace(found.surfaces, fill=fill)))
    # by hand: every draw has its two cavities 0.04 apart, so 0.02 on either side of their mean
    assert one.ahead.middle == pytest.approx(100 * np.expm1(0.02))
    ends = (two.ahead.low, two.ahead.high)
    assert ends == pytest.approx([100 * np.expm1(-0.02)] * 2)
    assert (one.worst, two.worst) == (0.0, 1.0)


def test_cavity_fills__short_shots__as_recorded() -> None:
    found = findings("cube")
    fitted = [row for row in found.rows if row.kind != "warm-up"]
    for told in cavity_fills(found):
        values = [row.fill[told.cavity - 1] for row in fitted]
        assert told.read == len(values)
        assert told.short == sum(isinstance(v, float) and v < 100 for v in values)


def _tiles(figure: Figure, kind: str) -> dict[int, Rectangle]:
    return {
        int((p.get_gid() or "-0").split("-")[1]): p
        for p in figure.axes[0].patches
        if isinstance(p, Rectangle) and (p.get_gid() or "").startswith(kind)
    }


def test_cavity_figure__bars__as_long_as_the_fill_beyond_the_mean() -> None:
    found = findings("cube")
    figure, fills = cavity_figure(found), cavity_fills(found)
    bars = _tiles(figure, "bar")
    one, two = (bars[fill.cavity].get_height() / fill.ahead.middle for fill in fills)
    assert one == pytest.approx(two) and one < 0  # downward is less: the axis points down
    hatches = [bars[fill.cavity].get_hatch() for fill in fills]
    assert hatches == [None, SIDES["fill"].hatch]  # the second was invented to fill less
    frames = {n: tile.get_linewidth() for n, tile in _tiles(figure, "tile").items()}
    assert frames[2] > frames[1]
    texts = {text.get_text() for text in figure.axes[0].texts}
    assert {"1", "2", *(f"short {f.short} of {f.read}" for f in fills)} <= texts
    assert "(percent)" in figure.axes[0].get_title(loc="left")
    assert picture(figure, "svg") == picture(cavity_figure(found), "svg")


def test_cavity_figure__layout_told__tiles_lie_so() -> None:
    found = findings("cube")
    mold = replace(found.study.mold, layout=((0, 2), (1, 0)))
    told = replace(found, study=replace(found.study, mold=mold))
    tiles = _tiles(cavity_figure(told), "tile")
    assert (tiles[2].get_x(), tiles[2].get_y()) == (1, 0)
    assert (tiles[1].get_x(), tiles[1].get_y()) == (0, 1)
    row = _tiles(cavity_figure(found), "tile")
    assert [(t.get_x(), t.get_y()) for t in row.values()] == [(0, 0), (1, 0)]
    for each, words in ((told, "as they lie in the mold"), (found, "side by side")):
        made = cavity_exhibit(each)
        assert made is not None and words in made.alt
        assert ("does not tell" in made.said) == (each is found)


def test_cavity_figure__few_columns__the_whole_width_is_used() -> None:
    figure = cavity_figure(findings("cube"))  # two cavities side by side
    picture(figure, "svg")  # which gives axes their place
    (axes,) = figure.axes
    tiles = _tiles(figure, "tile").values()
    ends = [(x, 0.0) for t in tiles for x in (t.get_x(), t.get_x() + t.get_width())]
    across = axes.transData.transform(ends)[:, 0] / figure.bbox.width
    assert across.min() < 0.03 and across.max() > 0.97


def test_balance__fullest_less_least__of_the_draws() -> None:
    found = findings("cube")
    offsets = np.array([[0.03, -0.01], [0.02, -0.02], [0.01, -0.03]])
    fill = replace(found.surfaces.fill, cavity=offsets)
    told = balance(replace(found, surfaces=replace(found.surfaces, fill=fill)))
    assert told.middle == pytest.approx(100 * np.expm1(0.04))


def test_places_of__the_shipped_plant_label__lies_as_its_study_tells() -> None:
    mold = read_study(Path(__file__).parent.parent / "examples" / "plant-label").mold
    assert mold.layout == ((1, 2), (3, 4))
    found = findings("cube")
    turned = replace(found.study.mold, layout=tuple(row[::-1] for row in mold.layout))
    told = replace(found, study=replace(found.study, mold=turned))
    assert places_of(told) == ((1, 0), (0, 0)) != places_of(found)
