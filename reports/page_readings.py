"""Fitted shots -> every shot with its settings and readings, as a table of the page."""

from collections.abc import Sequence

from shotwindow.doe.rows import Row
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import axis_label
from shotwindow.reports.page_pictures import Table


def reading_table(found: Fitted) -> Table:
    """Return every shot with its settings and readings, as they stand in runs.csv."""
    heads = (
        "shot",
        "group",
        "kind",
        *(axis_label(f) for f in found.study.factors),
        f"fill ({'g' if found.study.fill.measured == 'mass' else '%'})",
        f"flash ({found.study.flash.unit})",
        "other",
        "status",
        "note",
    )
    return Table("Every shot in running order", heads, tuple(_row(found, r) for r in found.rows))


def _row(found: Fitted, row: Row) -> tuple[str, ...]:
    settings = (f.text(v) for f, v in zip(found.study.factors, row.settings, strict=True))
    return (
        str(row.shot),
        str(row.group),
        row.kind,
        *settings,
        _values(row.fill),
        _values(row.flash),
        row.other,
        row.outcome,
        row.note,
    )


def _values(values: Sequence[float | str | None]) -> str:
    """Return the readings of one shot, cavity by cavity, of which four stay on one line."""
    seen = ["" if v is None else v if isinstance(v, str) else f"{v:.10g}" for v in values]
    lines = [",\N{NO-BREAK SPACE}".join(seen[k : k + 4]) for k in range(0, len(seen), 4)]
    return ", ".join(lines) if any(seen) else ""
