"""Findings and the last attempt to confirm -> what a set-up sheet says around its settings."""

from math import isclose

from shotwindow.doe.study import Study
from shotwindow.models.judgement import CONFIRMED
from shotwindow.reports.attempt_verdicts import Judged
from shotwindow.reports.attempt_words import SAME_RISK
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import chance, listed, percent, plural, spoken
from shotwindow.reports.sheet import GRADES


def confirmation(found: Findings, judged: Judged | None) -> tuple[str, str]:
    """Return "CONFIRMED" or "NOT CONFIRMED", and what that rests on.

    Only shots made to confirm this very setpoint can do so; where later shots moved it, the proof
    is of another one.
    """
    if found.setpoint is None or judged is None:
        return "NOT CONFIRMED", "No shots were made to confirm this setpoint."
    attempt, judgement = judged.attempt, judged.judgement
    which = f"attempt {attempt.number} to confirm"
    if not all(
        isclose(a, b, rel_tol=0.0, abs_tol=1e-9)
        for a, b in zip(attempt.setpoint, found.setpoint.settings, strict=True)
    ):
        return "NOT CONFIRMED", f"The last, {which}, was of another setpoint."
    made = f"{plural(judgement.shots, 'shot')} at the setpoint, {judgement.failed} bad"
    if judgement.answer == CONFIRMED:
        shown = f"{percent(judgement.shown)} good or more with {percent(attempt.confidence)}"
        groups = plural(judgement.groups, "temperature group")
        if judgement.shown - judgement.shown_over_groups >= SAME_RISK:
            shown += (
                f" confidence in these, {percent(judgement.shown_over_groups)} over other groups"
            )
        else:
            shown += " confidence"
        return "CONFIRMED", f"By {which}: {made}, in {groups}; {shown}."
    left = f", {judgement.missing} still to be made" if judgement.missing else ""
    return "NOT CONFIRMED", f"The last, {which}: {judgement.answer} ({made}{left})."


def not_held(found: Findings) -> str:
    """Return that the press cannot hold the setpoint, and what its ranges are worth; else ""."""
    narrow = found.narrow
    if narrow is None:
        return ""
    tight, least = narrow.tight, f"{found.study.good_from:g}"
    worth = "There are no ranges."
    if found.ranges is not None:
        worth = (
            f"The ranges below are those of the {found.ranges.of} window, for settings exactly on "
            "their marks: they do not allow for what the press wanders."
        )
    return (
        f"The press cannot hold this setpoint: with {spoken(tight.name)} held to "
        f"+/-{tight.holds:g} {tight.unit} the chance of a good shot can fall to "
        f"{chance(narrow.probability_held)}, below {least}. {worth}"
    )


def range_words(found: Findings) -> str:
    """Return what the ranges promise."""
    wanted = f"{100 * found.study.good_from:g} %"
    brackets = "Behind a margin in brackets: marks that stay in the sure window."
    if found.ranges is None:
        return f"No range around the setpoint is in the window. {brackets}"
    likely = {"sure": "0.9", "likely": "0.5"}[found.ranges.of]
    return (
        f"Every combination of marks within the ranges lies in the {found.ranges.of} window: "
        f"{wanted} good shots or more, with a chance of {likely} or more. {brackets}"
    )


def starting(study: Study) -> tuple[str, ...]:
    """Return heating, soaking, and shots to throw away, a sentence each."""
    time = study.time
    thrown = plural(time.warm_up_shots, "warm-up shot")
    lines = [f"Heat up {time.start_up_min:g} min, then {thrown} to throw away."]
    for factor in study.factors:
        if factor.soak_min is not None:
            down = factor.soak_min if factor.soak_down_min is None else factor.soak_down_min
            lines.append(
                f"After a change of {spoken(factor.name)} soak {factor.soak_min:g} min up, "
                f"{down:g} min down, then {thrown} to throw away."
            )
    return tuple(lines)


def good_shot(found: Findings) -> tuple[str, ...]:
    """Return what a good shot is, a sentence each."""
    study = found.study
    fill, flash, full = study.fill, study.flash, study.mold.full_mass_g
    words = {
        "eye": "every cavity is full by eye",
        "full-or-short": "every cavity is full",
        "mass": f"every part has {fill.full_from:g} % of its full mass or more",
    }
    least = ""
    if fill.measured == "mass" and full is not None:
        masses = [f"{grams * fill.full_from / 100:.2f}" for grams in full]
        least = f" ({', '.join(masses)} g)" if len(masses) <= 8 else f" (from {min(masses)} g)"
    if flash.measured == "grade":
        limit = f"grade {flash.good:g} ({GRADES[int(flash.good)]}) at most"
    else:
        limit = f"{flash.good:g} {flash.unit} at most, at the widest place"
    reasons = found.readings.reasons
    return (
        f"Full: {words[fill.measured]}{least}.",
        f"Flash: {limit}.",
        f"No {listed(reasons, 'or')}." if reasons else "No other reason to reject it.",
    )
