"""A class -> small maps side by side, one for each team, as each team would run it."""

from typing import TYPE_CHECKING

import numpy as np

from shotwindow.reports.class_looks import (
    RING,
    WINDOWS,
    draw_truth,
    hatch_untried,
    outline,
    ring_entry,
    short_name,
    truth_entry,
    untried_entry,
    window_entries,
)
from shotwindow.reports.class_map import dress
from shotwindow.reports.classroom import (
    LIKELY,
    SURE,
    Classroom,
    ground,
    in_window,
)
from shotwindow.reports.naming import axis_label
from shotwindow.reports.theme import laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ACROSS = 3  # panels side by side
_TRUTH_WIDTH = 1.8


def class_panels(room: Classroom) -> "Figure":
    """Draw a map for each team at its own setpoint, all with the same two scales.

    Small maps of one size are compared by looking along a row; each wears what the map of the
    report wears: likely is light with a dashed rim, sure darker with a whole one.
    """
    with themed():
        teams = room.drawn
        rows = -(-len(teams) // ACROSS)
        figure = new_figure(8.6, 0.9 + 2.3 * rows)
        grid = figure.subplots(rows, ACROSS, sharex=True, sharey=True, squeeze=False)
        for place, axes in enumerate(grid.ravel()):
            if place >= len(teams):
                axes.set_visible(False)
                continue
            number, team, _ = teams[place]
            _draw_panel(axes, room, number)
            axes.set_title(f"{number}  {short_name(team.name)}", fontsize=9)
            dress(axes, room, most=5)
            axes.label_outer(remove_inner_ticks=False)
            if place + ACROSS >= len(teams):  # the lowest of its column
                axes.tick_params(labelbottom=True)
                axes.set_xlabel(axis_label(room.factors[room.axes[0]]))
        figure.legend(handles=_legend(room), loc="outside lower left", ncols=5)
        return laid_out(figure)


def _draw_panel(axes: "Axes", room: Classroom, number: int) -> None:
    team = room.teams[number - 1]
    found = team.found
    assert found is not None  # it is drawn
    here = ground(room, found.best_settings)
    chances = here.shaped(in_window(found, here.settings))
    hatch_untried(axes, here, np.isnan(chances))
    for which, least in (("likely", LIKELY), ("sure", SURE)):
        look, held = WINDOWS[which], np.nan_to_num(chances)
        if (held >= least).any():
            axes.contourf(*here.places, held, [least, 2.0], colors=[look["facecolor"]], zorder=1)
        lines = {"colors": [look["edgecolor"]], "linestyles": [look["linestyle"]]}
        outline(axes, here, chances, least, linewidths=[1.1], zorder=2, **lines)
    draw_truth(axes, here, team, _TRUTH_WIDTH)
    if found.setpoint is not None:
        across, up = (found.setpoint.settings[j] for j in room.axes)
        axes.plot([across], [up], gid=f"setpoint-{number}", **RING)


def _legend(room: Classroom) -> "list[Artist]":
    entries = [*window_entries(), untried_entry("not tried"), ring_entry("setpoint")]
    return entries + ([truth_entry(_TRUTH_WIDTH)] if room.told else [])
