"""Looks: everything differs in two ways; the user's own settings count for nothing; same bytes."""

import gc
from itertools import combinations
from pathlib import Path

import matplotlib
import pytest
from seeing import lab

from shotwindow.reports.live_map import STROKES
from shotwindow.reports.theme import (
    MARKS,
    SIDES,
    UNTRIED_HATCH,
    laid_out,
    new_figure,
    nothing_collected,
    picture,
    themed,
    write_pictures,
)


def test_sides__hatch_dash_and_name__all_differ() -> None:
    hatches = [side.hatch for side in SIDES.values()] + [UNTRIED_HATCH]
    assert len({hatch[0] for hatch in hatches}) == len(hatches)
    # where two sides fail their lines cross, which is not to look like what was not tried
    assert not {"x", "/", "\\"} & set(UNTRIED_HATCH)
    assert set(STROKES["upright"]) <= set("Mhv 0123456789")  # level and upright strokes alone
    assert len({side.dash for side in SIDES.values()}) == len(SIDES)
    assert len({side.name for side in SIDES.values()}) == len(SIDES)


def test_marks__shapes__all_differ() -> None:
    shapes = [mark.shape for mark in MARKS.values()]
    assert all(one != other for one, other in combinations(shapes, 2))
    # the two that matter most also differ in how dark they are
    assert abs(lab(MARKS["short"].face)[0] - lab(MARKS["flash"].face)[0]) > 50


def test_nothing_collected__while_pictures_are_made_and_no_longer() -> None:
    assert gc.isenabled()
    with nothing_collected():
        assert not gc.isenabled()
        with nothing_collected():
            pass
        assert not gc.isenabled()  # whoever came first also ends it
    assert gc.isenabled()
    with pytest.raises(ZeroDivisionError), nothing_collected():
        print(1 / 0)
    assert gc.isenabled()


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
