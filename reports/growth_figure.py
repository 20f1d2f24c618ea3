"""Findings -> a picture of how the window grew with the shots: the same fit after the first few.

Each stage is fitted anew, which takes its time; nothing that came later is known to it.
"""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from shotwindow.doe.readings import readings
from shotwindow.models.goodness import goodness
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.window import find_window, tried_region
from shotwindow.reports.findings import Findings
from shotwindow.reports.legends import side_legend, window_legend
from shotwindow.reports.maps import draw_areas
from shotwindow.reports.naming import axis_label, percent
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.priors import has_directions
from shotwindow.reports.rulers import set_marks
from shotwindow.reports.shots import draw_shots, shot_legend
from shotwindow.reports.slices import map_axes, slice_at
from shotwindow.reports.theme import WINDOW_LINE, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

STAGES = 4  # the last one is the whole study
FEWEST = 5  # shots; before that nothing but what was believed is drawn
SHOT_SCALE = 0.6  # of the shots' signs: those on the rim stay within their map
COUNT = 31  # places along each axis of a map


def stages(found: Findings) -> tuple[Findings, ...]:
    """Return the study as it stood after its first shots, evenly spread; the last is as given.

    All are looked at with the other settings where the whole study has its setpoint. A stage whose
    fit did not converge is left out.
    """
    shots, most = found.readings.shot, len(found.readings.shot)
    counts = np.unique(np.linspace(min(FEWEST, most), most, STAGES).astype(int))[:-1]
    earlier = (_after(found, int(shots[count - 1])) for count in counts)
    return (*(stage for stage in earlier if stage.surfaces.converged), found)


def _after(found: Findings, last: int) -> Findings:
    """Return the study as it stood after a shot."""
    rows = tuple(row for row in found.rows if row.shot <= last)
    seen = readings(found.study, rows)
    surfaces = fit_surfaces(seen, seed=found.seed, signs=has_directions(found.prior))
    good = goodness(surfaces)
    return replace(
        found,
        rows=rows,
        readings=seen,
        surfaces=surfaces,
        goodness=good,
        region=tried_region(seen),
        window=find_window(found.study, seen, good) if surfaces.converged else None,
    )


def growth_figure(grown: tuple[Findings, ...]) -> "Figure":
    """Draw the map of each stage with the shots made until then, and below both windows' shares.

    Maps have the looks of the large one. Below, the line of the sure window is whole and that of
    the likely one dashed, as their outlines are.
    """
    with themed():
        figure = new_figure(8.6, 5.4)
        grid = figure.add_gridspec(2, len(grown), height_ratios=(3, 2))
        for place, stage in enumerate(grown):
            _draw_stage(figure.add_subplot(grid[0, place]), stage, grown[-1], first=place == 0)
        _draw_shares(figure.add_subplot(grid[1, :]), grown)
        last = grown[-1]
        handles = [*window_legend(last), *side_legend(last), *shot_legend(last)]
        figure.legend(handles=handles, loc="outside lower left", ncols=3)
        return laid_out(figure)


def _draw_stage(axes: "Axes", stage: Findings, last: Findings, *, first: bool) -> None:
    over = map_axes(stage.study.factors)
    cut = slice_at(stage, over, COUNT, last.best_settings)
    draw_areas(axes, cut, small=True)
    draw_shots(axes, stage, over, SHOT_SCALE)
    for line in axes.lines:  # the same shots are drawn again and again; a name stands once
        line.set_gid(f"{line.get_gid()}-of-{len(stage.readings.shot)}")
    axes.set_title(f"after {len(stage.readings.shot)} shots", fontsize=8)
    axes.set(xlim=cut.places[0][[0, -1]], ylim=cut.places[1][[0, -1]])
    set_marks(axes.xaxis, cut.factors[0], most=4)
    set_marks(axes.yaxis, cut.factors[1], most=4)
    axes.tick_params(labelsize=7, labelleft=first)
    axes.set_xlabel(axis_label(cut.factors[0]), fontsize=7.5)
    if first:
        axes.set_ylabel(axis_label(cut.factors[1]), fontsize=7.5)


def shares_of(grown: tuple[Findings, ...]) -> tuple[tuple[int, float, float], ...]:
    """Return shots, and the likely and the sure window as shares of all settings, of each stage."""
    return tuple(
        (len(stage.readings.shot), stage.window.share_likely, stage.window.share_sure)
        for stage in grown
        if stage.window is not None
    )


def _draw_shares(axes: "Axes", grown: tuple[Findings, ...]) -> None:
    shots, likely, sure = np.array(shares_of(grown)).T
    for shares, dash, shape, label in (
        (likely, "--", "s", "likely window"),
        (sure, "-", "o", "sure window"),
    ):
        axes.plot(shots, 100 * shares, color=WINDOW_LINE, linestyle=dash, marker=shape, label=label)
    axes.set(xlabel="shots", ylabel="window (percent\nof all settings)", ylim=(0.0, None))
    axes.set_xticks(shots)
    axes.legend(loc="best")


def growth_exhibit(found: Findings) -> Exhibit | None:
    """Return how the window grew with words and numbers; None for one setting or a failed fit."""
    if found.window is None or len(found.study.factors) < 2:
        return None
    grown = stages(found)
    told = shares_of(grown)
    (first, _, sure), (last, _, sure_now) = told[0], told[-1]
    return Exhibit(
        name="growth",
        title="How the window grew with the shots",
        figure=growth_figure(grown),
        alt=f"The map of the window after {', '.join(str(n) for n, _, _ in told)} shots, and how "
        f"much both windows cover. The sure window went from {percent(sure)} of all settings "
        f"after {first} shots to {percent(sure_now)} after {last}.",
        said="Doubt goes with shots, and the sure window grows; but it can shrink where a setting "
        "that nobody had tried turns out otherwise.",
        table=Table(
            "Windows as a share of all settings, after the first shots",
            ("shots", "likely window", "sure window"),
            tuple((str(n), percent(likely), percent(sure)) for n, likely, sure in told),
        ),
    )
