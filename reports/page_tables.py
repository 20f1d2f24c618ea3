"""Findings -> the tables and sentences of a page: where to run, where the edges are, what acts."""

from shotwindow.reports.edge_words import edge_sentences, never_seen
from shotwindow.reports.effect_words import response_sentences
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import chance, plural, spoken, unit_of, with_unit
from shotwindow.reports.page_pictures import Table
from shotwindow.reports.verdicts import margins
from shotwindow.reports.words import band_text, margin_text


def setpoint_table(found: Findings) -> Table | None:
    """Return setpoint and ranges, setting by setting; None without a setpoint."""
    point, ranges = found.setpoint, found.ranges
    if point is None:
        return None
    ratio = found.study.press.area_ratio
    rows = []
    for j, factor in enumerate(found.study.factors):
        value = point.settings[j]
        span = "none"
        if ranges is not None:
            low, high = found.range_ends[j]
            marks = plural(factor.marks_between(low, high), "mark")
            ends = factor.text(low) + (f" to {factor.text(high)}" if low < high else "")
            span = f"{ends} ({marks})"
        melt = ""
        if ratio and factor.role == "pressure" and factor.reads == "gauge":
            melt = f"; about {value * ratio:.3g} {factor.unit} melt"
        rows.append(
            (
                spoken(factor.name),
                with_unit(factor, value) + melt,
                f"+/-{factor.holds:g} {factor.unit}",
                span,
            )
        )
    of = f"range ({ranges.of} window)" if ranges is not None else "range"
    caption = (
        f"Chance of a good shot {chance(point.probability_good)}, at worst "
        f"{chance(point.probability_held)} over what the press holds; chance that the setpoint "
        f"lies in the window {chance(point.probability_in_window)}"
    )
    return Table(caption, ("setting", "setpoint", "held to", of), tuple(rows))


def edge_table(found: Findings) -> Table | None:
    """Return edges with bands and margins; None without any."""
    if not found.edges:
        return None
    by_name = {f.name: f for f in found.study.factors}
    rows = []
    for edge, margin in zip(found.edges, margins(found), strict=True):
        factor = by_name[edge.factor]
        rows.append(
            (
                f"{spoken(factor.name)} {'down' if edge.side == 'low' else 'up'}",
                *band_text(factor, edge),
                unit_of(factor),
                margin_text(factor, margin),
            )
        )
    heads = ("moved", "fails as", "edge at", "50 % band", "90 % band", "unit", "margin")
    caption = (
        "Edges of the window, one setting moved at a time from the setpoint; in brackets the "
        "marks that stay in the sure window"
    )
    return Table(caption, heads, tuple(rows))


def effect_sentences(found: Findings) -> list[tuple[str, list[str]]]:
    """Return the sentences of each response under their heads, then those of the edges."""
    names = {
        "fill": "Fill, as it changes in a part that is just short",
        "flash": "Flash, counted from the limit of a good part",
        "other": "Other rejects",
    }
    effects = [(names[s.response], response_sentences(found, s)) for s in found.surfaces.each]
    edges = [*never_seen(found), *edge_sentences(found)]
    return [*effects, ("Edges, where half of the shots pass", edges)]
