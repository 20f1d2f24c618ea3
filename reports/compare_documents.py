"""Two windows compared -> the JSON document of `compare`."""

from dataclasses import asdict
from typing import Any

from shotwindow.models.comparison import Common
from shotwindow.reports.compare_words import conclusion, matching_notes
from shotwindow.reports.comparing import Compared
from shotwindow.reports.documents import by_name
from shotwindow.reports.fitted import Fitted


def compare_document(found: Compared) -> dict[str, Any]:
    """Return what `compare` found."""
    c = found.comparison
    spans = ("share_a", "share_b", "both", "only_a", "only_b", "difference")
    return {
        "a": _study(found.a),
        "b": _study(found.b),
        "lots": None if found.lots is None else list(found.lots),
        "conclusion": conclusion(found),
        "settings_looked_at": c.marks,
        **{name: vars(getattr(c, name)) for name in spans},
        "chance_b_larger": c.chance_b_larger,
        "sure_only_a": c.sure_only_a,
        "sure_only_b": c.sure_only_b,
        "good_in_both": _common(found, c.common),
        "edges": [asdict(shift) for shift in c.shifts],
        "matched_by_melt_pressure": list(found.match.by_melt),
        "notes": matching_notes(found),
    }


def _study(found: Fitted) -> dict[str, Any]:
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
