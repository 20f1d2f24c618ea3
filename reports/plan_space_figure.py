"""A study and its plan -> a picture of where the shots lie, for each pair of settings."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from shotwindow.doe.drafts import KINDS, PlannedShot
from shotwindow.doe.plans import Plan
from shotwindow.doe.study import Study
from shotwindow.reports.count_places import count_places
from shotwindow.reports.maps import draw_hatched
from shotwindow.reports.naming import axis_label, listed, plural, spoken, unit_of
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.rulers import set_marks
from shotwindow.reports.theme import (
    FAINT,
    INK,
    PAPER,
    UNTRIED_COLOR,
    UNTRIED_HATCH,
    laid_out,
    new_figure,
    themed,
)

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: Shapes that no outcome of a shot has: a plan says nothing of what came out. Corners are crossed
#: and axial shots upright crosses, along the ways on which they lie.
SHAPES = {
    "ladder": "|",
    "factorial": "x",
    "axial": "+",
    "center": "*",
    "optimal": "h",
    "replicate": "8",
    "reference": "P",
    "next": "<",
    "confirm": "p",
}
SIZE, SMALL = 5.0, 3.0  # points across of a single shot; more at one place are larger in area
PAD = 0.14  # of the range, shown beyond it
MOST_COUNTED = 4  # settings; with more the panels are too small for numbers
GRID = 60  # places along each axis at which the rules are asked


def plan_space_figure(study: Study, plan: Plan) -> "Figure":
    """Draw a panel for each pair of settings; with one setting its values in running order.

    The frame inside a panel is the range that may be planned, and what a rule on these two settings
    keeps out is crossed. Shots at one place of a panel are one sign of as many times the area with
    their number beside it, as they would cover each other.
    """
    k = len(study.factors)
    with themed():
        if k == 1:
            figure = new_figure(8.6, 2.8)
            _draw_order(figure.subplots(), study, plan)
        else:
            side = min(8.6 / (k - 1), 3.4)
            figure = new_figure(min(8.6, 0.8 + side * (k - 1)), 0.6 + side * 0.82 * (k - 1))
            grid = figure.add_gridspec(k - 1, k - 1)
            for across, up in _pairs(k):
                axes = figure.add_subplot(grid[up - 1, across])
                _draw_pair(axes, study, plan, (across, up))
        kinds = [kind for kind in KINDS if any(shot.kind == kind for shot in plan.fitted())]
        figure.legend(handles=_legend(study, kinds), loc="outside lower left", ncols=4)
        laid_out(figure)
        if 1 < k <= MOST_COUNTED:
            for axes, pair in zip(figure.axes, _pairs(k), strict=True):
                _draw_counts(axes, plan, pair)
        return figure


def _pairs(k: int) -> list[tuple[int, int]]:
    """Return the settings across and upward of each panel, row by row from the top."""
    return [(across, up) for up in range(1, k) for across in range(up)]


def _draw_pair(axes: "Axes", study: Study, plan: Plan, pair: tuple[int, int]) -> None:
    from matplotlib.patches import Rectangle

    across, up = (study.factors[j] for j in pair)
    few = len(study.factors) <= MOST_COUNTED
    _draw_ruled_out(axes, study, pair)
    corner, size = (across.low, up.low), (across.high - across.low, up.high - up.low)
    axes.add_patch(Rectangle(corner, *size, fill=False, edgecolor=FAINT, linewidth=0.8, zorder=2))
    for kind, places in _places(plan, pair).items():
        for count in sorted(set(places.values()), reverse=True):  # no large sign covers a small one
            same = [place for place, shots in places.items() if shots == count]
            _draw_shots(axes, kind, same, count, SIZE if few else SMALL)
    for axis, factor in ((axes.xaxis, across), (axes.yaxis, up)):
        set_marks(axis, factor, most=5 if few else 3)
    axes.tick_params(labelsize=7, labelbottom=up is study.factors[-1], labelleft=pair[0] == 0)
    letters = 7.5 if few else 6.5
    if up is study.factors[-1]:
        axes.set_xlabel(f"{spoken(across.name)}\n({unit_of(across)})", fontsize=letters)
    if pair[0] == 0:
        axes.set_ylabel(f"{spoken(up.name)}\n({unit_of(up)})", fontsize=letters)
    pads = [PAD * (f.high - f.low) for f in (across, up)]
    axes.set(
        xlim=(across.low - pads[0], across.high + pads[0]),
        ylim=(up.low - pads[1], up.high + pads[1]),
    )


def _places(plan: Plan, pair: tuple[int, int]) -> dict[str, Counter[tuple[float, float]]]:
    """Return how many fitted shots of each kind lie at each place of a panel."""
    found: dict[str, Counter[tuple[float, float]]] = {}
    for shot in plan.fitted():
        place = (shot.settings[pair[0]], shot.settings[pair[1]])
        found.setdefault(shot.kind, Counter())[place] += 1
    return found


def _draw_shots(
    axes: "Axes", kind: str, places: list[tuple[float, float]], count: int, size: float = SIZE
) -> None:
    """Draw a sign at each place, as large as so many shots."""
    axes.plot(
        *np.transpose(places),
        marker=SHAPES[kind],
        markersize=size * np.sqrt(count),
        markerfacecolor=PAPER,
        markeredgecolor=INK,
        markeredgewidth=1.0 if size == SIZE else 0.7,
        linestyle="none",
        zorder=4,
    )


def _draw_counts(axes: "Axes", plan: Plan, pair: tuple[int, int]) -> None:
    """Write how many shots, of all kinds, lie at each place of a panel that has its final size."""
    counts = sum(_places(plan, pair).values(), Counter())
    points = axes.transData.transform(list(counts)) * 72 / axes.figure.dpi
    reaches = [SIZE * np.sqrt(count) / 2 for count in counts.values()]
    several = [count > 1 for count in counts.values()]
    beside = count_places([(x, y) for x, y in points], reaches, several)
    for i, (place, count) in enumerate(counts.items()):
        if i in beside:
            look: dict[str, Any] = {"ha": "center", "va": "center", "fontsize": 7, "zorder": 5}
            axes.annotate(f"{count}", place, beside[i], textcoords="offset points", **look)


def _draw_ruled_out(axes: "Axes", study: Study, pair: tuple[int, int]) -> None:
    """Cross what rules on these two settings alone keep out, whatever the others are."""
    names = {study.factors[j].name for j in pair}
    rules = tuple(rule for rule in study.avoid if set(rule) <= names)
    if not rules:
        return
    places = [np.linspace(study.factors[j].low, study.factors[j].high, GRID) for j in pair]
    grids = np.meshgrid(*places)
    settings = np.tile([f.low for f in study.factors], (grids[0].size, 1))
    for j, grid in zip(pair, grids, strict=True):
        settings[:, j] = grid.ravel()
    out = ~replace(study, avoid=rules).allowed(settings).reshape(grids[0].shape)
    draw_hatched(axes, places, out, UNTRIED_HATCH, UNTRIED_COLOR)


def _draw_order(axes: "Axes", study: Study, plan: Plan) -> None:
    """Draw the only setting of a study across and its shots in running order upward."""
    (factor,) = study.factors
    for shot in plan.fitted():
        _draw_shots(axes, shot.kind, [(shot.settings[0], shot.shot)], 1)
    set_marks(axes.xaxis, factor)
    axes.set(xlabel=axis_label(factor), ylabel="shot, in running order")


def _legend(study: Study, kinds: Sequence[str]) -> "Sequence[Artist]":
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    signs: list[Artist] = [
        Line2D(
            [], [], linestyle="none", marker=SHAPES[kind], markersize=SIZE + 1, color=INK,
            markerfacecolor=PAPER, markeredgecolor=INK, label=f"{kind} shot",
        )
        for kind in kinds
    ]  # fmt: skip
    if len(study.factors) > 1:
        signs.append(Patch(facecolor=PAPER, edgecolor=FAINT, label="range that may be planned"))
    if any(len(rule) <= 2 for rule in study.avoid):
        signs.append(
            Patch(facecolor=PAPER, edgecolor=UNTRIED_COLOR, hatch=UNTRIED_HATCH, label="ruled out")
        )
    return signs


def plan_space_exhibit(study: Study, plan: Plan) -> Exhibit:
    """Return the plan in the space of its settings with words and numbers."""
    shots = plan.fitted()
    settings = plan.settings()
    distinct = len(np.unique(settings.round(9), axis=0))
    names = [
        f"{spoken(f.name)} at {plural(len(np.unique(column.round(9))), 'value')}"
        for f, column in zip(study.factors, settings.T, strict=True)
    ]
    kinds = Counter(shot.kind for shot in shots)
    laid = "in running order, upward"
    if len(study.factors) > 1:
        laid = f"a panel for each pair of settings: {plural(distinct, 'setting')} in all"
    alt = (
        f"Where {plural(len(shots), 'shot')} lie ("
        f"{listed([f'{count} {kind}' for kind, count in kinds.items()])}), {laid}, {listed(names)}."
    )
    heads = (*(axis_label(f) for f in study.factors), "shots", "kind")
    return Exhibit(
        name="plan-space",
        title="The plan in its settings",
        figure=plan_space_figure(study, plan),
        alt=alt,
        said="What lies between shots is told by them; what lies beyond is not told at all.",
        table=Table("Settings of the plan", heads, _rows(study, shots)),
    )


def _rows(study: Study, shots: Sequence[PlannedShot]) -> tuple[tuple[str, ...], ...]:
    """Return each setting once, with the numbers of the shots made there and their kinds."""
    at: dict[tuple[float, ...], list[PlannedShot]] = {}
    for shot in shots:
        at.setdefault(shot.settings, []).append(shot)
    return tuple(
        (
            *(f.text(v) for f, v in zip(study.factors, settings, strict=True)),
            ", ".join(str(shot.shot) for shot in same),
            ", ".join(dict.fromkeys(shot.kind for shot in same)),
        )
        for settings, same in sorted(at.items())
    )
