"""Fill by cavity: the later cavities were invented to fill less, and the picture says how much."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.container import ErrorbarContainer

from shotwindow.reports.cavity_figure import cavity_figure, cavity_fills
from shotwindow.reports.theme import picture


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


def test_cavity_figure__places_counts_and_bytes() -> None:
    found = findings("cube")
    figure = cavity_figure(found)
    axes, fills = figure.axes[0], cavity_fills(found)
    (bar,) = [c for c in axes.containers if isinstance(c, ErrorbarContainer)]
    heights = np.asarray(bar.lines[0].get_ydata(), dtype=float)
    assert heights == pytest.approx([fill.ahead.middle for fill in fills])
    labels = [label.get_text() for label in axes.get_xticklabels()]
    assert labels == [f"{f.cavity}\nshort {f.short} of {f.read}" for f in fills]
    assert axes.get_xlabel() == "cavity" and "(percent)" in axes.get_ylabel()
    assert picture(figure, "svg") == picture(cavity_figure(found), "svg")
