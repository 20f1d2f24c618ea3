"""Fitted shots -> a picture of how far each shot lies off what was foretold, in running order."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.groups import slow_positions
from shotwindow.reports.expected import Expected, Measured, expected
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import listed, plural, spoken
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.seen_figure import draw_arrows, sign
from shotwindow.reports.theme import FAINT, INK, SIDES, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

Array = NDArray[np.float64]

GROUP_SHADE = "#ededed"  # pale enough to be written on, dark enough to be seen beside paper
MOST_NAMED = 14  # groups; more of them have no room for their settings
SPAN = 3.4  # deviations shown at least
TIP = 0.3  # length of an arrow as a share of that


def residual_figure(found: Fitted, told: tuple[Expected, ...]) -> "Figure":
    """Draw a panel for each response over the shots in running order.

    Every other temperature group lies on a shade, its slow settings on top: a group that lies high
    or low as a whole, a drift within groups and a drift over the day each look different. Readings
    that are open on one side are arrows from their known end, as they may lie anywhere along it:
    gray where they point toward zero and so agree, in ink where they point away from it. All others
    are as wide as the step in which they were read: a line with a dot in its middle.
    """
    with themed():
        figure = new_figure(8.6, 1.4 + 2.1 * len(told))
        grid = figure.subplots(len(told), 1, squeeze=False, sharex=True)[:, 0]
        for axes, each in zip(grid, told, strict=True):
            _draw_groups(axes, found, each.response)
            _draw(axes, each, found.readings.shot)
        _name_groups(grid[0], found)
        grid[-1].set_xlabel("shot, in running order")
        figure.legend(handles=_legend(told), loc="outside lower left", ncols=4)
        return laid_out(figure)


def groups_of(found: Fitted) -> list[tuple[int, float, float]]:
    """Return each temperature group with where it begins and ends among the shots, in order."""
    shot, group = found.readings.shot.astype(float), found.readings.group
    turns = np.flatnonzero(np.diff(group)) + 1
    borders = [float(shot[0]) - 0.5, *((shot[turns - 1] + shot[turns]) / 2).tolist()]
    ends = [*borders[1:], float(shot[-1]) + 0.5]
    return list(zip(group[[0, *turns]].tolist(), borders, ends, strict=True))


def _draw_groups(axes: "Axes", found: Fitted, response: str) -> None:
    for place, (number, low, high) in enumerate(groups_of(found)):
        if place % 2:
            gid = f"group-{number}-{response}"
            axes.axvspan(low, high, color=GROUP_SHADE, linewidth=0, gid=gid, zorder=0)


def _name_groups(axes: "Axes", found: Fitted) -> None:
    """Write the slow settings of each group over it, or its number where there are many."""
    groups, slow = groups_of(found), slow_positions(found.study)
    for number, low, high in groups:
        text = f"{number}"
        if slow and len(groups) <= MOST_NAMED:
            first = found.readings.settings[found.readings.group == number][0]
            text = "\n".join(found.study.factors[j].text(first[j]) for j in slow)
        axes.annotate(
            text,
            ((low + high) / 2, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            va="bottom",
            fontsize=7,
        )
    names = listed([f"{spoken(found.study.factors[j].name)}" for j in slow])
    if len(groups) > MOST_NAMED:
        names = "its number"
    above = f"above each temperature group: {names}" if names else "one temperature group"
    axes.set_title(above, fontsize=8, pad=6 + 10 * max(1, len(slow)))


def _draw(axes: "Axes", each: Expected, shots: NDArray[np.int64]) -> None:
    side, off = SIDES[each.response], each.off
    place = shots.astype(float)
    axes.axhline(0.0, color=INK, linewidth=0.8)
    if not isinstance(each, Measured):
        shown = ~each.missing
        axes.plot(
            place[shown],
            off[shown],
            "o",
            color=side.color,
            markersize=4.5,
            gid=f"read-{each.response}",
        )
        axes.set(ylim=(-1.1, 1.1))
        axes.set_ylabel(f"{each.response}: bad (1) or\nnot (0), less its chance")
        return
    is_open = each.open_above | each.open_below
    reach = max(SPAN, 1.1 * float(np.nanmax(np.abs(off[~(is_open & _agreeing(each))]), initial=0)))
    for line in (-2.0, 2.0):
        axes.axhline(line, color=INK, linewidth=0.6, linestyle=(0, (4, 2)))
    known = ~(each.missing | is_open)
    low, high = each.span
    axes.vlines(
        place[known], low[known], high[known], color=side.color, linewidth=0.8,
        gid=f"span-{each.response}",
    )  # fmt: skip
    axes.plot(
        place[known], off[known], "o", color=side.color, markersize=4.5, gid=f"read-{each.response}"
    )
    # an end far off on the side that agrees would stretch the axis: its arrow starts at the rim
    held = np.clip(off, -reach, reach)
    for name, those, way in (("above", each.open_above, 1), ("below", each.open_below, -1)):
        for agrees, color in ((True, FAINT), (False, side.color)):
            some = those & (_agreeing(each) == agrees)
            tip = way * TIP * reach
            draw_arrows(
                axes, place[some], held[some], tip, color, f"open-{name}-{agrees}-{each.response}"
            )
    axes.set(ylim=(-1.05 * reach, 1.05 * reach))
    axes.set_ylabel(f"{each.response}: seen less foretold\n(deviations of a new shot)")


def _legend(told: tuple[Expected, ...]) -> "Sequence[Line2D]":
    from matplotlib.markers import CARETUP

    measured = [each for each in told if isinstance(each, Measured)]
    wide = sign("read, as wide as its step", "o", linestyle="-")
    signs = [wide if measured else sign("read", "o")]
    is_open = [(each.open_above | each.open_below) & ~each.missing for each in measured]
    agreeing = [_agreeing(each) for each in measured]
    if any((some & agree).any() for some, agree in zip(is_open, agreeing, strict=True)):
        signs.append(sign("that or beyond: may agree", CARETUP, color=FAINT))
    if any((some & ~agree).any() for some, agree in zip(is_open, agreeing, strict=True)):
        signs.append(sign("that or beyond: farther off", CARETUP))
    if measured:
        signs.append(sign("2 deviations of a new shot", "", linestyle=(0, (4, 2))))
    return signs


def _agreeing(each: Measured) -> NDArray[np.bool_]:
    """Return which shots (n,) may have come out just as foretold, or were not read."""
    return np.asarray(np.nan_to_num(each.nearest) == 0.0)


def residual_exhibit(found: Fitted) -> Exhibit | None:
    """Return the residuals with words and numbers; None where the fit did not converge."""
    if not found.surfaces.converged:
        return None
    told = expected(found)
    groups = groups_of(found)
    words = "; ".join(f"{each.response}: {_far_words(each, found.readings.shot)}" for each in told)
    alt = (
        f"What was seen less what was foretold over {plural(len(found.readings.shot), 'shot')} in "
        f"running order, {plural(len(groups), 'temperature group')} set apart by shades. {words}."
    )
    heads = ("shot", "temperature group", *(f"{each.response} off by" for each in told))
    rows = tuple(
        (str(shot), str(group), *(_off_text(each, i) for each in told))
        for i, (shot, group) in enumerate(
            zip(found.readings.shot, found.readings.group, strict=True)
        )
    )
    return Exhibit(
        name="residuals",
        title="What is left over, in running order",
        figure=residual_figure(found, told),
        alt=alt,
        said="Nothing should be seen here but scatter; what reaches zero with its line, or points "
        "there with a gray arrow, may be just as foretold. "
        "A group that lies off as a whole is the scatter between temperature groups; a slope over "
        "the day is a drift, which random order spread over all settings.",
        table=Table(
            "Seen less foretold, in deviations of a new shot; of words and grades 1 for a bad shot "
            "less its chance",
            heads,
            rows,
        ),
    )


def _far_words(each: Expected, shots: NDArray[np.int64]) -> str:
    """Return which shots lie beyond the dashed lines as a whole."""
    if isinstance(each, Measured):
        far = shots[np.nan_to_num(np.abs(each.nearest)) > 2]
        where = "more than 2 deviations off, wherever in its step it lies"
    else:
        far = shots[np.nan_to_num(np.abs(each.off)) > 0.9]
        where = "where the chance was under 0.1"
    names = listed([str(shot) for shot in far])
    return (
        f"{'shot' if far.size == 1 else 'shots'} {names} {where}" if far.size else (f"none {where}")
    )


def _off_text(each: Expected, i: int) -> str:
    if each.missing[i]:
        return ""
    text = f"{each.off[i]:+.2f}"
    if isinstance(each, Measured) and np.isfinite(span := np.array(each.span)[:, i]).all():
        low, high = (f"{end:+.2f}" for end in span)
        return low if low == high else f"{low} to {high}"
    if isinstance(each, Measured) and each.open_above[i]:
        return f"{text} or more"
    return f"{text} or less" if isinstance(each, Measured) and each.open_below[i] else text
