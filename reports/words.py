"""Findings -> what `window` prints: plain words and numbers, 80 columns wide, ASCII only."""

from collections.abc import Iterable, Sequence
from textwrap import wrap

from shotwindow.doe.factors import Factor
from shotwindow.models.margins import Edge
from shotwindow.models.window import SURE
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import axis_label, chance, plural, setting_words, spoken, with_unit
from shotwindow.reports.notes import notes
from shotwindow.reports.points import Point, Predicted
from shotwindow.reports.priors import MOLDING
from shotwindow.reports.shape_words import (
    curve_rows,
    curve_title,
    preference_words,
    shape_sentences,
    stricter_rows,
)
from shotwindow.reports.verdicts import Margin, fails_as, margins, share_words, verdict

WIDTH = 80


def paragraph(text: str, indent: int = 0, mark: str = "") -> list[str]:
    """Return a text as lines that fit, the first with a mark in front of it.

    Examples
    --------
    >>> from shotwindow.reports.words import paragraph
    >>> paragraph("short", 2, "- ")
    ['  - short']
    """
    lead = " " * indent + mark
    return wrap(
        text,
        WIDTH,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_long_words=False,
        break_on_hyphens=False,
    )


def columns(rows: Iterable[Sequence[str]], indent: int = 2) -> list[str]:
    """Return rows of text as lines with columns, cut to no width.

    Examples
    --------
    >>> from shotwindow.reports.words import columns
    >>> columns([("a", "1"), ("long", "22")])
    ['  a     1', '  long  22']
    """
    table = [tuple(row) for row in rows]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    return [
        " " * indent + "  ".join(t.ljust(w) for t, w in zip(row, widths, strict=True)).rstrip()
        for row in table
    ]


def window_lines(found: Findings, points: Sequence[Point] = ()) -> list[str]:
    """Return everything that `window` prints, headings in capitals of their first letter."""
    lines = [*_head(found), "", *paragraph(verdict(found)), ""]
    if found.window is not None:
        lines += [*_share_lines(found), ""]
    if found.setpoint is not None:
        lines += [*_setpoint_lines(found), "", *_edge_lines(found), ""]
        lines += [*_margin_lines(found), ""]
    if found.curves:
        lines += [*paragraph(curve_title(found)), *columns(curve_rows(found)), ""]
    if found.ranges is not None:
        lines += [*_range_lines(found), ""]
    if points:
        lines += [*_point_lines(found, points), ""]
    lines += ["Keep in mind"]
    for note in notes(found):
        lines += paragraph(note, 2, "- ")
    return lines


def _head(found: Findings) -> list[str]:
    title = found.study.title or found.study.mold.name or "Study without a title"
    shots = plural(len(found.readings.shot), "shot")
    groups = ""
    if any(f.is_slow for f in found.study.factors):
        groups = f" in {plural(found.surfaces.groups, 'temperature group')}"
    prior = "" if found.prior == MOLDING else f", {found.prior} prior"
    return paragraph(f"{title}: {shots}{groups}, seed {found.seed}{prior}")


def _share_lines(found: Findings) -> list[str]:
    likely, sure = share_words(found)
    good = f"{100 * found.study.good_from:g} %"
    return [
        *paragraph(f"Window: settings where {good} or more of all shots are good"),
        *columns(
            [
                ("likely window (chance 0.5 or more)", f"{likely} of all settings allowed"),
                ("sure window   (chance 0.9 or more)", sure),
            ]
        ),
        *paragraph(" ".join(shape_sentences(found)), 2),
        *_stricter_lines(found),
    ]


def _stricter_lines(found: Findings) -> list[str]:
    rows = stricter_rows(found)
    if not rows:
        return []
    starred = any(row[0].endswith("*") for row in rows)
    star = "* takes scatter as normal far out in its tails, where nobody measured it"
    return ["", *columns(rows), *(paragraph(star, 2) if starred else [])]


def _setpoint_lines(found: Findings) -> list[str]:
    point = found.setpoint
    assert point is not None
    rows = [
        (spoken(f.name), with_unit(f, v), f"+/- {f.holds:g}")
        for f, v in zip(found.study.factors, point.settings, strict=True)
    ]
    return [
        "Setpoint (with what the press holds)",
        *columns(rows),
        *columns(
            [
                ("chance of a good shot there", chance(point.probability_good)),
                ("lowest over what the press holds", chance(point.probability_held)),
                ("chance that it lies in the window", chance(point.probability_in_window)),
            ]
        ),
        *paragraph(preference_words(found), 2),
    ]


def _edge_lines(found: Findings) -> list[str]:
    """Return where the window ends along each factor, with bands and what fails beyond."""
    by_name = {f.name: f for f in found.study.factors}
    rows = [("", "fails as", "edge at", "50 % band", "90 % band", "away")]
    for edge in found.edges:
        factor = by_name[edge.factor]
        away = "" if edge.scatters is None else f"{edge.scatters:.1f} sd"
        rows.append(("down" if edge.side == "low" else "up", *band_text(factor, edge), away))
    table = columns(rows, indent=4)
    lines = ["Edges, one setting moved at a time from the setpoint", table[0]]
    for edge, line in zip(found.edges, table[1:], strict=True):
        if edge.side == "low":
            lines.append(f"  {axis_label(by_name[edge.factor])}")
        lines.append(line)
    last = '("beyond" and "..": outside of what was tried; sd: scatter of a new shot)'
    return [*lines, f"  {last}"]


