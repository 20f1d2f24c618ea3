"""Two windows compared -> what `compare` prints: what differs, how surely, what suits both."""

from shotwindow.models.shifts import Span
from shotwindow.reports.comparing import Compared
from shotwindow.reports.naming import (
    chance,
    listed,
    percent,
    plural,
    setting_words,
    spoken,
    unit_of,
)
from shotwindow.reports.words import columns, paragraph

CLEAR = 0.95  # chance from which one window is called the larger, or an edge higher


def conclusion(found: Compared) -> str:
    """Return in a sentence or two whether the windows differ."""
    c = found.comparison
    larger = c.chance_b_larger
    if max(larger, 1.0 - larger) < CLEAR:
        text = "It cannot be told which of the two windows is larger"
    else:
        text = f"The window of {'B' if larger > 0.5 else 'A'} is the larger one"
    text += (
        f": B holds {_signed(c.difference)} of all settings more than A (chance that it is larger "
        f"{chance(larger)})."
    )
    clear = [
        f"the {s.side} edge of {spoken(s.factor)} lies "
        f"{'higher' if s.chance_higher > 0.5 else 'lower'}"
        for s in c.shifts
        if max(s.chance_higher, 1.0 - s.chance_higher) >= CLEAR
    ]
    return text + (f" In B {listed(clear)}." if clear else "")


def _signed(span: Span) -> str:
    return f"{100 * span.median:+.1f} % ({100 * span.low:+.1f} to {100 * span.high:+.1f} %)"


def common_words(found: Compared) -> str:
    """Return the setting that suits both best, and how well."""
    common = found.comparison.common
    wanted = min(found.a.study.good_from, found.b.study.good_from)
    held = min(common.held_a, common.held_b)
    lead = "Good in both" if held >= wanted else "No setting is good enough in both; the best"
    here = setting_words(found.a.study.factors, common.a)
    there = setting_words(found.b.study.factors, common.b)
    where = f"{here} in A" + (f", {there} in B" if there != here else " and in B")
    holders = "the presses hold" if found.lots is None else "the press holds"
    return (
        f"{lead}: {where}; lowest chance of a good shot over what {holders} "
        f"{chance(common.held_a)} in A and {chance(common.held_b)} in B, chance to lie in both "
        f"windows {chance(common.in_both)}."
    )


def matching_notes(found: Compared) -> list[str]:
    """Return how the studies were matched, and what the comparison does not cover."""
    notes = []
    if found.match.by_melt:
        names = listed([spoken(name) for name in found.match.by_melt])
        notes.append(f"The {names} was matched by melt pressure, through the area ratios.")
    if found.match.by_gauge and found.a.study.press.name != found.b.study.press.name:
        names = listed([spoken(name) for name in found.match.by_gauge])
        notes.append(
            f"The {names} was matched as the gauges of the two presses read: without the "
            "area_ratio of both, the same reading need not be the same pressure on the melt."
        )
    if found.lots is not None:
        return notes + _lot_notes(found, found.lots)
    for name, one in (("A", found.a), ("B", found.b)):
        if one.window is not None and one.window.open_edges:
            edges = listed(["short" if r == "fill" else r for r in one.window.open_edges])
            notes.append(f"The {edges} edge of {name} was never seen, so that it may lie farther.")
        if len(one.surfaces.lots) > 1:
            lots = listed([lot or "unnamed" for lot in one.surfaces.lots])
            notes.append(f"{name} is judged for the worst of the lots {lots}.")
    if found.a.study.good_from != found.b.study.good_from:
        notes.append("They ask for different shares of good shots; each window is by its own.")
    return notes


def _lot_notes(found: Compared, lots: tuple[str, str]) -> list[str]:
    """Return what the comparison of two lots of one study rests on."""
    rows = [row for row in found.a.rows if row.is_fitted]
    shots = [sum(row.lot == lot for row in rows) for lot in lots]
    one, other = ({row.group for row in rows if row.lot == lot} for lot in lots)
    notes = [
        f"{plural(shots[0], 'shot')} of A and {shots[1]} of B. A lot is taken to move fill and "
        "flash up or down as a whole, so that the shape of the edges is that of all shots.",
    ]
    if any(f.is_slow for f in found.a.study.factors) and not one & other:
        notes.append(
            "No temperature group holds shots of both lots: what the lots do and what the groups "
            "do is hard to tell apart."
        )
    if found.a.window is not None and found.a.window.open_edges:
        edges = listed(["short" if r == "fill" else r for r in found.a.window.open_edges])
        notes.append(f"The {edges} edge was never seen, so that it may lie farther.")
    return notes


def _heading(found: Compared) -> str:
    names = [one.study.title or f"study {name}" for name, one in (("A", found.a), ("B", found.b))]
    if found.lots is not None:
        a, b = (f'lot "{lot}"' if lot else "the lot without a name" for lot in found.lots)
        return f"A: {a}; B: {b}; both of {found.a.study.title or 'one study'}"
    if names[0] == names[1]:  # the teams of a class, or a copied study.toml
        names = [f"{names[0]}, named first", f"{names[1]}, named second"]
    return f"A: {names[0]}; B: {names[1]}"


def compare_lines(found: Compared) -> list[str]:
    """Return everything that `compare` prints."""
    c = found.comparison
    rows = [("", "share of settings", "90 % interval")]
    rows += [
        (name, percent(span.median), f"{percent(span.low)} to {percent(span.high)}")
        for name, span in (
            ("in the window of A", c.share_a),
            ("in the window of B", c.share_b),
            ("in both", c.both),
            ("in that of A only", c.only_a),
            ("in that of B only", c.only_b),
        )
    ]
    lines = [
        *paragraph(_heading(found)),
        "",
        *paragraph(conclusion(found)),
        "",
        *paragraph(
            f"Settings that {'both studies allow' if found.lots is None else 'are allowed'} and "
            f"tried ({c.marks} looked at)"
        ),
        *columns(rows),
        *paragraph(
            f"Surely in one only (chance 0.9 or more): A {percent(c.sure_only_a)}, "
            f"B {percent(c.sure_only_b)}",
            2,
        ),
        "",
        *paragraph(common_words(found)),
        "",
        *_shift_lines(found),
    ]
    for note in matching_notes(found):
        lines += paragraph(note, 2, "- ")
    return lines


def _shift_lines(found: Compared) -> list[str]:
    factors = {f.name: f for f in found.a.study.factors}
    rows = [("edge", "B less A", "90 % interval", "chance higher")]
    for shift in found.comparison.shifts:
        factor = factors[shift.factor]
        name = f"{spoken(shift.factor)} {shift.side} ({unit_of(factor)})"
        if shift.moved is None:
            rows.append((name, "not seen in both", "", chance(shift.chance_higher)))
        else:
            moved = shift.moved
            rows.append(
                (name, f"{moved.median:+.2g}", f"{moved.low:+.2g} to {moved.high:+.2g}",
                 chance(shift.chance_higher))
            )  # fmt: skip
    return ["Edges through that setting, one factor moved at a time, as set in A", *columns(rows)]
