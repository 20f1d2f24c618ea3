"""Fitted shots -> a picture of what was foretold of each shot against what was seen of it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.reports.expected import Expected, Measured, Worded, expected
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.latent_axis import latent_ticks
from shotwindow.reports.naming import chance, listed, plural
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.theme import FAINT, INK, SIDES, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

Array = NDArray[np.float64]

STEM = 0.06  # length of an arrow as a share of its axis


def seen_figure(found: Fitted, told: tuple[Expected, ...]) -> "Figure":
    """Draw a panel for each response: foretold across, seen upward.

    A dot is a number that was read. An arrow is a reading that is open on one side: it starts at
    the known end and points to where the truth lies, up for "full or more", down for "less than can
    be seen", so that nobody takes it for a number. The thin line across holds a new shot with a
    chance of 0.9. What agrees lies on the slanting line, or points to it; a shot that lies beyond
    its thin line has its number beside it.
    """
    with themed():
        figure = new_figure(8.6, 4.6)
        for axes, each in zip(figure.subplots(1, len(told), squeeze=False)[0], told, strict=True):
            if isinstance(each, Measured):
                _draw_measured(axes, each, found.readings.shot)
            else:
                _draw_worded(axes, each, found.readings.shot)
            axes.set_title(SIDES[each.response].name if each.response == "other" else each.response)
        figure.legend(handles=_legend(told), loc="outside lower left", ncols=3)
        return laid_out(figure)


def surprising(each: Expected) -> NDArray[np.bool_]:
    """Return which shots (n,) came out where a new shot hardly ever would (chance under 0.1)."""
    if isinstance(each, Worded):
        return np.asarray(np.abs(each.off) > 0.9)
    return np.asarray(~each.missing & ((each.seen_low > each.high) | (each.seen_high < each.low)))


def _draw_measured(axes: "Axes", each: Measured, shots: NDArray[np.int64]) -> None:
    color = SIDES[each.response].color
    known = ~(each.open_above | each.open_below | each.missing)
    (left, right), (low, high) = _spans(each)
    stem = STEM * (high - low)
    axes.axline((0.0, 0.0), slope=1.0, color=INK, linewidth=0.8)
    for line in (axes.axvline, axes.axhline):
        line(each.limit, color=color, linewidth=0.8, linestyle=SIDES[each.response].dash, zorder=1)
    place, shown = each.seen, ~each.missing
    axes.hlines(
        place[shown], each.low[shown], each.high[shown], color=FAINT, linewidth=0.6, zorder=2
    )
    axes.plot(
        each.middle[known],
        place[known],
        "o",
        color=color,
        markersize=4.5,
        gid=f"read-{each.response}",
        zorder=4,
    )
    for name, is_open, way in (("above", each.open_above, stem), ("below", each.open_below, -stem)):
        draw_arrows(
            axes, each.middle[is_open], place[is_open], way, color, f"open-{name}-{each.response}"
        )
    _number(axes, each, shots, place)
    axes.set(xlim=(left, right), ylim=(low, high))
    axes.xaxis.set_ticks(*latent_ticks(each.scale, each.limit, left, right))
    axes.yaxis.set_ticks(*latent_ticks(each.scale, each.limit, low, high))
    unseen = each.response == "flash" and left < -1.0 / each.scale.power
    none = ", left of 0 none" if unseen else ""
    axes.set(
        xlabel=f"foretold ({each.unit}{none})", ylabel=f"seen in the worst cavity ({each.unit})"
    )


def draw_arrows(axes: "Axes", x: Array, y: Array, way: float | Array, color: str, gid: str) -> None:
    """Draw an arrow of a height in the units of the axes from each place (n,)."""
    if len(x):
        axes.quiver(
            x, y, np.zeros(len(x)), np.broadcast_to(way, len(x)), angles="xy", scale_units="xy",
            scale=1, units="inches", width=0.013, headwidth=5, headlength=6, headaxislength=6,
            color=color, gid=gid, zorder=4,
        )  # fmt: skip


def _number(axes: "Axes", each: Expected, shots: NDArray[np.int64], place: Array) -> None:
    """Write its number beside each shot that surprises."""
    for i in np.flatnonzero(surprising(each)):
        axes.annotate(
            f"{shots[i]}",
            (each.middle[i], place[i]),
            xytext=(5, -9),
            textcoords="offset points",
            fontsize=7,
            weight="bold",
            zorder=6,
        )


def _spans(each: Measured) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the ends of both axes: where shots were foretold, and where they were seen."""
    return _padded([*each.middle, each.limit]), _padded([*each.seen, each.limit])


def _padded(values: list[float]) -> tuple[float, float]:
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    pad = 2 * STEM * max(high - low, 0.05)
    return low - pad, high + pad


