"""Looks: told apart in grey and by every kind of color vision; the same bytes each time."""

from itertools import combinations
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from numpy.typing import NDArray

from shotwindow.reports.theme import (
    INK,
    LIKELY_FILL,
    MARKS,
    PAPER,
    SIDES,
    SURE_FILL,
    UNTRIED_HATCH,
    WINDOW_LINE,
    laid_out,
    new_figure,
    picture,
    themed,
    write_pictures,
)

#: Linear RGB as seen without one kind of cone, complete loss (Machado, Oliveira and Fernandes,
#: IEEE Transactions on Visualization and Computer Graphics 15 (2009) 1291, table for severity 1.0;
#: numbers from memory).
VISION = {
    "all": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}


def _linear(color: str) -> NDArray[np.float64]:
    rgb = np.array(to_rgb(color))
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def _luminance(color: str) -> float:
    return float(_linear(color) @ [0.2126, 0.7152, 0.0722])


def _contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.1 defines it (https://www.w3.org/TR/WCAG21/#dfn-contrast-ratio)."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _lightness(color: str) -> float:
    """L* of CIELAB, 0 to 100, which is what a grey print keeps."""
    y = _luminance(color)
    return 116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y


def test_words_on_areas__contrast__at_least_4_5() -> None:
    for side in SIDES.values():
        assert _contrast(side.color, PAPER) >= 4.5, side
    for fill in (PAPER, LIKELY_FILL, SURE_FILL):
        assert _contrast(INK, fill) >= 4.5


def test_window_line__on_its_fills__contrast_at_least_3() -> None:
    """A contrast of 3 is what WCAG 2.1 asks of graphics (success criterion 1.4.11)."""
    for fill in (PAPER, LIKELY_FILL, SURE_FILL):
        assert _contrast(WINDOW_LINE, fill) >= 3


def test_fills__in_grey__stay_apart() -> None:
    levels = [_lightness(color) for color in (SURE_FILL, LIKELY_FILL, PAPER)]
    assert min(np.diff(levels)) >= 6


def test_sides__hatch_dash_and_name__all_differ() -> None:
    hatches = [side.hatch for side in SIDES.values()] + [UNTRIED_HATCH]
    assert len({hatch[0] for hatch in hatches}) == len(hatches)
    assert len({side.dash for side in SIDES.values()}) == len(SIDES)
    assert len({side.name for side in SIDES.values()}) == len(SIDES)


@pytest.mark.parametrize("vision", VISION)
def test_short_and_flash__any_vision__colors_stay_apart(vision: str) -> None:
    seen = [VISION[vision] @ _linear(SIDES[r].color) for r in ("fill", "flash")]
    encoded = [np.clip(rgb, 0, 1) ** (1 / 2.4) for rgb in seen]
    assert float(np.linalg.norm(encoded[0] - encoded[1])) > 0.2


def test_marks__shapes__all_differ() -> None:
    shapes = [mark.shape for mark in MARKS.values()]
    assert all(one != other for one, other in combinations(shapes, 2))
    # the two that matter most also differ in how dark they are
    assert abs(_lightness(MARKS["short"].face) - _lightness(MARKS["flash"].face)) > 50


def test_themed__user_settings__are_left_alone_and_do_not_count() -> None:
    with matplotlib.rc_context({"font.size": 31.0}):
        with themed():
            assert matplotlib.rcParams["font.size"] == 9.0
        assert matplotlib.rcParams["font.size"] == 31.0


@pytest.mark.parametrize("kind", ["png", "svg"])
def test_picture__same_figure__same_bytes(kind: str) -> None:
    def draw() -> bytes:
        with themed():
            figure = new_figure(3, 2)
            axes = figure.subplots()
            axes.fill_between([0, 1], [0, 1], hatch="//", label="area")
            figure.legend(loc="outside lower left")
            return picture(laid_out(figure), kind)

    first = draw()
    with matplotlib.rc_context({"svg.hashsalt": "other", "savefig.dpi": 30}):
        assert draw() == first
    assert b"matplotlib.org" not in first and b"date" not in first.lower()


def test_picture__signs_that_the_font_lacks_and_dollars__no_warning() -> None:
    with themed():
        figure = new_figure(3, 2)
        figure.subplots().set_title("\U0001f600 \u6a21\u5177 cost $5 or $6")
        assert picture(laid_out(figure), "png").startswith(b"\x89PNG")


def test_write_pictures__new_folder__is_made(tmp_path: Path) -> None:
    with themed():
        figure = new_figure(2, 1)
        paths = write_pictures(laid_out(figure), tmp_path / "a" / "out", "name")
    assert [path.name for path in paths] == ["name.png", "name.svg"]
    assert all(path.stat().st_size > 0 for path in paths)


def test_new_figure__no_global_state() -> None:
    with themed():
        new_figure(2, 1)
    import sys

    if "matplotlib.pyplot" in sys.modules:  # another test may have loaded it
        assert not sys.modules["matplotlib.pyplot"].get_fignums()
