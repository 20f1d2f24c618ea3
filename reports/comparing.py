"""Two studies' folders -> where their windows differ, in words and as JSON."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from shotwindow.doe.common_factors import Match, match_factors
from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.study import read_study
from shotwindow.models.comparison import Common, Comparison, compare_windows
from shotwindow.models.shifts import Shift, Side, Span
from shotwindow.reports.documents import by_name
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.naming import chance, listed, percent, setting_words, spoken, unit_of
from shotwindow.reports.verdicts import fit_failed
from shotwindow.reports.words import columns, paragraph

CLEAR = 0.95  # chance from which one window is called the larger, or an edge higher


@dataclass(frozen=True)
class Compared:
    """Two studies with what sets them apart."""

    a: Findings
    b: Findings
    match: Match
    comparison: Comparison


def compare(a: Path, b: Path, *, seed: int = 1, signs: bool = True) -> Compared:
    """Compare the windows of two studies.

    Raises
    ------
    StudyError
        If a study needs mending, or their factors do not match.
    Unanswerable
        If a fit did not converge, or the studies have no setting in common.
    """
    match = match_factors(read_study(a), read_study(b))  # before the fits, which take a while
    one, other = (read_findings(folder, seed=seed, signs=signs) for folder in (a, b))
    for found in (one, other):
        if found.window is None:
            raise Unanswerable(fit_failed(found))
    comparison = compare_windows(_side(one), _side(other), match, seed=seed)
    return Compared(one, other, match, comparison)


def _side(found: Findings) -> Side:
    return Side(found.study, found.goodness, found.region)


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
    return (
        f"{lead}: {where}; lowest chance of a good shot over what the presses hold "
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
    for name, one in (("A", found.a), ("B", found.b)):
        if one.window is not None and one.window.open_edges:
            edges = listed(["short" if r == "fill" else r for r in one.window.open_edges])
            notes.append(f"The {edges} edge of {name} was never seen, so that it may lie farther.")
        if len(one.surfaces.lots) > 1:
            lots = listed([lot or "unnamed" for lot in one.surfaces.lots])
            notes.append(f"{name} is judged for the worst of the lots {lots}.")
    if found.a.study.good_from != found.b.study.good_from:
        notes.append("Each window is that of its own good_from; they differ.")
    return notes


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
        *paragraph(f"A: {found.a.study.title or 'study A'}; B: {found.b.study.title or 'study B'}"),
        "",
        *paragraph(conclusion(found)),
        "",
        *paragraph(f"Settings that both studies allow and tried ({c.marks} looked at)"),
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


def compare_document(found: Compared) -> dict[str, Any]:
    """Return what `compare` found."""
    c = found.comparison
    spans = ("share_a", "share_b", "both", "only_a", "only_b", "difference")
    return {
        "a": _study(found.a),
        "b": _study(found.b),
        "conclusion": conclusion(found),
        "settings_looked_at": c.marks,
        **{name: vars(getattr(c, name)) for name in spans},
        "chance_b_larger": c.chance_b_larger,
        "sure_only_a": c.sure_only_a,
        "sure_only_b": c.sure_only_b,
        "good_in_both": _common(found, c.common),
        "edges": [_shift(shift) for shift in c.shifts],
        "matched_by_melt_pressure": list(found.match.by_melt),
        "notes": matching_notes(found),
    }


def _study(found: Findings) -> dict[str, Any]:
    return {
        "title": found.study.title,
        "good_from": found.study.good_from,
        "fingerprint": found.fingerprint,
    }


def _common(found: Compared, common: Common) -> dict[str, Any]:
    return {
        "a": by_name(found.a.study.factors, common.a),
        "b": by_name(found.b.study.factors, common.b),
        "held_probability_good_a": common.held_a,
        "held_probability_good_b": common.held_b,
        "probability_in_both": common.in_both,
    }


def _shift(shift: Shift) -> dict[str, Any]:
    return asdict(shift)
