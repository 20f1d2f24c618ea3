"""Shots planned to confirm a setpoint -> what `confirm` prints of them before they are made."""

from shotwindow.models.challenge import QUALIFIED_FROM, Risk
from shotwindow.reports.confirming import Planned
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import chance, listed, percent, plural, setting_words
from shotwindow.reports.notes import ENOUGH_FREEDOM
from shotwindow.reports.words import paragraph

SAME_RISK = 0.01  # chances and shares nearer than this are told as one


def demand_words(reliability: float, confidence: float, failures: int) -> str:
    """Return what is to be shown, and how many shots may fail."""
    allowed = "none" if failures == 0 else f"at most {failures}"
    return (
        f"at least {percent(reliability)} good shots at the setpoint, with a confidence of "
        f"{percent(confidence)}; {allowed} of them may fail"
    )


def planned_lines(planned: Planned) -> list[str]:
    """Return everything that `confirm` prints of shots that are to be made."""
    attempt, factors = planned.attempt, planned.found.study.factors
    count = int((~planned.challenge.corner).sum())
    shown = demand_words(attempt.reliability, attempt.confidence, attempt.failures)
    groups = plural(attempt.groups, "fresh temperature group")
    shots = f"{plural(count, 'shot')} at the setpoint in {groups}"
    lines = [
        *paragraph(
            f"Attempt {attempt.number} to confirm {setting_words(factors, attempt.setpoint)}"
        ),
        *paragraph(f"To show: {shown}.", 2),
        *paragraph(f"{shots}, {planned.minutes:.0f} min with everything.", 2),
        *paragraph(
            f"{plural(len(attempt.corners), 'challenge shot')} at the corners of the "
            f"{_of(planned.found)} ranges where a bad shot is likeliest:",
            2,
        ),
    ]
    for corner in attempt.corners:
        lines += paragraph(setting_words(factors, corner), 4, "- ")
    lines += ["", *paragraph(chance_words(planned)), *paragraph(risk_words(planned))]
    lines += [*paragraph(reheating_words(planned)), *paragraph(scope_words(attempt.groups))]
    return lines


def _of(found: Findings) -> str:
    return found.ranges.of if found.ranges is not None else "likely"


def chance_words(planned: Planned) -> str:
    """Return how likely the shots are to pass, and what to do if that is not much."""
    odds = planned.chance
    text = (
        f"Chance to pass, from what is known today: {chance(odds.setpoint)} at the setpoint, "
        f"{chance(odds.corners)} without a bad shot at the corners, {chance(odds.both)} both."
    )
    if odds.both < 0.5:
        text += " That is little: sharpen the window with `next` first, or allow a failure."
    return text


def risk_words(planned: Planned) -> str:
    """Return how likely a setting passes that should not, and what temperature groups do to it."""
    text = "What passes though it should not: " + listed([_risk(risk) for risk in planned.risks])
    worst, groups = planned.risks[-1], planned.attempt.groups
    if worst.as_planned - worst.alone < SAME_RISK:
        return f"{text}."
    text += (
        ". That is more than by counting alone "
        f"({listed([chance(risk.alone) for risk in planned.risks])}), since the shots of a group "
        "share its heating"
    )
    if groups > 1:
        text += f"; in one group it would be {chance(planned.risks[0].one_group)}"
        text += f" and {chance(worst.one_group)}" if len(planned.risks) > 1 else ""
    assumed = planned.found.surfaces.group_freedom < ENOUGH_FREEDOM
    return f"{text}. Group scatter is {'assumed' if assumed else 'as measured'}."


def _risk(risk: Risk) -> str:
    passes = chance(risk.as_planned)
    return f"a setting with {percent(risk.share)} good shots with a chance of {passes}"


def reheating_words(planned: Planned) -> str:
    """Return what to do before groups that no planned change sets apart; empty without any."""
    groups = planned.challenge.reheated
    if not groups or not any(f.is_slow for f in planned.found.study.factors):
        return ""
    which = (
        f"group {groups[0]}" if len(groups) == 1 else f"groups {listed([str(g) for g in groups])}"
    )
    return (
        f"Before {which} at the setpoint let the temperatures go and come back, or wait for "
        "another day: else it is the same heating. That time is not in the minutes."
    )


def scope_words(groups: int) -> str:
    """Return how far a confirmation in so many temperature groups reaches."""
    if groups >= QUALIFIED_FROM:
        return (
            f"{groups} temperature groups or days, so that group scatter is in the count: what a "
            "qualification asks for."
        )
    if groups == 1:
        return (
            "One temperature group proves that this heating of the mold was good, not that the "
            f"next one will be; a qualification asks for {QUALIFIED_FROM} groups or days "
            "(--qualify)."
        )
    return (
        f"It speaks for these {groups} temperature groups only; a qualification asks for "
        f"{QUALIFIED_FROM} groups or days (--qualify)."
    )
