"""Effects with and without a belief in their direction: the picture holds what `changes` finds."""

from functools import lru_cache

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.container import ErrorbarContainer

from shotwindow.models.surface import fit_surfaces
from shotwindow.reports.changes import changes
from shotwindow.reports.effect_figure import (
    BELIEFS,
    both_beliefs,
    effect_figure,
    effects_by_response,
)
from shotwindow.reports.findings import Findings
from shotwindow.reports.theme import picture


@lru_cache
def _both() -> dict[bool, Findings]:
    return both_beliefs(findings("map"))


def test_both_beliefs__given_one_kept__other_fitted_anew() -> None:
    found, both = findings("map"), _both()
    assert list(both) == [True, False] and both[True].surfaces is found.surfaces
    other = fit_surfaces(found.readings, seed=found.seed, signs=False)
    assert (both[False].surfaces.fill.coefficients == other.fill.coefficients).all()


def test_effect_figure__panels_rows_and_intervals__those_of_changes() -> None:
    figure = effect_figure(_both())
    assert [axes.get_title(loc="left") for axes in figure.axes] == ["fill", "flash"]
    labels = [label.get_text() for label in figure.axes[0].get_yticklabels()]
    assert labels == ["pressure +0.5 bar", "melt temperature +8 degC"]
    for axes, surface in zip(figure.axes, findings("map").surfaces.each, strict=True):
        told = changes(findings("map"), surface)
        bars = [c for c in axes.containers if isinstance(c, ErrorbarContainer)]
        assert [bar.get_label() for bar in bars] == [BELIEFS[True], BELIEFS[False]]
        places = np.asarray(bars[0].lines[0].get_xdata(), dtype=float)
        assert places == pytest.approx([change.effect.middle for change in told])
        ends = np.array([path[:, 0] for path in bars[0].lines[2][0].get_segments()])
        assert ends == pytest.approx(np.array([[c.effect.low, c.effect.high] for c in told]))


def test_effect_figure__units_and_bytes() -> None:
    figure = effect_figure(_both())
    assert figure.axes[0].get_xlabel() == "percent of fill added"
    assert figure.axes[1].get_xlabel().startswith("mm of flash added")
    assert picture(figure, "svg") == picture(effect_figure(_both()), "svg")


def test_effects_by_response__each_belief__a_change_a_factor() -> None:
    told = effects_by_response(_both())
    assert list(told) == ["fill", "flash"]
    assert all(len(c) == 2 for by_belief in told.values() for c in by_belief.values())
