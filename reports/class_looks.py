"""What the pictures of a class have in common: areas, outlines, the setpoint, and the truth."""

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.reports.classroom import Ground, Team, true_chance
from shotwindow.reports.theme import (
    INK,
    LIKELY_FILL,
    PAPER,
    SURE_FILL,
    UNTRIED_COLOR,
    UNTRIED_HATCH,
    WINDOW_LINE,
)

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: As on the map of the report: likely is light with a dashed rim, sure darker with a whole one.
WINDOWS: dict[str, dict[str, Any]] = {
    "likely": {"facecolor": LIKELY_FILL, "edgecolor": WINDOW_LINE, "linestyle": "--"},
    "sure": {"facecolor": SURE_FILL, "edgecolor": WINDOW_LINE, "linestyle": "-"},
}
RING: dict[str, Any] = {
    "marker": "o",
    "markersize": 7.5,
    "markerfacecolor": PAPER,
    "markeredgecolor": INK,
    "markeredgewidth": 1.8,
    "linestyle": "none",
    "zorder": 5,
}
_NAME = 16  # characters of a team's name that there is room for


def short_name(name: str) -> str:
    """Return a team's name cut to what there is room for.

    Examples
    --------
    >>> from shotwindow.reports.class_looks import short_name
    >>> short_name("red"), short_name("the second row at the window")
    ('red', 'the second ro...')
    """
    return name if len(name) <= _NAME else f"{name[: _NAME - 3]}..."


def outline(axes: "Axes", here: Ground, field: Array, level: float, **look: Any) -> None:
    """Draw the line where a field over a map (rows upward) crosses a level, if it does."""
    seen = field[np.isfinite(field)]
    if seen.size and seen.min() < level <= seen.max():
        axes.contour(*here.places, field, levels=[level], **look)


def hatch_untried(axes: "Axes", here: Ground, flags: Flags) -> None:
    """Hatch the places of a map for which there is no answer."""
    from matplotlib import rc_context

    look: dict[str, Any] = {"colors": "none", "hatches": [UNTRIED_HATCH], "levels": [0.5, 1.5]}
    with rc_context({"hatch.color": UNTRIED_COLOR}):
        if flags.any():
            axes.contourf(*here.places, flags.astype(float), **look)


def draw_truth(axes: "Axes", here: Ground, team: Team, width: float) -> None:
    """Draw the outline of the true window: black in a white seam, to be seen on every shade."""
    if team.press is None or team.found is None:
        return
    good = here.shaped(true_chance(team.found, team.press, here.settings))
    for color, more, above in ((PAPER, 2.4, 4.0), (INK, 0.0, 4.1)):
        look: dict[str, Any] = {"colors": [color], "linewidths": [width + more], "zorder": above}
        outline(axes, here, good, team.found.study.good_from, **look)


def truth_entry(width: float) -> "Artist":
    """Return the legend's entry of the true window."""
    from matplotlib.lines import Line2D

    return Line2D([], [], color=INK, linewidth=width, label="true window")


def window_entries() -> "list[Artist]":
    """Return the legend's entries of likely and sure window."""
    from matplotlib.patches import Patch

    return [Patch(label=f"{which} window", **look) for which, look in WINDOWS.items()]


def untried_entry(label: str) -> "Artist":
    """Return the legend's entry of where there is no answer."""
    from matplotlib.patches import Patch

    return Patch(facecolor=PAPER, edgecolor=UNTRIED_COLOR, hatch=UNTRIED_HATCH, label=label)


def ring_entry(label: str) -> "Artist":
    """Return the legend's entry of a setpoint."""
    from matplotlib.lines import Line2D

    return Line2D([], [], label=label, **RING)
