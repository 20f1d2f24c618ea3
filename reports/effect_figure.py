"""Findings -> a picture of what each setting does, with and without a belief in its direction.

Where the two intervals of a setting lie apart, the answer rests on the belief that more pressure,
heat or time fills and flashes more, and not on the shots alone.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from shotwindow.models.surface import fit_surfaces
from shotwindow.reports.changes import Change, Interval, changes
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import listed, spoken
from shotwindow.reports.page_pictures import Exhibit, Table
from shotwindow.reports.theme import INK, PAPER, SIDES, laid_out, new_figure, themed

if TYPE_CHECKING:  # loading it takes longer than all the rest
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BELIEFS = {True: "direction believed beforehand", False: "either direction as likely"}
ADDS = {"percent": "percent of fill added", "share": "share of shots over the limit, from 0.5"}


def both_beliefs(found: Findings) -> dict[bool, Findings]:
    """Return the findings with and without the belief in a direction: one of them fitted anew.

    A fit that did not converge is left out.
    """
    other = fit_surfaces(found.readings, seed=found.seed, signs=not found.signs)
    both = {found.signs: found, not found.signs: replace(found, surfaces=other)}
    return {belief: both[belief] for belief in BELIEFS if both[belief].surfaces.converged}


def effects_by_response(both: dict[bool, Findings]) -> dict[str, dict[bool, tuple[Change, ...]]]:
    """Return what each setting does, response by response and belief by belief."""
    first = next(iter(both.values()))
    return {
        surface.response: {
            belief: changes(found, found.surfaces.each[i]) for belief, found in both.items()
        }
        for i, surface in enumerate(first.surfaces.each)
    }


def effect_figure(both: dict[bool, Findings]) -> "Figure":
    """Draw the effects: a panel a response, a row a setting, an interval a belief."""
    panels = effects_by_response(both)
    count = len(next(iter(both.values())).study.factors)
    with themed():
        figure = new_figure(8.6, 1.1 + 0.55 * count)
        for axes, (response, by_belief) in zip(
            figure.subplots(1, len(panels), squeeze=False)[0], panels.items(), strict=True
        ):
            _panel(axes, response, by_belief)
        for axes in figure.axes[1:]:
            axes.set_yticklabels([])  # the rows are the same
        handles, labels = figure.axes[0].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside lower left", ncols=2)
        return laid_out(figure)


def change_label(change: Change) -> str:
    """Return which setting is turned up, and how far."""
    return f"{spoken(change.factor.name)} +{change.factor.text(change.delta)} {change.factor.unit}"


def _panel(axes: "Axes", response: str, by_belief: dict[bool, tuple[Change, ...]]) -> None:
    """Draw one response; a round full sign is the answer given, a white square the one beside."""
    shown = next(iter(by_belief.values()))
    for belief, told in by_belief.items():
        rows = [row + (-0.14 if belief else 0.14) for row in range(len(told))]
        middles = [change.effect.middle for change in told]
        below = [c.effect.middle - c.effect.low for c in told]
        above = [c.effect.high - c.effect.middle for c in told]
        axes.errorbar(
            middles,
            rows,
            xerr=[below, above],
            fmt="o" if belief else "s",
            color=SIDES[response].color,
            markerfacecolor=SIDES[response].color if belief else PAPER,
            elinewidth=2.2 if belief else 1.0,
            label=BELIEFS[belief],
        )
    unit = shown[0].unit
    # half of the shots pass the limit where a setting does nothing to a share
    axes.axvline(0.5 if unit == "share" else 0.0, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
    axes.set_yticks(range(len(shown)), [change_label(change) for change in shown])
    axes.set_ylim(len(shown) - 0.5, -0.5)  # in the order of the study, from the top
    axes.set(title=response, xlabel=ADDS.get(unit, f"{unit} of flash added to a shot at the limit"))


def interval_text(effect: Interval) -> str:
    """Return a middle value with its ends."""
    return f"{effect.middle:.2g} ({effect.low:.2g} to {effect.high:.2g})"


def effect_exhibit(found: Findings) -> Exhibit | None:
    """Return what each setting does with its numbers; None where the fit did not converge."""
    if not found.surfaces.converged:
        return None
    both = both_beliefs(found)
    rows = tuple(_effect_rows(both))
    heads = ("response", "setting turned up", "unit", *(BELIEFS[belief] for belief in both))
    alt = (
        "Intervals that hold each effect with a chance of 0.9: a row for each setting turned up, "
        f"a panel for each of {listed(list(dict.fromkeys(row[0] for row in rows)))}. Their numbers "
        "stand in the table below."
    )
    caption = "Effects in numbers: middle, and the ends that hold it with a chance of 0.9"
    return Exhibit(
        name="effects",
        title="Beside a fit that believes in no direction",
        figure=effect_figure(both),
        alt=alt,
        said="Where the two intervals of a setting part, the answer rests on what was believed "
        "beforehand, and not on the shots alone.",
        table=Table(caption, heads, rows),
    )


def _effect_rows(both: dict[bool, Findings]) -> Iterator[tuple[str, ...]]:
    for response, by_belief in effects_by_response(both).items():
        for told in zip(*by_belief.values(), strict=True):
            effects = (interval_text(change.effect) for change in told)
            yield (response, change_label(told[0]), told[0].unit, *effects)
