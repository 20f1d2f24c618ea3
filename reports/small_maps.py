"""Findings -> the map of the window again and again, one of the other settings moved each time.

A window seen at the setpoint alone hides that it wanders when something else is turned. A row
belongs to one of the other settings, from its lowest tried value to its highest.
"""

from typing import TYPE_CHECKING

import numpy as np

from shotwindow.reports.findings import Findings
from shotwindow.reports.legends import side_legend, window_legend
from shotwindow.reports.maps import LIKELY, SURE, draw_areas
from shotwindow.reports.naming import axis_label, chance, listed, percent, spoken, unit_of
from shotwindow.reports.own_marks import marks_over
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.rulers import set_marks
from shotwindow.reports.slices import Slice, map_axes, slice_at
from shotwindow.reports.theme import INK, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

COUNT = 25  # places along each axis of a small map: as fine as its print
FEW, MOST = 3, 5  # maps in a row where there are many rows, and where there are few
MANY_ROWS = 3


def other_factors(found: Findings) -> tuple[int, ...]:
    """Return the positions of the settings that are not on the axes of the map."""
    over = map_axes(found.study.factors)
    return tuple(j for j in range(len(found.study.factors)) if j not in over)


def moved_values(found: Findings, j: int) -> tuple[float, ...]:
    """Return what factor ``j`` is moved to: marks from end to end of what was tried, and its own.

    The mark next to the setpoint makes place for it.
    """
    factor, here = found.study.factors[j], found.best_settings[j]
    count = MOST if len(other_factors(found)) < MANY_ROWS else FEW
    ends = (float(found.region.low[j]), float(found.region.high[j]))
    values = np.unique(factor.snap(np.linspace(*ends, count)))
    values[np.abs(values - here).argmin()] = here
    return tuple(float(v) for v in values)


def moved_cuts(found: Findings, j: int) -> tuple[Slice, ...]:
    """Return the map with factor ``j`` at each of its values, all others at the setpoint."""
    cuts = []
    for value in moved_values(found, j):
        at = (*found.best_settings[:j], value, *found.best_settings[j + 1 :])
        cuts.append(slice_at(found, map_axes(found.study.factors), COUNT, at))
    return tuple(cuts)


def all_cuts(found: Findings) -> dict[int, tuple[Slice, ...]]:
    """Return the maps of each of the other settings, by its position."""
    return {j: moved_cuts(found, j) for j in other_factors(found)}


def small_maps(found: Findings, rows: dict[int, tuple[Slice, ...]]) -> "Figure":
    """Draw a row of small maps for each of the other settings, of the maps ``all_cuts``.

    All have the axes of the large map, so that the same place on paper is the same setting. The
    map at the setpoint has a frame twice as strong; thin cross hairs mark the setpoint's place in
    each, to see the window move away from under it.
    """
    columns = max(len(cuts) for cuts in rows.values())
    with themed():
        figure = new_figure(8.6, 0.9 + 1.75 * len(rows))
        grid = figure.subplots(len(rows), columns, squeeze=False, sharex=True, sharey=True)
        ends = [along[[0, -1]] for along in next(iter(rows.values()))[0].places]
        grid[0, 0].set(xlim=ends[0], ylim=ends[1])  # and with it those of all
        for row, (j, cuts) in zip(grid, rows.items(), strict=True):
            for axes, cut in zip(row, cuts, strict=False):
                _draw_map(axes, found, cut, j)
            for axes in row[len(cuts) :]:  # a setting that was tried at fewer values
                axes.set_axis_off()
        across, up = (found.study.factors[j] for j in map_axes(found.study.factors))
        set_marks(grid[0, 0].xaxis, across, most=4)
        set_marks(grid[0, 0].yaxis, up, most=4)
        grid[-1, 0].set_xlabel(axis_label(across), loc="left")
        grid[-1, 0].set_ylabel(axis_label(up), loc="bottom")
        handles = [*window_legend(found), *side_legend(found)]
        figure.legend(handles=handles, loc="outside lower left", ncols=3)
        return laid_out(figure)


def _draw_map(axes: "Axes", found: Findings, cut: Slice, j: int) -> None:
    """Draw one small map; its title is the value of the setting that is moved."""
    factor, value = found.study.factors[j], cut.at[j]
    is_here = value == found.best_settings[j]
    draw_areas(axes, cut, small=True)
    axes.tick_params(labelsize=7)
    for line, k in ((axes.axvline, 0), (axes.axhline, 1)):
        line(cut.at[cut.axes[k]], color=INK, linewidth=0.6, zorder=4)
    for spine in axes.spines.values():
        spine.set_linewidth(2.4 if is_here else 0.6)
    first = value == moved_values(found, j)[0]
    text = f"{factor.text(value)} {unit_of(factor)}"
    axes.set_title(
        f"{spoken(factor.name)}\n{text}" if first else text,
        fontsize=8,
        weight="bold" if is_here else "normal",
    )


def small_maps_exhibit(found: Findings) -> Exhibit | None:
    """Return the small maps with words and numbers; None where no setting is left to be moved."""
    others = other_factors(found)
    if not others or found.best is None:
        return None
    maps = all_cuts(found)
    rows = tuple(_numbers(found, cut, j) for j, cuts in maps.items() for cut in cuts)
    across, up = (found.study.factors[j] for j in map_axes(found.study.factors))
    names = listed([spoken(found.study.factors[j].name) for j in others])
    word = "setpoint" if found.setpoint is not None else "best mark"
    largest = max(rows, key=lambda row: row[5])
    widest = (
        f"The likely window covers most of the map at {largest[0]} {largest[1]}: {largest[2]}."
        if largest[5]
        else "There is no likely window on any of them."
    )
    alt = (
        f"Small maps of {axis_label(across)} and {axis_label(up)}, a row for {names}, each moved "
        f"from its lowest tried value to its highest while the others stay at the {word}. {widest}"
    )
    good = f"good shots at the {word}'s place"
    heads = ("setting moved", "to", "likely window", "sure window", good)
    caption = "The small maps in numbers: windows as a share of each map"
    return Exhibit(
        name="small-maps",
        title="The same map at other settings",
        figure=small_maps(found, maps),
        alt=alt,
        said="The framed map of each row is the one above; thin lines mark where it has its "
        f"{word}. What lies under them when a setting is moved is what would come out.",
        table=Table(caption, heads, tuple(row[:5] for row in rows)),
    )


def _numbers(found: Findings, cut: Slice, j: int) -> tuple[str, str, str, str, str, float]:
    """Return one map as a row of the table, with the share of the likely window at its end."""
    _, chances = marks_over(found, cut.axes, cut.at)
    likely, sure = (float((chances >= least).mean()) for least in (LIKELY, SURE))
    settings = np.array([cut.at])
    known = found.region.holds(settings)[0] and found.study.allowed(settings)[0]
    good = float(found.goodness.probability_good(settings)[0]) if known else float("nan")
    factor = found.study.factors[j]
    return (
        spoken(factor.name),
        f"{factor.text(cut.at[j])} {unit_of(factor)}",
        percent(likely),
        percent(sure),
        chance(good) if known else "not tried",
        likely,
    )