def band_text(factor: Factor, edge: Edge) -> tuple[str, str, str, str]:
    """Return what fails beyond an edge, where it is, and its two bands."""
    return (
        fails_as(None if edge.median is None else edge.response),
        "beyond" if edge.median is None else _at(factor, edge.median),
        _band(factor, edge.band50),
        _band(factor, edge.band90),
    )


def _margin_lines(found: Findings) -> list[str]:
    """Return how far the setpoint is from each edge, in units and in whole marks."""
    by_name = {f.name: f for f in found.study.factors}
    ways: dict[str, list[str]] = {}
    for margin in margins(found):
        ways.setdefault(margin.factor, []).append(margin_text(by_name[margin.factor], margin))
    rows = [("", "down", "up"), *((spoken(name), *both) for name, both in ways.items())]
    return [
        *paragraph("Margins to the edges; in brackets the marks that stay in the sure window"),
        *columns(rows),
    ]


def margin_text(factor: Factor, margin: Margin) -> str:
    """Return how far an edge is away, in units and in whole marks."""
    if margin.tried < factor.step / 2:
        return "end of what was tried"
    if margin.distance is None:
        return f"no edge within {factor.text(margin.tried)} {factor.unit} ({margin.sure_marks})"
    assert margin.marks is not None  # where there is a distance
    away = f"{_at(factor, margin.distance)} {factor.unit}, {plural(margin.marks, 'mark')}"
    return f"{away} ({margin.sure_marks})"


def _at(factor: Factor, value: float) -> str:
    """Return a place on a dial to a tenth of a mark, no finer."""
    return factor.text(round(value / factor.step, 1) * factor.step)


def _band(factor: Factor, band: tuple[float | None, float | None]) -> str:
    if band == (None, None):
        return "beyond"
    low, high = (".." if end is None else _at(factor, end) for end in band)
    return f"{low} to {high}"


def _range_lines(found: Findings) -> list[str]:
    ranges = found.ranges
    assert ranges is not None
    rows = [
        (
            spoken(f.name),
            f"{f.text(low)} to {with_unit(f, high)}" if low < high else with_unit(f, low),
            plural(f.marks_between(low, high), "mark"),
        )
        for f, (low, high) in zip(found.study.factors, found.range_ends, strict=True)
    ]
    return [
        *paragraph(f"Ranges: every combination of these lies in the {ranges.of} window"),
        *columns(rows),
    ]


def _point_lines(found: Findings, points: Sequence[Point]) -> list[str]:
    lines = ["Settings that were asked for"]
    for point in points:
        lines += paragraph(setting_words(found.study.factors, point.settings), 2, "- ")
        if point.reason:
            lines += paragraph(f"no answer: {point.reason}", 4)
            continue
        assert point.probability_good is not None and point.probability_in_window is not None
        assert point.fill is not None and point.flash is not None  # where there is an answer
        lines += paragraph(
            f"good shot {chance(point.probability_good)}, in the window "
            f"{chance(point.probability_in_window)}; 9 of 10 shots: {_fill_span(point.fill)}, "
            f"{_flash_span(found, point.flash)}",
            4,
        )
    return lines


def _fill_span(fill: Predicted) -> str:
    if fill.low >= 100:
        return "full"
    high = "full" if fill.high >= 100 else f"{fill.high:.0f} %"
    return f"fill {fill.low:.0f} % to {high}"


def _flash_span(found: Findings, flash: Predicted) -> str:
    scale = found.study.flash
    if scale.unit == "grade":
        return f"flash grade {flash.low:g} to {flash.high:g}"
    return f"flash {flash.low:.2g} to {flash.high:.2g} {scale.unit}"


def next_step(found: Findings, folder: str) -> str:
    """Return what to do after `window`."""
    if any(row.outcome == "open" for row in found.rows):
        return f"shotwindow record {folder}   (the shots that are left)"
    if found.window is None:
        return f"shotwindow surfaces {folder}   (what each setting does, and which fit failed)"
    if found.setpoint is None:
        return f"shotwindow next {folder}   (the shots that would tell most about where to go)"
    if found.window.open_edges:
        return f"shotwindow next {folder}   (shots toward the edge that was never seen)"
    if found.setpoint.narrow or found.setpoint.probability_in_window < SURE:
        return f"shotwindow next {folder}   (the shots that would sharpen the window most)"
    if any(row.kind == "confirm" for row in found.rows):
        return f"shotwindow report {folder}   (one page with all of this, to keep or hand on)"
    return (
        f"shotwindow confirm {folder}   (fresh shots that prove the setpoint), or "
        f"shotwindow report {folder}"
    )
