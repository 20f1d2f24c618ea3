"""Pairs of settings: lines of the surface at both ends of the other, the clearest pair first."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.collections import PolyCollection

from shotwindow.reports.findings import Findings
from shotwindow.reports.interaction_figure import (
    all_pairs,
    interaction_exhibit,
    interaction_figure,
    pairs_of,
)
from shotwindow.reports.theme import picture


def _crossed(name: str, size: float) -> Findings:
    """Return findings whose first two settings do not add on fill, by a known amount."""
    found = findings(name)
    fill = found.surfaces.fill
    place = fill.terms.exponents.index((1, 1, 0))
    draws = fill.coefficients.copy()
    draws[:, place] = size
    return replace(found, surfaces=replace(found.surfaces, fill=replace(fill, coefficients=draws)))


def test_pairs_of__a_pair_that_surely_does_not_add__comes_first() -> None:
    found = _crossed("cube", 0.2)
    first = pairs_of(found, found.surfaces.fill)[0]
    assert (first.across, first.beside, first.clear) == (0, 1, 1.0)
    others = [pair.clear for pair in pairs_of(found, found.surfaces.fill)]
    assert others == sorted(others, reverse=True)


def test_pairs_of__lines__spread_by_four_times_the_coefficient() -> None:
    """By hand: (1, 1) - (1, -1) - (-1, 1) + (-1, -1) leaves the product alone, four times."""
    found = _crossed("cube", 0.2)
    middle = pairs_of(found, found.surfaces.fill)[0].lines[:, 1]
    spread = (middle[1, -1] - middle[0, -1]) - (middle[1, 0] - middle[0, 0])
    assert spread == pytest.approx(4 * 0.2, abs=0.02)  # medians of sums are not sums of medians


def test_interaction_figure__panels__lines_bands_limit_and_units() -> None:
    found = findings("cube")
    figure = interaction_figure(found, all_pairs(found))
    fill = pairs_of(found, found.surfaces.fill)
    assert len(figure.axes) == 2 * len(fill) == 6
    words = [text.get_text() for text in figure.legends[0].get_texts()]
    dashes = [str(line.get_linestyle()) for line in figure.legends[0].get_lines()]
    assert "low end" in words[0] and "high end" in words[1] and "limit" in words[2]
    assert dashes[:2] == ["--", "-"]
    for axes, pair in zip(figure.axes, fill, strict=False):
        drawn = [line for line in axes.lines if len(np.ravel(line.get_xdata())) == len(pair.places)]
        for line, (_, middle, _), dash in zip(drawn, pair.lines, ("--", "-"), strict=True):
            assert np.asarray(line.get_ydata()) == pytest.approx(middle)
            assert line.get_linestyle() == dash
        bands = [c for c in axes.collections if isinstance(c, PolyCollection)]
        assert [band.get_hatch() for band in bands] == ["|||", None]
        beside = found.study.factors[pair.beside]
        ends = [
            beside.text(found.region.low[pair.beside]),
            beside.text(found.region.high[pair.beside]),
        ]
        assert [text.get_text() for text in axes.texts] == ends
        assert beside.unit in axes.get_title(loc="left")
        assert found.study.factors[pair.across].unit in axes.get_xlabel()
    assert figure.axes[0].get_ylabel() == "fill of the worst cavity\n(%)"
    assert figure.axes[3].get_ylabel() == "flash of the worst cavity\n(mm)"
    labels = [tick.get_text() for tick in figure.axes[0].get_yticklabels()]
    assert figure.axes[0].get_yticks()[labels.index("100")] == pytest.approx(0.0)


def test_interaction_figure__grades__in_deviations_over_the_limit() -> None:
    figure = interaction_figure(findings("graded"), all_pairs(findings("graded")))
    assert figure.axes[1].get_ylabel() == "flash over its limit\n(deviations of a shot)"


def test_interaction_exhibit__numbers__of_both_lines_and_none_with_one_setting() -> None:
    found = _crossed("cube", 0.2)
    made = interaction_exhibit(found)
    assert made is not None and "pressure with melt temperature on fill" in made.alt
    assert len(made.table.rows) == 2 * 6
    low, high = made.table.rows[:2]
    assert low[2] == "melt temperature 205 degC" and high[2] == "melt temperature 235 degC"
    middle = pairs_of(found, found.surfaces.fill)[0].lines[0, 1]
    assert float(low[3].split()[0]) == pytest.approx(100 * np.exp(middle[0]), rel=5e-3)
    assert interaction_exhibit(findings("dial")) is None


def test_interaction_figure__same_findings__same_bytes() -> None:
    found = findings("graded")
    one, two = (picture(interaction_figure(found, all_pairs(found)), "svg") for _ in range(2))
    assert one == two
