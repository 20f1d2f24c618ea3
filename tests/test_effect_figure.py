"""Effects with and without a belief in their direction: the picture holds what `changes` finds."""

from functools import lru_cache

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.container import ErrorbarContainer

from shotwindow.models.surface import fit_surfaces
from shotwindow.reports.changes import changes
from shotwindow.reports.effect_figure import (
    ALONE,
    BELIEFS,
    alone,
    both_beliefs,
    effect_exhibit,
    effect_figure,
    effects_by_response,
    is_large,
)
from shotwindow.reports.findings import Findings
from shotwindow.reports.plain_fit import plain_effect, plain_fit
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
        assert [bar.get_label() for bar in bars] == [BELIEFS[True], BELIEFS[False], ALONE]
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


def test_alone__least_squares_of_the_bare_readings__drawn_beside() -> None:
    found = findings("map")
    for axes, response in zip(effect_figure(_both()).axes, ("fill", "flash"), strict=True):
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


def test_both_beliefs__large_study__fitted_once_and_said_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = findings("map")
    assert not is_large(found)
    monkeypatch.setattr("shotwindow.reports.effect_figure.LARGE", 10)
    assert list(both_beliefs(found)) == [True]
    made = effect_exhibit(found)
    assert made is not None and "--any-direction" in made.said
    assert len(made.table.heads) == len(made.table.rows[0]) == 5
