"""Findings -> the shots that were made, drawn where they lie on a map or above a ruler."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from shotwindow.reports.findings import Findings
from shotwindow.reports.outcomes import OUTCOMES, outcomes
from shotwindow.reports.slices import off_slice
from shotwindow.reports.theme import INK, MARKS, PAPER

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

#: Points of diameter by distance from the slice, in half ranges: what is near looks large.
SIZES = ((0.25, 9.0), (1.01, 6.5), (np.inf, 4.5))
SPREAD = 6.0  # points by which shots at one place are moved apart, around it


def draw_shots(axes: "Axes", found: Findings, over: tuple[int, ...], scale: float = 1.0) -> None:
    """Draw every fitted shot; repeats at one place stand around it, so that each can be counted.

    Parameters
    ----------
    axes : Axes
        A map, or a ruler with room from 0.62 to 1 above its bar.
    found : Findings
    over : tuple of int
        Positions of the factors on its axes.
    scale : float, optional
        Of the signs and of the way between repeats, for a small map.
    """
    from matplotlib.transforms import ScaledTranslation

    seen = outcomes(found.readings)
    settings = found.readings.settings[:, list(over)]
    if len(over) == 1:
        rows = np.array([_height(outcome) for outcome in seen])
        settings = np.column_stack([settings[:, 0], rows])
    sizes = scale * np.array([_size(distance) for distance in off_slice(found, over)])
    figure = axes.get_figure(root=True)
    assert figure is not None  # axes to draw on belong to one
    moved = scale * _around(settings, flat=len(over) == 1)
    for number, outcome, place, size, (right, up) in zip(
        found.readings.shot, seen, settings, sizes, moved, strict=True
    ):
        look = MARKS[str(outcome)]
        axes.plot(
            *place,
            marker=look.shape,
            markersize=size,
            markerfacecolor=look.face,
            markeredgecolor=INK,
            markeredgewidth=max(scale, 0.7),
            linestyle="none",
            transform=axes.transData
            + ScaledTranslation(right / 72, up / 72, figure.dpi_scale_trans),
            zorder=5,
            clip_on=False,
            gid=f"shot-{number}",
        )


def _size(distance: float) -> float:
    return next(size for most, size in SIZES if distance <= most)


def _height(outcome: str) -> float:
    """Return where an outcome stands above a ruler: too much on top, too little below."""
    order = ("short", "short and flash", "good", "other reject", "flash")
    return 0.66 + 0.3 * order.index(outcome) / (len(order) - 1)


def _around(places: Array, *, flat: bool) -> Array:
    """Return by how many points each place (n, 2) is moved so that equal ones stand apart.

    Around their place on a map; side by side above a ruler, whose height has a meaning.
    """
    _, group, counts = np.unique(places.round(9), axis=0, return_inverse=True, return_counts=True)
    group = group.reshape(-1)
    number = np.array([(group[:i] == g).sum() for i, g in enumerate(group)])
    many = counts[group]
    if flat:
        right = (number - (many - 1) / 2) * SPREAD
        return np.column_stack([right, np.zeros(len(right))])
    angle = 2 * np.pi * number / many
    reach = np.where(many > 1, SPREAD, 0.0)
    return np.column_stack([reach * np.cos(angle), reach * np.sin(angle)])


def shot_legend(found: Findings) -> "Sequence[Artist]":
    """Return a legend entry for each outcome that occurred."""
    from matplotlib.lines import Line2D

    seen = set(outcomes(found.readings).tolist())
    far = Line2D(
        [],
        [],
        linestyle="none",
        marker="o",
        markersize=SIZES[-1][1],
        markerfacecolor=PAPER,
        markeredgecolor=INK,
        label="small: far off in other settings",
    )
    return [
        Line2D(
            [],
            [],
            linestyle="none",
            marker=MARKS[outcome].shape,
            markerfacecolor=MARKS[outcome].face,
            markeredgecolor=INK,
            label=f"{outcome} shot" if outcome != "other reject" else "rejected otherwise",
        )
        for outcome in OUTCOMES
        if outcome in seen
    ] + ([far] if len(found.study.factors) > 2 else [])
