"""Rows of many trials -> one table: measures down, families and methods across."""

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

import numpy as np
from benchmarks.judge import BINS, METHODS
from benchmarks.keeping import Row
from calibrations import LEVELS, covered

from shotwindow.models.press import STANDARD

#: Setpoints are judged on presses on which some mark is at least this good.
GOOD_PRESS = 0.97
NOTHING = "-"


def table(rows: Sequence[Row]) -> str:
    """Return a Markdown table for each number of shots."""
    parts = []
    for shots in sorted({row["shots"] for row in rows}):
        some = [row for row in rows if row["shots"] == shots]
        families = sorted({row["family"] for row in some})
        methods = [name for name in METHODS if any(row["method"] == name for row in some)]
        columns = [
            [row for row in some if (row["family"], row["method"]) == (family, method)]
            for family in families
            for method in methods
        ]
        head = [f"{shots} shots", *(f"{family} {m}" for family in families for m in methods)]
        lines = [head, ["---", *("---:" for _ in columns)]]
        # in the same order whichever worker was done first
        columns = [sorted(column, key=lambda row: (row["worn"], row["seed"])) for column in columns]
        for name, measure in _measures(some):
            lines.append([name, *(measure(column) for column in columns)])
        widths = [max(len(cell) for cell in column) for column in zip(*lines, strict=True)]
        parts.append("\n".join(_line(cells, widths) for cells in lines))
    return "\n\n".join(parts)


def _line(cells: list[str], widths: list[int]) -> str:
    padded = [cells[0].ljust(widths[0])]
    padded += [cell.rjust(width) for cell, width in zip(cells[1:], widths[1:], strict=True)]
    return f"| {' | '.join(padded)} |"


Measure = Callable[[list[Row]], str]


def _measures(rows: Sequence[Row]) -> Iterator[tuple[str, Measure]]:
    yield "presses", lambda column: str(len(_sound(column)))
    yield "overlap, mean", lambda column: _mean(_values(column, "overlap"))
    yield "overlap, standard error", lambda column: _error(_values(column, "overlap"))
    yield "overlap, median", lambda column: _quantile(_values(column, "overlap"), 0.5)
    if any("with_true_flash" in row for row in rows):
        yield (
            "overlap with the true flash edge",
            lambda column: _mean(_values(column, "with_true_flash")),
        )
        yield (
            "overlap with the true fill edge",
            lambda column: _mean(_values(column, "with_true_fill")),
        )
    yield "true window, share of marks", lambda column: _mean(_values(column, "true_share"))
    yield "likely window, share of marks", lambda column: _mean(_values(column, "likely_share"))
    yield "sure window, share of marks", lambda column: _mean(_values(column, "sure_share"))
    yield "sure window truly good, all marks", _sure_good
    yield "sure window truly good, mean", lambda column: _mean(_values(column, "sure_good"))
    known = {edge for row in rows for edge in row["edges"]}
    for edge in (f"{name} {side}" for name in STANDARD for side in ("low", "high")):
        if edge not in known:
            continue
        yield f"{edge.replace('_', ' ')} edge, marks off", _edge(edge)
    for level in LEVELS:
        yield f"true edge in the {level:.0%} band of its draws", _covered(level)
    yield "setpoint good, mean", lambda column: _mean(_setpoints(column))
    yield "setpoint good, 5th percentile", lambda column: _quantile(_setpoints(column), 0.05)
    yield "setpoint good, minimum", lambda column: _quantile(_setpoints(column), 0.0)
    yield '"no window" rightly', lambda column: _said([r for r in column if not _has_window(r)])
    yield '"no window" wrongly', lambda column: _said([r for r in column if _has_window(r)])
    yield "no answer at all", lambda column: f"{sum(bool(r['failure']) for r in column)}"
    for place, (low, high) in enumerate(pairwise(BINS)):
        yield f"stated {low:g} to {high:g}: less true", _gap(place)
    yield "stated less true, mean gap", _mean_gap
    yield "minutes, mean", lambda column: _mean(_values(column, "minutes"), 0)
    yield "shots, mean", lambda column: _mean(_values(column, "made"), 1)


def _sound(column: list[Row]) -> list[Row]:
    return [row for row in column if not row["worn"]]


def _has_window(row: Row) -> bool:
    return bool(row["true_share"] > 0)


def _values(column: list[Row], name: str) -> list[float]:
    found = (row.get(name) for row in _sound(column))
    return [value for value in found if value is not None]


def _setpoints(column: list[Row]) -> list[float]:
    able = [row for row in column if row["best_good"] >= GOOD_PRESS]
    return _values(able, "setpoint_good")


def _mean(values: list[float], digits: int = 3) -> str:
    return f"{np.mean(values):.{digits}f}" if values else NOTHING


def _error(values: list[float]) -> str:
    few = len(values) < 2
    return NOTHING if few else f"{np.std(values, ddof=1) / np.sqrt(len(values)):.3f}"


def _quantile(values: list[float], share: float) -> str:
    return f"{np.quantile(values, share):.3f}" if values else NOTHING


def _sure_good(column: list[Row]) -> str:
    """All sure marks of all presses together: a large window counts for more than a small one."""
    some = [row for row in _sound(column) if row["sure_share"]]
    if not some:
        return NOTHING
    share = np.array([row["sure_share"] for row in some])
    return f"{np.average([row['sure_good'] for row in some], weights=share):.3f}"


def _edge(name: str) -> Measure:
    def median(column: list[Row]) -> str:
        off = [row["edges"][name] for row in _sound(column) if name in row["edges"]]
        return f"{np.median(off):.1f} ({len(off)})" if off else NOTHING

    return median


def _covered(level: float) -> Measure:
    def share(column: list[Row]) -> str:
        ranks = [r for row in _sound(column) for r in (row.get("edge_ranks") or {}).values()]
        return f"{covered(np.array(ranks), level):.3f} ({len(ranks)})" if ranks else NOTHING

    return share


def _said(column: list[Row]) -> str:
    said = sum(row["says_none"] and not row["failure"] for row in column)
    return f"{said} of {len(column)}" if column else NOTHING


def _gaps(column: list[Row]) -> list[float | None]:
    """Stated less true share of good shots of each bin, over all marks of all presses."""
    bins = [row["bins"] for row in _sound(column) if row["bins"] is not None]
    if not bins:
        return [None] * (len(BINS) - 1)
    sums = np.sum(bins, axis=0)
    return [float((stated - true) / n) if n else None for n, stated, true in sums]


def _gap(place: int) -> Measure:
    def one(column: list[Row]) -> str:
        gap = _gaps(column)[place]
        return NOTHING if gap is None else f"{gap:+.3f}"

    return one


def _mean_gap(column: list[Row]) -> str:
    return _mean([abs(gap) for gap in _gaps(column) if gap is not None])
