"""Findings and predictions -> JSON: six significant digits, infinities null, a schema number."""

import json
from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any

import numpy as np

from shotwindow.doe.factors import Factor
from shotwindow.models.margins import Edge
from shotwindow.reports.findings import Findings
from shotwindow.reports.notes import notes
from shotwindow.reports.points import Point, Predicted
from shotwindow.reports.shape_documents import shape_document
from shotwindow.reports.verdicts import margins, verdict

SCHEMA = 1

Document = dict[str, Any]


def rounded(value: Any) -> Any:
    """Return a value that JSON can hold: numbers to six significant digits, infinite ones None.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.reports.documents import rounded
    >>> rounded({"share": np.float64(2 / 3), "edge": float("inf"), "marks": (1, 2)})
    {'share': 0.666667, 'edge': None, 'marks': [1, 2]}
    """
    if isinstance(value, Mapping):
        return {str(key): rounded(item) for key, item in value.items()}
    if isinstance(value, list | tuple | np.ndarray):
        return [rounded(item) for item in value]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(f"{value:.6g}") if isfinite(value) else None
    return value


def json_text(document: Document) -> str:
    """Return a document as text, in ASCII, so that it passes through any terminal and pipe."""
    return json.dumps(rounded({"schema": SCHEMA, **document}), indent=2, allow_nan=False)


def window_document(found: Findings, points: Sequence[Point] = ()) -> Document:
    """Return what `window` found, with the points that were asked for."""
    window = found.window
    return {
        "title": found.study.title,
        "good_from": found.study.good_from,
        "seed": found.seed,
        "fingerprint": found.fingerprint,
        "window": {
            "share_likely": window.share_likely if window else None,
            "share_sure": window.share_sure if window else None,
            "open_edges": list(window.open_edges) if window else [],
            "verdict": verdict(found),
        },
        "setpoint": _setpoint(found),
        "held": None
        if found.setpoint is None
        else {
            "probability_good": found.setpoint.probability_held,
            "narrow": found.setpoint.narrow,
            "by": {f.name: f.holds for f in found.study.factors},
        },
        "ranges": _ranges(found),
        "edges": [_edge(edge) for edge in found.edges],
        **shape_document(found),
        "margins": [vars(margin) for margin in margins(found)],
        "best": _best(found),
        "notes": list(notes(found)),
        "fit": fit_document(found),
        "points": [_point(found.study.factors, point) for point in points],
    }


def fit_document(found: Findings) -> Document:
    """Return how far the draws behind everything can be trusted."""
    return {
        "converged": found.surfaces.converged,
        "shots": len(found.readings.shot),
        "groups": found.surfaces.groups,
        "group_freedom": found.surfaces.group_freedom,
        "prior": found.prior,
        "surfaces": {
            s.response: {
                "effective_draws": s.diagnostics.effective,
                "pareto_k": s.diagnostics.pareto_k,
                "converged": s.diagnostics.converged,
                "own_slopes": s.own_slopes,
            }
            for s in found.surfaces.each
        },
        "suspects": [
            {"response": s.response, "shot": s.shot, "column": s.column + 1, "chance": s.chance}
            for s in found.surfaces.suspects
        ],
    }


def by_name(factors: Sequence[Factor], settings: Sequence[float]) -> dict[str, float]:
    """Return settings by the names of their factors."""
    return {f.name: value for f, value in zip(factors, settings, strict=True)}


def _setpoint(found: Findings) -> Document | None:
    if found.setpoint is None:
        return None
    return {
        **by_name(found.study.factors, found.setpoint.settings),
        "probability_good": found.setpoint.probability_good,
        "probability_in_window": found.setpoint.probability_in_window,
    }


def _best(found: Findings) -> Document | None:
    if found.window is None or found.best is None:
        return None
    return {
        **by_name(found.study.factors, found.best_settings),
        "probability_good": found.window.probability_good[found.best],
        "probability_in_window": found.window.probability_in_window[found.best],
    }


def _ranges(found: Findings) -> Document:
    if found.ranges is None:
        return {}
    return {
        f.name: {
            "unit": f.unit,
            "low": low,
            "high": high,
            "marks": f.marks_between(low, high),
            "of": found.ranges.of,
        }
        for f, (low, high) in zip(found.study.factors, found.range_ends, strict=True)
    }


def _edge(edge: Edge) -> Document:
    return {
        "factor": edge.factor,
        "side": edge.side,
        "response": edge.response,
        "median": edge.median,
        "band50": list(edge.band50),
        "band90": list(edge.band90),
        "weakest_cavity": None if edge.weakest is None else vars(edge.weakest),
    }


def _point(factors: Sequence[Factor], point: Point) -> Document:
    document = {
        **by_name(factors, point.settings),
        "probability_good": point.probability_good,
        "probability_in_window": point.probability_in_window,
        "fill": _predicted(point.fill),
        "flash": _predicted(point.flash),
    }
    return {**document, "reason": point.reason} if point.reason else document


def _predicted(predicted: Predicted | None) -> Document | None:
    return None if predicted is None else dict(vars(predicted))
