"""A confirmation planned or judged -> its JSON document."""

from typing import Any

from shotwindow.doe.attempts import Attempt
from shotwindow.models.challenge import QUALIFIED_FROM
from shotwindow.models.judgement import CONFIRMED
from shotwindow.reports.attempt_verdicts import Judged
from shotwindow.reports.attempt_words import (
    chance_words,
    reheating_words,
    risk_words,
    scope_words,
)
from shotwindow.reports.confirm_words import (
    corner_words,
    group_words,
    moved_words,
    setpoint_words,
    shot_words,
    surprise_words,
)
from shotwindow.reports.confirming import Planned
from shotwindow.reports.documents import by_name
from shotwindow.reports.suggesting import Suggested

Document = dict[str, Any]


def planned_document(planned: Planned, *, written: bool) -> Document:
    """Return what `confirm` plans."""
    return {
        **_attempt(planned.attempt, planned.found.study.factors),
        "verdict": None,
        "minutes": planned.minutes,
        "chance_to_pass": vars(planned.chance),
        "chance_to_pass_wrongly": [vars(risk) for risk in planned.risks],
        "sentences": [
            chance_words(planned),
            risk_words(planned),
            *filter(None, [reheating_words(planned)]),
            scope_words(planned.attempt.groups),
        ],
        "written": written,
    }


def judged_document(judged: Judged, then: Suggested | None = None) -> Document:
    """Return what confirmation shots say, and what to shoot after an attempt that failed."""
    found, after = judged.judgement, judged.after
    return {
        **_attempt(judged.attempt, judged.before.study.factors),
        "verdict": found.answer,
        "missing_shots": found.missing,
        "at_setpoint": {
            "shots": found.shots,
            "failed": found.failed,
            "reliability_shown": found.shown,
            "reliability_shown_over_groups": found.shown_over_groups,
            "groups": found.groups,
            "failed_by_group": list(found.failed_by_group),
        },
        "at_corners": {
            "shots": found.corners,
            "failed": found.corners_failed,
            "chance_if_ranges_hold": found.corner_odds,
        },
        "surprises": [vars(surprise) for surprise in found.surprises],
        "part_mass": [vars(weighed) for weighed in judged.weighed],
        "chance_before": judged.attempt.chance,
        "sentences": [
            setpoint_words(found),
            corner_words(found),
            surprise_words(found.surprises),
            group_words(judged),
            *([] if after is None else [moved_words(after, judged.attempt.setpoint)]),
        ],
        "qualifies": found.answer == CONFIRMED and found.groups >= QUALIFIED_FROM,
        "next": [{"settings": words, "reason": why} for words, why in shot_words(then)],
    }


def _attempt(attempt: Attempt, factors: Any) -> Document:
    return {
        "attempt": attempt.number,
        "reliability": attempt.reliability,
        "confidence": attempt.confidence,
        "failures_allowed": attempt.failures,
        "groups": attempt.groups,
        "setpoint": by_name(factors, attempt.setpoint),
        "corners": [by_name(factors, corner) for corner in attempt.corners],
        "shots": list(attempt.shots),
        "seed": attempt.seed,
        "prior": attempt.prior,
        "fingerprint": attempt.fingerprint,
    }
