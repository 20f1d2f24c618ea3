"""A study and its plan -> a picture of the time at the press: soaks, warm-up shots, shots."""

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from shotwindow.doe.groups import slow_positions
from shotwindow.doe.plans import Plan
from shotwindow.doe.study import Study
from shotwindow.doe.timeline import USES, Stretch, timeline
from shotwindow.reports.naming import axis_label, listed, plural
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.planned import clock
from shotwindow.reports.theme import INK, PAPER, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: What counts is dark, what is thrown away empty; waiting is hatched, level as time that passes,
#: and heating up and cleaning up, which every plan takes, are pale.
LOOKS: dict[str, dict[str, Any]] = {
    "heating up": {"facecolor": "#dddddd"},
    "soak": {"facecolor": PAPER, "hatch": "----"},
    "warm-up shot": {"facecolor": PAPER},
    "shot": {"facecolor": "#5a5a5a"},
    "cleaning up": {"facecolor": "#dddddd"},
}
BAR = 0.7  # height of a bar in rows


def plan_time_figure(study: Study, plan: Plan) -> "Figure":
    """Draw a row for each temperature group over the minutes since the press was switched on.

    Each block is a day of its own and has a panel. Rows step down as the day goes on, so that the
    eye sees at once where it goes: into shots, or into waiting.
    """
    days = [list(day) for _, day in groupby(timeline(study, plan), key=lambda s: s.block)]
    rows = [len({stretch.group for stretch in day}) for day in days]
    with themed():
        figure = new_figure(8.6, 1.0 + sum(0.24 * count + 0.75 for count in rows))
        panels = figure.subplots(len(days), 1, squeeze=False, sharex=True, height_ratios=rows)[:, 0]
        for axes, day in zip(panels, days, strict=True):
            _draw_day(axes, study, day)
            if len(days) > 1:
                axes.set_title(f"block {day[0].block}", fontsize=9)
        panels[-1].set_xlabel("minutes since the press was switched on")
        used = {stretch.use for day in days for stretch in day}
        with_budget = any(_budget_fits(study, day) for day in days)
        handles = _legend([use for use in USES if use in used], with_budget=with_budget)
        figure.legend(handles=handles, loc="outside lower left", ncols=5)
        return laid_out(figure)


def _draw_day(axes: "Axes", study: Study, day: Sequence[Stretch]) -> None:
    groups = sorted({stretch.group for stretch in day})
    for use, look in LOOKS.items():
        for stretch in day:
            if stretch.use == use:
                axes.barh(
                    groups.index(stretch.group),
                    stretch.end - stretch.start,
                    left=stretch.start,
                    height=BAR,
                    edgecolor=INK,
                    linewidth=0.6,
                    gid=f"{use.replace(' ', '-')}-{stretch.block}-{stretch.start:g}",
                    **look,
                )
    if _budget_fits(study, day):
        axes.axvline(study.time.budget_min, color=INK, linewidth=1.0, linestyle=(0, (5, 2)))
    slow = slow_positions(study)
    labels = []
    for group in groups:
        shot = next(s.shot for s in day if s.shot is not None and s.group == group)
        values = ", ".join(study.factors[j].text(shot.settings[j]) for j in slow)
        labels.append(f"{group}:  {values}" if slow else f"{group}")
    axes.set_yticks(range(len(groups)), labels)
    axes.set_ylim(len(groups) - 0.5, -0.5)  # in running order, from the top
    heads = [axis_label(study.factors[j]) for j in slow]
    axes.set_ylabel("\n".join(["group: settings of", *heads]) if slow else "group", fontsize=7)


def _budget_fits(study: Study, day: Sequence[Stretch]) -> bool:
    """Tell whether the budget may be shown: far beyond the day it would squeeze it."""
    return study.time.budget_min <= 1.5 * day[-1].end


def _legend(uses: Sequence[str], *, with_budget: bool) -> "Sequence[Artist]":
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    words = {"heating up": "heating up, cleaning up"}
    shown = [use for use in uses if use != "cleaning up" or "heating up" not in uses]
    marks = [
        Patch(edgecolor=INK, linewidth=0.6, label=words.get(use, use), **LOOKS[use])
        for use in shown
    ]
    if not with_budget:
        return marks
    return [*marks, Line2D([], [], color=INK, linestyle=(0, (5, 2)), linewidth=1.0, label="budget")]


def plan_time_exhibit(study: Study, plan: Plan) -> Exhibit:
    """Return the plan in time with words and numbers."""
    whole = timeline(study, plan)
    spent = {use: sum(s.end - s.start for s in whole if s.use == use) for use in USES}
    days = len({stretch.block for stretch in whole})
    parts = [f"{use} {clock(minutes)}" for use, minutes in spent.items() if minutes]
    alt = (
        f"The plan in time, {plural(days, 'day')}: {clock(sum(spent.values()))} in all, of which "
        f"{listed(parts)}. A row for each temperature group, one below the other."
    )
    heads = (
        "block",
        "temperature group",
        "begins at (min)",
        "soak",
        "warm-up shots",
        "shots",
        "ends at (min)",
    )
    return Exhibit(
        name="plan-time",
        title="The plan in time",
        figure=plan_time_figure(study, plan),
        alt=alt,
        said="Dark is what counts. A change of a slow setting costs a soak and warm-up shots, so "
        "shots that share it are made together.",
        table=Table("The plan in time, group by group", heads, _rows(whole)),
    )


def _rows(whole: Sequence[Stretch]) -> tuple[tuple[str, ...], ...]:
    rows = []
    for (block, group), part in groupby(whole, key=lambda s: (s.block, s.group)):
        day = list(part)
        counts = [sum(s.use == use for s in day) for use in ("warm-up shot", "shot")]
        soak = sum(s.end - s.start for s in day if s.use == "soak")
        rows.append(
            (
                block,
                str(group),
                f"{day[0].start:.0f}",
                f"{soak:.0f} min" if soak else "none",
                *map(str, counts),
                f"{day[-1].end:.0f}",
            )
        )
    return tuple(rows)
