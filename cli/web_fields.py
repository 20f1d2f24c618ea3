"""A column of a shot -> how the page asks for it: question, buttons, whether digits are typed."""

from typing import Any

from shotwindow.cli.wording import GRADES, question
from shotwindow.doe.answers import is_total_mass
from shotwindow.doe.columns import SHORT_CAVITIES, Layout
from shotwindow.doe.rows import Row, row_cells
from shotwindow.doe.study import Study

_WORDS = (("full", "Full"), ("short", "Short"))
# Offered beside those that the study knows already. Common practice, no source.
_REASONS = ("sink", "burn", "splay", "warp", "sticking")


def field_for(study: Study, layout: Layout, row: Row, heading: str, answer: str) -> dict[str, Any]:
    """Return one question for the page.

    Parameters
    ----------
    study : Study
    layout : Layout
    row : Row
        The shot; what was planned for it is offered as the actual setting.
    heading : str
    answer : str
        What is entered there now; "" for nothing.
    """
    if heading == "other":
        asked, kind, buttons = "Rejected for another reason", "words", _pairs(_REASONS)
    else:
        asked = question(study, layout, heading)
        kind, buttons = _ways(study, layout, row, heading)
    return {
        "heading": heading,
        "text": asked,
        "kind": kind,
        "buttons": [{"value": value, "text": text} for value, text in buttons],
        "cavities": study.cavities if kind == "cavities" else 0,
        "answer": answer,
        "needed": heading != "other",
        "weighed": study.fill.measured == "mass" and heading in layout.fill,
    }


def _ways(
    study: Study, layout: Layout, row: Row, heading: str
) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Return whether digits, cavities or only a button answer a question, and the buttons."""
    if heading in layout.actual:
        planned = row_cells(study, layout, row)[layout.settings[layout.actual.index(heading)]]
        return "digits", ((planned, f"As planned: {planned}"),)
    if heading == SHORT_CAVITIES:
        return "cavities", (("none", "None is short"),)
    if heading in layout.flash:
        if study.flash.measured == "grade":
            graded = ((str(grade), f"{grade}  {words}") for grade, words in enumerate(GRADES))
            return "buttons", tuple(graded)
        return "digits", (("0", "No flash"),)
    if study.fill.measured == "full-or-short":
        return "buttons", _WORDS
    if study.fill.measured == "eye":
        return "digits", (("100", "Full"),)
    return "digits", () if is_total_mass(study, layout) else _WORDS


def _pairs(words: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((word, word) for word in words)
