"""Findings -> a picture and the words of one factor as the dial that is turned at the press."""

from typing import TYPE_CHECKING

from shotwindow.models.window import LIKELY, SURE
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import axis_label, spoken, with_unit
from shotwindow.reports.own_marks import marks_along
from shotwindow.reports.page_pictures import Picture, Table, drawn
from shotwindow.reports.rulers import draw_ruler, stretches
from shotwindow.reports.theme import new_figure, themed
from shotwindow.reports.words import band_text

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.figure import Figure


#: Of the ruler in its picture: with room for half a number at either end, and for words below.
PLACE = {"left": 0.02, "right": 0.98, "bottom": 0.306, "top": 0.972}


def dial_figure(found: Findings, j: int) -> "Figure":
    """Draw factor ``j`` alone, as low as a real ruler: the eye runs along it, not up and down."""
    with themed():
        figure = new_figure(8.6, 1.5)
        figure.set_layout_engine(None)  # all rulers have the same place, which need not be sought
        axes = figure.subplots(gridspec_kw=PLACE)
        draw_ruler(axes, found, j)
        axes.set_ylim(0.0, 0.7)  # no shots stand above this one
        return figure


def good_stretch(found: Findings, j: int, which: str) -> str:
    """Return factor ``j``'s marks in the "sure" or "likely" window, others at the best mark."""
    factor, chances = marks_along(found, j)
    line = chances >= (SURE if which == "sure" else LIKELY)
    parts = [
        factor.text(factor.marks[a])
        if a == b
        else f"{factor.text(factor.marks[a])} to {factor.text(factor.marks[b])}"
        for a, b in stretches(line)
    ]
    return " and ".join(parts) or "none"


def dial_words(found: Findings, j: int) -> str:
    """Return what the picture of factor ``j`` shows."""
    factor = found.study.factors[j]
    word = "setpoint" if found.setpoint is not None else "best mark"
    here = with_unit(factor, found.best_settings[j])
    words = [
        f"Ruler of {axis_label(factor)} from {factor.text(factor.low)} to "
        f"{factor.text(factor.high)}, the other settings at the {word}.",
        f"Sure window: {good_stretch(found, j, 'sure')}; "
        f"likely window: {good_stretch(found, j, 'likely')}.",
    ]
    for edge in found.edges:
        if edge.factor == factor.name:
            way = "Downward" if edge.side == "low" else "Upward"
            fails, place, _, band = band_text(factor, edge)
            seen = f"{fails} from {place}" if edge.median is not None else "no edge where tried"
            words.append(f"{way}: {seen} (90 % band: {band}).")
    return " ".join([*words, f"The {word} of {spoken(factor.name)} is {here}."])


def dial_pictures(found: Findings) -> tuple[Picture, ...]:
    """Return a ruler for each factor; none where the picture of the window is one already."""
    if found.best is None or len(found.study.factors) < 2:
        return ()
    return tuple(
        drawn(dial_figure(found, j), f"dial{j}", dial_words(found, j))
        for j in range(len(found.study.factors))
    )


def dial_table(found: Findings) -> Table:
    """Return the good stretches of all rulers; their edges stand in a table of their own."""
    rows = tuple(
        (axis_label(f), *(good_stretch(found, j, which) for which in ("likely", "sure")))
        for j, f in enumerate(found.study.factors)
    )
    heads = ("setting", "likely window", "sure window")
    return Table("The rulers in numbers: one setting moved, the others kept", heads, rows)
