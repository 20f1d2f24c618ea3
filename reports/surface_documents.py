"""Surfaces of a study -> the JSON that `surfaces` prints."""

from collections.abc import Sequence
from typing import Any

from shotwindow.models.surface import Surface
from shotwindow.models.together import find_together
from shotwindow.reports.changes import Change, Interval, Joint, changes, joints
from shotwindow.reports.crossings import crossing
from shotwindow.reports.documents import Document, fit_document
from shotwindow.reports.edge_words import edge_words, never_seen
from shotwindow.reports.effect_words import conflict_words, joint_words, stretch_words
from shotwindow.reports.findings import Findings
from shotwindow.reports.grading import check_document
from shotwindow.reports.notes import notes
from shotwindow.reports.plain_fit import PlainFit, plain_crossing, plain_effect
from shotwindow.reports.priors import PRIORS
from shotwindow.reports.pull import Conflict, conflicts, effects_by_prior
from shotwindow.reports.questions import question_document
from shotwindow.reports.stretches import Stretch, stretches
from shotwindow.reports.textbook import textbook


def surfaces_document(found: Findings, aliases: Sequence[str]) -> Document:
    """Return effects, edges, aliases and least squares of a study."""
    return {
        "title": found.study.title,
        "seed": found.seed,
        "fingerprint": found.fingerprint,
        "surfaces": {s.response: _surface(found, s) for s in found.surfaces.each},
        "never_seen": never_seen(found),
        "aliases": list(aliases),
        "textbook": {
            part: [question_document(question) for question in questions]
            for part, questions in textbook(found).items()
        },
        "grading": [check_document(check) for check in found.gradings],
        "fit": fit_document(found),
        "together": _together(found),
        "notes": list(notes(found)),
    }


def _together(found: Findings) -> Document | None:
    """Return what could change if fill and flash of one shot hang together."""
    if found.window is None or found.best is None:
        return None
    told = find_together(found.readings, found.goodness, found.window, found.best)
    return {
        "probability_good": told.stated,
        "at_least": told.low,
        "at_most": told.high,
        "change_anywhere": told.anywhere,
        "shots_that_tell": told.shots,
    }


def _surface(found: Findings, surface: Surface) -> Document:
    plain = found.least_squares.get(surface.response)
    return {
        "effects": [
            {
                **_change(change),
                "priors": _by_prior(found, surface, i),
                "least_squares": _plain_effect(found, plain, i),
                **_stretches(found, change, i),
            }
            for i, change in enumerate(changes(found, surface))
        ],
        "joint_effects": [_joint(joint) for joint in joints(found, surface)],
        "conflicts": [_conflict(found, c) for c in conflicts(found, surface.response)],
        "edges": [_edge(found, surface, plain, j) for j in range(len(found.study.factors))],
        "prior": {
            "effect": surface.prior.effect,
            "scatter": surface.prior.scatter,
            "expected_up": [
                f.name
                for f, mean in zip(found.study.factors, surface.prior.mean, strict=False)
                if mean > 0
            ],
        },
        "least_squares": None if plain is None else _plain(plain),
    }


def _change(change: Change) -> Document:
    return {
        "factor": change.factor.name,
        "delta": change.delta,
        "unit": change.unit,
        **_interval(change.effect),
        "probability_downward": change.downward,
        "expected_up": change.expected_up,
    }


def _joint(joint: Joint) -> Document:
    return {
        "factor": joint.factor.name,
        "other": joint.other.name,
        "delta": joint.delta,
        "unit": joint.unit,
        "at_low": _interval(joint.at_low),
        "at_high": _interval(joint.at_high),
        "matters": joint.trend or None,
        "sentence": joint_words(joint),
    }


def _by_prior(found: Findings, surface: Surface, j: int) -> Document:
    """Return an effect by each prior; None for a fit that did not converge."""
    told = effects_by_prior(found)[surface.response]
    return {prior: _interval(told[prior][j].effect) if prior in told else None for prior in PRIORS}


def _stretches(found: Findings, change: Change, j: int) -> Document:
    told = stretches(found, change.response, j)
    return {
        "stretches": [_stretch(stretch) for stretch in told],
        "sentence": stretch_words(change.factor, change.response, change.unit, told),
    }


def _stretch(stretch: Stretch) -> Document:
    told = {1: "adds", -1: "takes", 0: "cannot tell"}[stretch.way]
    span = {"from": stretch.low, "to": stretch.high}
    return {**span, "told": told, **_interval(stretch.effect)}


def _conflict(found: Findings, conflict: Conflict) -> Document:
    return {
        "factor": conflict.weak.factor.name,
        "expected": conflict.expected,
        "standard_deviations": conflict.distance,
        "pulled": conflict.pulled,
        "sentence": conflict_words(conflict, found.prior),
    }


def _edge(found: Findings, surface: Surface, plain: PlainFit | None, j: int) -> Document:
    """Return where a response passes its limit; null for an end beyond the range."""
    place = crossing(found, surface, j)
    least = None if plain is None else plain_crossing(found, plain, j)
    return {
        "factor": place.factor.name,
        "low": place.low,
        "median": place.middle,
        "high": place.high,
        "rising": place.rising,
        "least_squares": least,
        "sentence": edge_words(place, least),
    }


def _interval(interval: Interval) -> Document:
    return {"median": interval.middle, "low": interval.low, "high": interval.high}


def _plain_effect(found: Findings, plain: PlainFit | None, j: int) -> Any:
    effect = None if plain is None else plain_effect(found, plain, j)
    return None if effect is None else _interval(effect)


def _plain(plain: PlainFit) -> Document:
    """Return a least-squares fit: coefficients in coded settings, -1 to +1 over each range."""
    lack, quality = plain.anova.lack_of_fit, plain.quality
    return {
        "model": plain.model,
        "coefficients": dict(zip(plain.terms.names, plain.fit.coefficients, strict=False)),
        "freedom": plain.fit.df,
        "sd": quality.sd,
        "r_squared": quality.r_squared,
        "predicted_r_squared": quality.predicted,
        "lack_of_fit": None if lack is None else {"f": lack.f, "p": lack.p, "freedom": lack.df},
    }
