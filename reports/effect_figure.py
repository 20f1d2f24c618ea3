"""Fitted shots -> a picture of what each setting does: the data alone, and with what was believed.

Where the intervals of a setting lie apart, the answer rests on what was believed beforehand: that
more pressure, heat or time fills and flashes more, and that second-order effects are small.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from shotwindow.reports.changes import Change, Interval, changes, turned
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import listed
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.plain_fit import plain_effect
from shotwindow.reports.priors import MOLDING, PRIORS, other_prior
from shotwindow.reports.pull import effects_by_prior
from shotwindow.reports.theme import INK, PAPER, SIDES, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ALONE = "data alone: least squares"
ADDS = {"percent": "percent of fill added", "share": "share of shots over the limit, from 0.5"}
SHIFT = 0.24  # of a row, between the fits


def alone(found: Fitted, response: str) -> tuple[Interval | None, ...]:
    """Return what each setting adds by least squares; None where that has no answer.

    A full part counts as just full there, and one without flash as zero: it sees too little where
    there are many. Grades and words have no sums of squares.
    """
    graded = response == "flash" and found.readings.flash_grade is not None
    plain = None if graded else found.least_squares.get(response)
    return tuple(
        None if plain is None else plain_effect(found, plain, j)
        for j in range(len(found.study.factors))
    )


def effect_figure(found: Fitted) -> "Figure":
    """Draw the effects: a panel a response, a row a setting, an interval a fit.

    The full round sign on the thick line is the molding prior; the white square is the weak one,
    which believes in no direction, the upright cross least squares, which believes in nothing: a
    sign that has no area for an answer that has no belief. An interval of least squares may run
    out of the panel, which an arrowhead on the rim tells: it does not set the scale.
    """
    panels = effects_by_prior(found)
    count = len(found.study.factors)
    with themed():
        figure = new_figure(8.6, 1.1 + 0.6 * count)
        for axes, (response, by_prior) in zip(
            figure.subplots(1, len(panels), squeeze=False)[0], panels.items(), strict=True
        ):
            _panel(axes, response, by_prior, alone(found, response))
        for axes in figure.axes[1:]:
            axes.set_yticklabels([])  # the rows are the same
        named = {
            label: handle
            for axes in reversed(figure.axes)
            for handle, label in zip(*axes.get_legend_handles_labels(), strict=True)
        }
        figure.legend(named.values(), named.keys(), loc="outside lower left", ncols=3)
        return laid_out(figure)


def _panel(
    axes: "Axes",
    response: str,
    by_prior: dict[str, tuple[Change, ...]],
    bare: tuple[Interval | None, ...],
) -> None:
    """Draw one response."""
    shown, color = next(iter(by_prior.values())), SIDES[response].color
    for prior, told in by_prior.items():
        usual = prior == MOLDING
        look = {"fmt": "o" if usual else "s", "elinewidth": 2.2 if usual else 1.0}
        face = color if usual else PAPER
        effects = [(row - SHIFT * usual, change.effect) for row, change in enumerate(told)]
        _bars(axes, effects, color, markerfacecolor=face, label=f"{prior} prior", **look)
    unit = shown[0].unit
    # half of the shots pass the limit where a setting does nothing to a share
    base = 0.5 if unit == "share" else 0.0
    axes.axvline(base, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
    axes.autoscale_view()
    span = axes.get_xlim()
    told_bare = [(row + SHIFT, effect) for row, effect in enumerate(bare) if effect is not None]
    if told_bare:
        _bars(axes, told_bare, INK, fmt="+", markersize=9, elinewidth=0.8, label=ALONE)
        middles = [effect.middle for _, effect in told_bare]
        pad = 0.05 * (span[1] - span[0])
        axes.set_xlim(min(span[0], min(middles) - pad), max(span[1], max(middles) + pad))
        _point_on(axes, told_bare)
    axes.set_yticks(range(len(shown)), [turned(change.factor) for change in shown])
    axes.set_ylim(len(shown) - 0.5, -0.5)  # in the order of the study, from the top
    axes.set(title=response, xlabel=ADDS.get(unit, f"{unit} of flash added to a shot at the limit"))


def _bars(axes: "Axes", effects: list[tuple[float, Interval]], color: str, **look: Any) -> None:
    """Draw intervals, each in its row."""
    axes.errorbar(
        [effect.middle for _, effect in effects],
        [row for row, _ in effects],
        xerr=[
            [effect.middle - effect.low for _, effect in effects],
            [effect.high - effect.middle for _, effect in effects],
        ],
        color=color,
        **look,
    )


def _point_on(axes: "Axes", effects: list[tuple[float, Interval]]) -> None:
    """Draw an arrowhead on the rim where an interval goes on beyond it."""
    low, high = axes.get_xlim()
    for row, effect in effects:
        for shape, rim, beyond in (("<", low, effect.low < low), (">", high, effect.high > high)):
            if beyond:
                gid = f"beyond-{shape}"
                axes.plot([rim], [row], shape, color=INK, markersize=5, clip_on=False, gid=gid)


def interval_text(effect: Interval) -> str:
    """Return a middle value with its ends."""
    return f"{effect.middle:.2g} ({effect.low:.2g} to {effect.high:.2g})"


def effect_exhibit(found: Fitted) -> Exhibit | None:
    """Return what each setting does with its numbers; None where the fit did not converge."""
    if not found.surfaces.converged:
        return None
    rows = tuple(_effect_rows(found))
    priors = (f"{prior} prior" for prior in PRIORS)
    heads = ("response", "setting turned up", "unit", *priors, ALONE)
    alt = (
        "Intervals that hold each effect with a chance of 0.9: a row for each setting turned up, "
        f"a panel for each of {listed(list(dict.fromkeys(row[0] for row in rows)))}, with what was "
        f"believed beforehand and with the data alone.{_strongest(found)}"
    )
    caption = "Effects in numbers: middle, and the ends that hold it with a chance of 0.9"
    said = (
        "Where the intervals of a setting part, the answer rests on what was believed beforehand, "
        "and not on the shots alone. Least squares believes in nothing, but takes a full part as "
        "just full and one without flash as zero; grades and words it cannot take at all."
    )
    if found.beside is None:
        said += (
            f" The fit with the {other_prior(found.prior)} prior is left out, as this study is "
            f"large; `surfaces --prior {other_prior(found.prior)}` makes it."
        )
    return Exhibit(
        name="effects",
        title="With what was believed, and the data alone",
        figure=effect_figure(found),
        alt=alt,
        said=said,
        table=Table(caption, heads, rows),
    )


def _strongest(found: Fitted) -> str:
    """Return which setting does the most to each response; nothing where there is only one."""
    if len(found.study.factors) == 1:
        return ""
    by: dict[str, list[str]] = {}
    for surface in found.surfaces.each:
        told = changes(found, surface)
        base = 0.5 if told[0].unit == "share" else 0.0
        most = max(told, key=lambda change: abs(change.effect.middle - base))
        by.setdefault(turned(most.factor), []).append(surface.response)
    words = [f"{listed(responses)} by {setting}" for setting, responses in by.items()]
    return f" Moved most: {'; '.join(words)}."


def _effect_rows(found: Fitted) -> Iterator[tuple[str, ...]]:
    for response, by_prior in effects_by_prior(found).items():
        for j, least in enumerate(alone(found, response)):
            told = [by_prior[prior][j] if prior in by_prior else None for prior in PRIORS]
            effects = [None if change is None else change.effect for change in told]
            change = next(change for change in told if change is not None)
            yield (
                response,
                turned(change.factor),
                change.unit,
                *("no answer" if e is None else interval_text(e) for e in (*effects, least)),
            )
