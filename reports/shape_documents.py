"""Findings -> the shape of the window as JSON: parts, limits, curves, stricter demands, holds."""

from dataclasses import asdict
from typing import Any

from shotwindow.models.parts import Part
from shotwindow.models.window import NORMAL_TO
from shotwindow.reports.findings import Findings
from shotwindow.reports.shape_words import preference_words, room, shape_sentences

Document = dict[str, Any]


def shape_document(found: Findings) -> Document:
    """Return what `window` tells of its shape beside the shares."""
    stricter = found.window.stricter if found.window else ()
    return {
        "parts": [_part(found, part) for part in found.parts],
        "limits": [asdict(limit) for limit in found.limits],
        "curves": [asdict(curve) for curve in found.curves],
        "stricter": [
            {**asdict(s), "normal_tails_assumed": s.good_from > NORMAL_TO} for s in stricter
        ],
        "holding": [{**asdict(h), "used": h.used} for h in found.holdings],
        "preference": _preference(found),
        "shape": list(shape_sentences(found)),
    }


def _part(found: Findings, part: Part) -> Document:
    assert found.window is not None  # which it is a part of
    factors = found.window.factors
    return {
        "marks": part.marks,
        "low": {f.name: f.marks[m] for f, m in zip(factors, part.low, strict=True)},
        "high": {f.name: f.marks[m] for f, m in zip(factors, part.high, strict=True)},
        "inside": {f.name: f.marks[m] for f, m in zip(factors, part.inside, strict=True)},
    }


def _preference(found: Findings) -> Document | None:
    plain, chosen = found.plain, found.setpoint
    if plain is None or chosen is None:
        return None
    factors = found.study.factors
    return {
        "prefer": found.study.prefer,
        "without": {f.name: v for f, v in zip(factors, plain.settings, strict=True)},
        "cost_of_good": plain.probability_held - chosen.probability_held,
        "marks_to_the_end": room(found, chosen.mark),
        "marks_to_the_end_without": room(found, plain.mark),
        "sentence": preference_words(found),
    }
