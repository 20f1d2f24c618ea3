"""Quick panels look as matplotlib's own axes do, to a shade of gray, and answer as those do."""

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.typing import NDArray

from shotwindow.reports.panels import Sheet
from shotwindow.reports.theme import laid_out, themed


def _numbered(axes: Axes) -> None:
    axes.set_xticks([0.0, 0.5, 1.0], ["0", "a half", "one"])
    axes.set_xticks(np.linspace(0.0, 1.0, 21), minor=True)
    axes.set(xlabel="across", ylabel="upward", title="title")


def _inverted(axes: Axes) -> None:
    axes.set_yticks(range(4), ["a", "much longer", "c", "never seen"])
    axes.set(ylim=(2.5, -0.5), ylabel="in the order\nof the study")


def _inner(axes: Axes) -> None:
    axes.tick_params(labelbottom=False, labelleft=False, labelsize=7)
    axes.spines["left"].set_linewidth(2.4)


def _without_numbers(axes: Axes) -> None:
    axes.set_yticks([0.2, 0.4])
    axes.set_yticklabels([])
    axes.set_xticks([])


def _power_of_ten(axes: Axes) -> None:
    axes.set(xlim=(0.0, 3e9), ylim=(0.0, 4e-7), xlabel="large", ylabel="small")


def _above(axes: Axes) -> None:
    axes.xaxis.tick_top()
    axes.xaxis.set_label_position("top")
    axes.set_xlabel("above")


def _beyond(axes: Axes) -> None:
    axes.annotate("far out", (1.0, 0.5), xytext=(30, 0), textcoords="offset points")
    axes.annotate("not to be seen", (1.0, 0.5), xytext=(90, 0), textcoords="offset points").set(
        visible=False
    )
    axes.plot([-0.2], [0.5], marker="<", markersize=20, clip_on=False)
    axes.set_xlim(0.0, 1.0)
    axes.secondary_xaxis("top", functions=(np.negative, np.negative)).set_xlabel("turned")


KINDS = (_beyond, _numbered, _inverted, _inner, _without_numbers, _power_of_ten, _above)


def _drawn(canvas: FigureCanvasAgg) -> NDArray[np.int_]:
    canvas.draw()  # type: ignore[no-untyped-call]
    return np.asarray(canvas.buffer_rgba()).astype(int)  # type: ignore[no-untyped-call]


def _panels(figure: Figure, dress: Callable[[Axes], None]) -> NDArray[np.int_]:
    """Return the picture of four panels in a grid, dressed alike."""
    canvas = FigureCanvasAgg(figure)
    for axes in figure.subplots(2, 2).flat:
        axes.plot([0.0, 0.3, 1.0], [0.1, 0.2, 0.9])
        dress(axes)
    laid_out(figure)
    return _drawn(canvas)


@pytest.mark.parametrize("dress", KINDS, ids=lambda dress: dress.__name__.strip("_"))
def test_sheet__as_drawn_by_matplotlib_itself(dress: Callable[[Axes], None]) -> None:
    with themed():
        quick, slow = (
            _panels(kind(figsize=(5, 4), layout="constrained"), dress) for kind in (Sheet, Figure)
        )
    assert (slow < 128).mean() > 0.005  # there is something to be seen
    assert np.abs(quick - slow).max() <= 2


def test_sheet__shared_axes__answer_what_they_were_told() -> None:
    figure = Sheet(figsize=(4, 3))
    above, below = figure.subplots(2, 1, sharex=True)
    below.set_xticks([1.0, 2.0, 3.0], ["one", "two", "three"])
    figure.draw_without_rendering()
    assert [label.get_text() for label in below.get_xticklabels()] == ["one", "two", "three"]
    assert above.get_xticks().tolist() == [1.0, 2.0, 3.0]
    assert below.xaxis.get_ticks_position() == "bottom"
    assert above.get_xlim() == below.get_xlim() == (0.0, 3.0)


def test_sheet__drawn_twice__the_same() -> None:
    with themed():
        figure = Sheet(figsize=(5, 4), layout="constrained")
        first = _panels(figure, _numbered)
        assert np.array_equal(_drawn(FigureCanvasAgg(figure)), first)
