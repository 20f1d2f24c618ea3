"""Findings -> the shape of the window in words: its parts, what limits it, its edges as curves."""

from shotwindow.doe.factors import Factor
from shotwindow.models.edge_curves import CurvePoint, EdgeCurve
from shotwindow.models.limiting import Limit
from shotwindow.models.parts import Part
from shotwindow.models.window import NORMAL_TO
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import (
    WORDS_OF,
    axis_label,
    chance,
    listed,
    percent,
    plural,
    setting_words,
    spoken,
    unit_of,
    with_unit,
)

MOST_PARTS = 3  # that are told one by one
SMALL = 0.01  # of the window: smaller parts are specks of the marks


def shape_sentences(found: Findings) -> tuple[str, ...]:
    """Return how the likely window hangs together and what ends it; none without a window."""
    if found.window is None:
        return ()
    sentences = (parts_words(found), limits_words(found.limits), cavity_words(found.limits))
    return tuple(sentence for sentence in sentences if sentence)


def parts_words(found: Findings) -> str:
    """Return whether the likely window is in one piece, and where its pieces lie if not."""
    whole = sum(part.marks for part in found.parts)
    large = [part for part in found.parts if part.marks >= SMALL * whole]
    if not large:
        return ""
    if len(large) == 1:
        return "The likely window is in one piece."
    told = [_part_words(found, part, whole) for part in large[:MOST_PARTS]]
    rest = len(large) - len(told)
    return (
        f"The likely window falls into {plural(len(large), 'part')}: {'; '.join(told)}"
        + (f"; and {rest} more" if rest else "")
        + ". Between them shots are bad: do not turn from one to the other without looking."
    )


def _part_words(found: Findings, part: Part, whole: int) -> str:
    assert found.window is not None  # which it is a part of
    ends = listed([
        f"{spoken(f.name)} {f.text(f.marks[a])} to {with_unit(f, float(f.marks[b]))}"
        for f, a, b in zip(found.window.factors, part.low, part.high, strict=True)
    ])  # fmt: skip
    return f"{percent(part.marks / whole)} of it within {ends}"


def limits_words(limits: tuple[Limit, ...]) -> str:
    """Return how much of the settings outside of the window each response keeps out."""
    told = [f"{WORDS_OF[x.response]} {percent(x.share)}" for x in limits if x.share > 0]
    if not told:
        return ""
    return f"Of the tried settings outside of it, what fails first is {listed(told)}."


def cavity_words(limits: tuple[Limit, ...]) -> str:
    """Return which cavity is the first to fail at each edge, where each was read by itself."""
    told = [
        f"cavity {x.weakest.cavity} at the {WORDS_OF[x.response]} edge "
        f"(chance {chance(x.weakest.chance)})"
        for x in limits
        if x.weakest is not None
    ]
    return f"First to fail: {listed(told)}." if told else ""


def stricter_rows(found: Findings) -> list[tuple[str, str, str]]:
    """Return the shares of the window for stricter demands, under a head; empty without any."""
    if found.window is None or not found.window.stricter:
        return []
    rows = [
        (
            f"{100 * s.good_from:g} % of shots good" + ("*" if s.good_from > NORMAL_TO else ""),
            percent(s.share_likely),
            percent(s.share_sure),
        )
        for s in found.window.stricter
    ]
    return [("if the demand were stricter", "likely", "sure"), *rows]


def preference_words(found: Findings) -> str:
    """Return what a preference changed and what that costs; "" without one."""
    plain, chosen = found.plain, found.setpoint
    if plain is None or chosen is None:
        return ""
    name = found.study.prefer.replace("-", " ")
    if plain.mark == chosen.mark:
        return f"Preferring {name} changes nothing: the setpoint is the same without."
    where = setting_words(found.study.factors, plain.settings)
    less = plain.probability_held - chosen.probability_held
    cost = f"{less:.3f}" if less >= 0.0005 else "nothing"
    before, after = room(found, plain.mark), room(found, chosen.mark)
    return (
        f"{name.capitalize()} was preferred. Without that: {where}. It costs {cost} "
        f"of the lowest chance of a good shot; the nearest end of the window is "
        f"{plural(after, 'mark')} away in place of {before}."
    )


def room(found: Findings, mark: tuple[int, ...]) -> int:
    """Return how many marks any one factor can be turned from a mark and stay likely good."""
    assert found.window is not None
    likely, kept = found.window.likely, found.window.factors
    least = max(factor.count for factor in found.study.factors)
    for axis, place in enumerate(mark):
        line = likely[tuple(slice(None) if a == axis else m for a, m in enumerate(mark))]
        if line.size == 1:
            continue
        for way in (line[place::-1], line[place:]):
            stays = int(way.size if way.all() else way.argmin())
            every = round(kept[axis].step / found.study.factors[axis].step)
            least = min(least, every * max(0, stays - 1))
    return least


def curve_rows(found: Findings) -> list[tuple[str, str, str]]:
    """Return the edges of the main factor at three settings of each other one, under a head."""
    by_name = {f.name: f for f in found.study.factors}
    ways: dict[str, dict[str, EdgeCurve]] = {}
    for curve in found.curves:
        ways.setdefault(curve.along, {})[curve.side] = curve
    rows: list[tuple[str, str, str]] = []
    for name, both in ways.items():
        along, low, high = by_name[name], both["low"], both["high"]
        main, count = by_name[low.factor], len(low.points)
        for i in sorted({0, count // 2, count - 1}):
            place = f"{spoken(along.name)} {along.text(low.points[i].at)} {unit_of(along)}"
            rows.append((place, _edge_text(main, low.points[i]), _edge_text(main, high.points[i])))
    head = [("at", "low edge (90 % band)", "high edge (90 % band)")] if rows else []
    return head + rows


def curve_title(found: Findings) -> str:
    """Return what `curve_rows` are of; "" where there are none."""
    if not found.curves:
        return ""
    by_name = {f.name: f for f in found.study.factors}
    return f"Edges of {axis_label(by_name[found.curves[0].factor])} over the other settings"


def _edge_text(factor: Factor, point: CurvePoint) -> str:
    if point.median is None:
        return "beyond what was tried" if point.chance >= 0.5 else "no window there"
    if point.chance < 0.5:
        return "no window there"
    ends = " to ".join(".." if e is None else _at(factor, e) for e in point.band90)
    return f"{_at(factor, point.median)} ({ends})"


def _at(factor: Factor, value: float) -> str:
    """Return a place on a dial to a tenth of a mark, no finer."""
    return factor.text(round(value / factor.step, 1) * factor.step)
