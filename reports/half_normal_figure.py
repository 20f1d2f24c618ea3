"""Fitted shots -> effects on half-normal paper, with margins within which nothing acts."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import listed
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.textbook import no_tables
from shotwindow.reports.textbook_effects import Spread, effect_spread
from shotwindow.reports.textbook_terms import unit_of_response
from shotwindow.reports.theme import FAINT, INK, PAPER, SIDES, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Fullness = Literal["full", "left", "none"]  # of a sign

NAMED = 3  # effects that are named at least, though none stands out
LETTER = 0.0073  # of the width of the figure that a letter takes; the way to the sign takes two
ROOM = 0.042  # of the height of a panel that a name takes; what has none stands in the table


def spreads(found: Fitted) -> dict[str, Spread]:
    """Return the effects of each response for which least squares has an answer."""
    told = {}
    for response in ("fill", "flash"):
        if no_tables(found, response):
            continue
        plain = found.least_squares[response]
        assert plain is not None  # or there would be a reason
        spread = effect_spread(found, plain)
        if spread is not None and spread.margin.margin > 0:
            told[response] = spread
    return told


def half_normal_figure(found: Fitted, told: dict[str, Spread]) -> "Figure":
    """Draw a panel for each response: size of the effect across, half-normal score upward.

    Effects of nothing lie along the slanting line. Lenth's margins are two lines of different
    dash: beyond the first an effect of nothing seldom lies, beyond the second hardly any of all of
    them. A sign is full where it lies beyond the second, half full beyond the first and hollow
    within both; effects of slow settings alone are square, as they scatter with the temperature
    groups and not with the shots.
    """
    with themed():
        figure = new_figure(8.6, 4.2)
        for axes, (response, spread) in zip(
            figure.subplots(1, len(told), squeeze=False)[0], told.items(), strict=True
        ):
            _draw(axes, found, response, spread, len(told))
        figure.legend(handles=_legend(found), loc="outside lower left", ncols=3)
        return laid_out(figure)


def _draw(axes: "Axes", found: Fitted, response: str, spread: Spread, panels: int) -> None:
    size, margin = np.abs(spread.size), spread.margin
    top = 1.12 * float(spread.score[-1])
    reach = 1.08 * max(float(size[-1]), margin.simultaneous)
    axes.plot([0.0, margin.standard_error * top], [0.0, top], color=FAINT, linewidth=1.0)
    for place, dash in ((margin.margin, (0, (5, 2))), (margin.simultaneous, (0, (1, 1)))):
        axes.axvline(place, color=INK, linewidth=1.0, linestyle=dash)
    slow, named = slow_effects(found, spread), _named(spread, ROOM * top)
    for i, (x, y) in enumerate(zip(size, spread.score, strict=True)):
        axes.plot(
            [x],
            [y],
            marker="s" if slow[i] else "o",
            fillstyle=_fullness(x, margin.margin, margin.simultaneous),
            color=SIDES[response].color,
            markerfacecoloralt=PAPER,
            markersize=6,
            linestyle="none",
            zorder=4,
            gid=f"effect-{response}-{i}",
        )
        if i in named:
            left = _stands_left(x / reach, LETTER * panels * (len(spread.names[i]) + 2))
            axes.annotate(
                spread.names[i],
                (x, y),
                xytext=(-7 if left else 7, 0),
                textcoords="offset points",
                ha="right" if left else "left",
                va="center",
                fontsize=7,
                bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.5},
                zorder=3,
            )
    unit = unit_of_response(found, response)
    axes.set(title=response, xlabel=f"size of the effect from low to high ({unit})")
    axes.set_ylabel("half-normal score")
    axes.set(xlim=(0.0, reach), ylim=(0.0, top))


def _stands_left(place: float, width: float) -> bool:
    """Tell on which side of its sign a name stands; both are shares of the panel's width.

    Sizes rise with their scores, so that nothing else stands to the left of a sign: a name goes
    there from a little before the middle on, if there is room for it.
    """
    return place > width and (place > 0.42 or place + width > 1.0)


def _named(spread: Spread, room: float) -> set[int]:
    """Return which effects are named: those that stand out, if a name has ``room`` among scores."""
    named: list[int] = []
    for i in reversed(range(len(spread.size))):
        out = abs(spread.size[i]) > spread.margin.margin or i >= len(spread.size) - NAMED
        if out and (not named or spread.score[named[-1]] - spread.score[i] >= room):
            named.append(i)
    return set(named)


def slow_effects(found: Fitted, spread: Spread) -> list[bool]:
    """Return which effects are of slow settings alone."""
    slow = np.array([f.is_slow for f in found.study.factors])
    powers = spread.terms.powers[1:][spread.place]
    return [bool((row[~slow] == 0).all()) for row in powers]


def _fullness(size: float, one: float, all_of_them: float) -> Fullness:
    return "full" if size > all_of_them else "left" if size > one else "none"


def _legend(found: Fitted) -> "Sequence[Artist]":
    from matplotlib.lines import Line2D

    def sign(label: str, marker: str, fullness: Fullness) -> Line2D:
        return Line2D(
            [], [], color=INK, linestyle="none", marker=marker, fillstyle=fullness,
            markerfacecoloralt=PAPER, markersize=6, label=label,
        )  # fmt: skip

    def line(label: str, dash: Any, color: str = INK) -> Line2D:
        return Line2D([], [], color=color, linestyle=dash, linewidth=1.0, label=label)

    signs = [
        sign("beyond both margins", "o", "full"),
        sign("beyond the margin for one", "o", "left"),
        sign("within both", "o", "none"),
        line("Lenth's margin for one effect", (0, (5, 2))),
        line("Lenth's margin for any of all", (0, (1, 1))),
        line("where effects of nothing lie", "-", FAINT),
    ]
    if any(f.is_slow for f in found.study.factors):
        signs.append(sign("square: slow settings alone", "s", "none"))
    return signs


def half_normal_exhibit(found: Fitted) -> Exhibit | None:
    """Return the effects with words and numbers; None where least squares has none to judge."""
    told = spreads(found)
    if not told:
        return None
    words = []
    for response, spread in told.items():
        margin = spread.margin.simultaneous
        clear = [n for n, size in zip(spread.names, spread.size, strict=True) if abs(size) > margin]
        words.append(
            f"{response}: beyond {margin:.3g} {unit_of_response(found, response)}, the margin for "
            f"any of all, lie {listed(clear[::-1]) or 'none'}"
        )
    alt = (
        "Sizes of effects against their half-normal scores, smallest to largest, with Lenth's "
        f"margins. {'; '.join(words)}."
    )
    return Exhibit(
        name="half-normal",
        title="Which effects stand out (least squares)",
        figure=half_normal_figure(found, told),
        alt=alt,
        said="Least squares on the bare readings, a full part taken as just full: a textbook's way "
        "to see which effects are more than scatter, without any belief beforehand. Where many "
        "parts are full or without flash it sees too little.",
        table=Table(
            "Effects in numbers, largest first",
            ("response", "effect", "size", "score", "beyond"),
            tuple(row for response, spread in told.items() for row in _rows(response, spread)),
        ),
    )


def _rows(response: str, spread: Spread) -> Sequence[tuple[str, ...]]:
    """Return the effects of a response as rows, the largest first."""
    beyond = {"full": "both margins", "left": "one margin", "none": "none"}
    one, all_of_them = spread.margin.margin, spread.margin.simultaneous
    return [
        (
            response,
            name,
            f"{size:.4g}",
            f"{score:.3g}",
            beyond[_fullness(abs(size), one, all_of_them)],
        )
        for name, size, score in zip(spread.names, spread.size, spread.score, strict=True)
    ][::-1]