def _draw_worded(axes: "Axes", each: Worded, shots: NDArray[np.int64]) -> None:
    """Draw a response told in words: a row a word, its shots above one another in running order."""
    color, shown = SIDES[each.response].color, ~each.missing
    place = each.seen.astype(float)
    for word in range(len(each.words)):
        rows = np.flatnonzero(each.seen == word)
        place[rows] += np.linspace(-0.32, 0.32, len(rows)) if len(rows) > 1 else 0.0
    axes.hlines(
        place[shown], each.low[shown], each.high[shown], color=FAINT, linewidth=0.6, zorder=2
    )
    axes.plot(
        each.middle[shown],
        place[shown],
        "o",
        color=color,
        markersize=4.5,
        gid=f"read-{each.response}",
        zorder=4,
    )
    axes.axhline(
        each.bad_from - 0.5, color=color, linewidth=0.8, linestyle=SIDES[each.response].dash
    )
    _number(axes, each, shots, place)
    axes.set_yticks(range(len(each.words)), each.words)
    axes.set(xlim=(-0.04, 1.04), ylim=(-0.6, len(each.words) - 0.4))
    axes.set(xlabel="foretold chance of a bad shot", ylabel="seen")


def sign(label: str, marker: Any, **look: Any) -> "Line2D":
    """Return a legend entry for a sign, or for a line where a style of it is given."""
    from matplotlib.lines import Line2D

    plain: dict[str, Any] = {"color": INK, "linestyle": "none", "linewidth": 0.8}
    return Line2D([], [], marker=marker, markersize=5, label=label, **(plain | look))


def _legend(told: tuple[Expected, ...]) -> "Sequence[Artist]":
    from matplotlib.markers import CARETDOWN, CARETUP

    signs = [sign("read", "o")]
    measured = [each for each in told if isinstance(each, Measured)]
    if any(each.open_above.any() for each in measured):
        signs.append(sign("so much or more", CARETUP))
    if any(each.open_below.any() for each in measured):
        signs.append(sign("so much or less", CARETDOWN))
    if measured:
        signs.append(sign("seen as foretold", "", linestyle="-"))
    signs.append(sign("holds a new shot, or its chance: 0.9", "", linestyle="-", color=FAINT))
    return [*signs, sign("limit of a good shot", "", linestyle=(0, (4, 2)))]


def seen_exhibit(found: Fitted) -> Exhibit | None:
    """Return foretold against seen with words and numbers; None where the fit did not converge."""
    if not found.surfaces.converged:
        return None
    told = expected(found)
    odd = [
        f"{each.response}: {plural(int((~each.missing).sum()), 'shot')}, of which "
        f"{_named(found.readings.shot[surprising(each)])}"
        for each in told
    ]
    alt = (
        "What was foretold of each shot, across, against what was seen of it, upward; readings "
        f"that are open on one side are arrows. {'; '.join(odd)}."
    )
    heads = ("shot", *(h for e in told for h in (f"{e.response} foretold", f"{e.response} seen")))
    rows = tuple(
        (str(shot), *(cell for each in told for cell in _cells(each, i)))
        for i, shot in enumerate(found.readings.shot)
    )
    return Exhibit(
        name="seen",
        title="Foretold and seen",
        figure=seen_figure(found, told),
        alt=alt,
        said="Each shot is foretold by the surfaces that were fitted to all shots, its own "
        "included, as a new shot in a new temperature group. About one in ten may lie beyond its "
        "thin line.",
        table=Table("Foretold (middle, and the ends that hold 0.9) and seen", heads, rows),
    )


def _named(shots: NDArray[np.int64]) -> str:
    """Return which shots surprise."""
    if not shots.size:
        return "none lies beyond what holds 0.9"
    names = listed([str(shot) for shot in shots])
    return f"{'shot' if shots.size == 1 else 'shots'} {names} beyond what holds 0.9"


def _cells(each: Expected, i: int) -> tuple[str, str]:
    """Return what was foretold and seen of a shot as text."""
    if isinstance(each, Worded):
        words = f"bad {chance(each.middle[i])}"
        return words, "" if each.missing[i] else each.words[each.seen[i]]
    low, middle, high = (
        each.values(end[i : i + 1])[0] for end in (each.low, each.middle, each.high)
    )
    foretold = f"{middle:.3g} ({low:.3g} to {high:.3g}) {each.unit}"
    if each.missing[i]:
        return foretold, ""
    least, most = (each.values(end[i : i + 1])[0] for end in (each.seen_low, each.seen_high))
    if each.open_above[i]:
        return foretold, f"{least:.3g} or more"
    if each.open_below[i]:
        return foretold, f"{most:.3g} or less"
    return foretold, f"{(least + most) / 2:.3g}"
