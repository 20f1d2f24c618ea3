"""Findings -> the pictures of the page, each with its words and its numbers."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shotwindow.reports.cavity_figure import cavity_figure, cavity_fills
from shotwindow.reports.dials import dial_figure, dial_words, good_stretch
from shotwindow.reports.effect_figure import (
    BELIEFS,
    both_beliefs,
    change_label,
    effect_figure,
    effects_by_response,
    interval_text,
)
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import axis_label, chance, listed
from shotwindow.reports.theme import picture

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Table:
    """A table of the page: what it holds, its heads, and its rows of text."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Picture:
    """A picture of the page: what is drawn, and the same in words."""

    svg: Any
    alt: str


def drawn(figure: "Figure", name: str, alt: str) -> Picture:
    """Return a figure as it stands in a page: as wide as there is room, with names of its own.

    Several pictures in one page would otherwise share the names of their parts.
    """
    from markupsafe import Markup

    svg = picture(figure, "svg").decode()
    bare = svg[svg.index("<svg") :]
    bare = re.sub(r'<svg [^>]*?viewBox="([^"]*)"[^>]*>', _OPENING, bare, count=1)
    bare = re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{name}-", bare)
    return Picture(Markup(bare), alt)  # drawn by us: words in it are shapes, not markup


_OPENING = r'<svg viewBox="\1" xmlns:xlink="http://www.w3.org/1999/xlink" aria-hidden="true">'


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


def effect_pictures(found: Findings) -> tuple[Picture, Table] | None:
    """Return what each setting does with its numbers; None where the fit did not converge."""
    if not found.surfaces.converged:
        return None
    both = both_beliefs(found)
    rows = tuple(_effect_rows(both))
    heads = ("response", "setting turned up", "unit", *(BELIEFS[belief] for belief in both))
    alt = (
        "Intervals that hold each effect with a chance of 0.9: a row for each setting turned up, "
        f"a panel for each of {listed(list(dict.fromkeys(row[0] for row in rows)))}. Their numbers "
        "stand in the table below."
    )
    caption = "Effects in numbers: middle, and the ends that hold it with a chance of 0.9"
    return drawn(effect_figure(both), "effects", alt), Table(caption, heads, rows)


def _effect_rows(both: dict[bool, Findings]) -> Iterator[tuple[str, ...]]:
    for response, by_belief in effects_by_response(both).items():
        for told in zip(*by_belief.values(), strict=True):
            effects = (interval_text(change.effect) for change in told)
            yield (response, change_label(told[0]), told[0].unit, *effects)


def cavity_picture(found: Findings) -> tuple[Picture, Table] | None:
    """Return how evenly the cavities fill with its numbers; None for one cavity, or no fit."""
    if found.readings.fill_low.shape[1] < 2 or not found.surfaces.converged:
        return None
    fills = cavity_fills(found)
    rows = tuple(
        (str(f.cavity), f"{f.short} of {f.read}", interval_text(f.ahead), chance(f.worst))
        for f in fills
    )
    heads = ("cavity", "short", "fill beyond the mean (percent)", "chance that it fills least")
    least = min(fills, key=lambda fill: fill.ahead.middle)
    alt = (
        f"Fill of {len(fills)} cavities beyond their mean, with intervals that hold it with a "
        f"chance of 0.9. Cavity {least.cavity} fills least: {interval_text(least.ahead)} percent."
    )
    caption = "Cavities in numbers: middle, and the ends that hold it with a chance of 0.9"
    return drawn(cavity_figure(found), "cavities", alt), Table(caption, heads, rows)
