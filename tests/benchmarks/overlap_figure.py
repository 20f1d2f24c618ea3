"""Rows of trials -> a picture: how much of a true window is found, against the number of shots."""

from collections.abc import Sequence

import numpy as np
from benchmarks.judge import METHODS
from benchmarks.keeping import Row

from shotwindow.reports.theme import FAINT, INK, laid_out, new_figure, picture, themed

# ours is the only whole line with filled marks; the others differ in dash and mark
LINES = {
    "ours": ("o", "-", "#0f5c43"),
    "least-squares": ("s", (0, (6, 2)), "#ba5416"),
    "gaussian-process": ("^", (0, (1, 1)), "#1f5a93"),
    "one-at-a-time": ("D", (0, (6, 2, 1, 2)), "#55104f"),
}


def overlap_figure(rows: Sequence[Row]) -> bytes:
    """Return an SVG: one panel a family, a line a method, two standard errors up and down."""
    sound = [row for row in rows if not row["worn"]]
    families = sorted({row["family"] for row in sound})
    with themed():
        figure = new_figure(3.6 * len(families), 3.2)
        panels = figure.subplots(1, len(families), sharey=True, squeeze=False)[0]
        for panel, family in zip(panels, families, strict=True):
            for method in METHODS:
                shots, mean, error = _line(
                    [r for r in sound if (r["family"], r["method"]) == (family, method)]
                )
                mark, dash, color = LINES[method]
                panel.errorbar(
                    shots, mean, 2.0 * error, label=method, color=color, linestyle=dash,
                    marker=mark, markersize=5, markerfacecolor=color if mark == "o" else "white",
                    capsize=2, linewidth=1.2,
                )  # fmt: skip
            panel.set(title=f"family {family}", xlabel="shots", ylim=(0.0, 1.0))
            panel.grid(axis="y", color=FAINT, linewidth=0.3)
            panel.spines[["top", "right"]].set_visible(False)
        panels[0].set_ylabel("overlap with the true window", color=INK)
        panels[-1].legend(loc="upper left")
        return picture(laid_out(figure), "svg")


def _line(rows: Sequence[Row]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return numbers of shots, mean overlaps and their standard errors."""
    shots = sorted({row["shots"] for row in rows})
    found = [np.array([row["overlap"] for row in rows if row["shots"] == n]) for n in shots]
    error = [v.std(ddof=1) / np.sqrt(v.size) if v.size > 1 else 0.0 for v in found]
    return np.array(shots), np.array([v.mean() for v in found]), np.array(error)
