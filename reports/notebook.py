"""Findings and pictures -> what a notebook shows of them.

Text and lines take the color that the notebook gives them, on the notebook's own ground: so they
are right in its light and in its dark look, whatever the computer itself prefers. Pictures lie on
white paper. They are images and no drawings inside the page, which would share the names of their
parts with each other.
"""

from base64 import b64encode
from typing import TYPE_CHECKING

from shotwindow.reports.alt_text import alt_text, picture_table
from shotwindow.reports.figures import window_figure
from shotwindow.reports.findings import Findings
from shotwindow.reports.notes import notes
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.page_tables import edge_table, effect_sentences, setpoint_table
from shotwindow.reports.templates import filled
from shotwindow.reports.theme import picture
from shotwindow.reports.verdicts import verdict

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.figure import Figure


def findings_html(found: Findings) -> str:
    """Return verdict, picture, setpoint, edges, effects and notes; every text of a user escaped.

    Without a window there is no picture; without a setpoint no table of it and of its edges.
    """
    drawn = numbers = None
    alt = ""
    if found.window is not None and found.best is not None:
        drawn, alt, told = _embedded(window_figure(found)), alt_text(found), picture_table(found)
        numbers = Table("The picture in numbers", told.heads, told.rows)
    return filled(
        "notebook.html",
        title=found.study.title or found.study.mold.name or "Study without a title",
        verdict=verdict(found),
        drawn=drawn,
        alt=alt,
        numbers=numbers,
        setpoint=setpoint_table(found),
        edges=edge_table(found),
        effects=effect_sentences(found),
        notes=notes(found),
    )


def exhibit_html(exhibit: Exhibit) -> str:
    """Return a picture with how to read it, its words and its numbers."""
    return filled("notebook.html", exhibit=exhibit, drawn=_embedded(exhibit.figure))


def _embedded(figure: "Figure") -> str:
    return b64encode(picture(figure, "svg")).decode()
