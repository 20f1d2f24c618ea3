"""Confirmation shots that were judged -> what `confirm` prints of them."""

from collections.abc import Sequence

from shotwindow.models.challenge import QUALIFIED_FROM
from shotwindow.models.judgement import CANNOT_TELL, CONFIRMED, Judgement, Surprise
from shotwindow.models.weighed import Weighed
from shotwindow.reports.attempt_verdicts import Judged
from shotwindow.reports.attempt_words import SAME_RISK, demand_words, scope_words
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import chance, listed, percent, plural, setting_words
from shotwindow.reports.next_words import reason
from shotwindow.reports.notes import ENOUGH_FREEDOM
from shotwindow.reports.suggesting import Suggested
from shotwindow.reports.words import columns, paragraph

MOST_TOLD = 5
SURPRISES = {
    ("fill", "low"): "less full than predicted",
    ("fill", "high"): "fuller than predicted",
    ("flash", "low"): "less flash than predicted",
    ("flash", "high"): "more flash than predicted",
}


def judged_lines(judged: Judged, then: Suggested | None = None) -> list[str]:
    """Return everything that `confirm` prints of shots that were made.

    Parameters
    ----------
    judged : Judged
    then : Suggested, optional
        Shots to make after an attempt that failed.
    """
    attempt, found, factors = judged.attempt, judged.judgement, judged.before.study.factors
    where = setting_words(factors, attempt.setpoint)
    shown = demand_words(attempt.reliability, attempt.confidence, attempt.failures)
    lines = [
        *paragraph(f"Attempt {attempt.number}: {found.answer.upper()}{_reach(found)}"),
        *paragraph(where, 2),
        "",
        *paragraph(f"To show: {shown}."),
        *paragraph(setpoint_words(found)),
        *paragraph(corner_words(found)),
        *(paragraph(surprise_words(found.surprises)) if found.shots else []),
        *paragraph(group_words(judged)),
    ]
    if judged.weighed:
        lines += ["", *_mass_lines(judged.weighed, attempt.reliability, attempt.confidence)]
    if judged.after is not None:
        lines += ["", *paragraph(moved_words(judged.after, attempt.setpoint))]
    for number, (settings, why) in enumerate(shot_words(then), start=1):
        lines += [*paragraph(settings, 2, f"{number}. "), *paragraph(why, 5)]
    return lines


def _reach(found: Judgement) -> str:
    """Return for what a confirmation holds that was made in too few groups."""
    if found.answer != CONFIRMED or found.groups >= QUALIFIED_FROM:
        return ""
    return f", for {'this temperature group' if found.groups == 1 else 'these two groups'} only"


def shot_words(then: Suggested | None) -> list[tuple[str, str]]:
    """Return the settings of shots to make next, each with its reason."""
    if then is None:
        return []
    factors = then.found.study.factors
    return [(setting_words(factors, shot.settings), reason(shot)) for shot in then.batch.shots]


def setpoint_words(found: Judgement) -> str:
    """Return what the shots at the setpoint say by counting alone."""
    if not found.shots:
        return f"No shot was made at the setpoint yet; {found.missing} still to be made."
    text = f"At the setpoint {found.shots - found.failed} of {plural(found.shots, 'shot')} good"
    text += f": that shows {percent(found.shown)} good shots or more"
    return text + (f"; {found.missing} still to be made." if found.missing else ".")


def corner_words(found: Judgement) -> str:
    """Return what the challenge shots say of the ranges."""
    if not found.corners:
        return "No challenge shot was made yet, so that the ranges are not confirmed."
    good = f"{found.corners - found.corners_failed} of {plural(found.corners, 'challenge shot')}"
    if not found.corners_failed:
        return f"At the corners {good} good: nothing speaks against the ranges."
    odds = chance(found.corner_odds)
    return (
        f"At the corners {good} good: the chance of so many failures is {odds} if the ranges hold."
    )


def surprise_words(surprises: Sequence[Surprise]) -> str:
    """Return which readings lie outside of what was predicted."""
    if not surprises:
        return "All readings lie where they were predicted (interval for all at once, 95 %)."
    told = [
        f"shot {s.shot} cavity {s.cavity} {SURPRISES[s.response, s.side]}"
        for s in surprises[:MOST_TOLD]
    ]
    more = len(surprises) - len(told)
    rest = f" and {more} more" if more else ""
    return (
        f"Outside of what was predicted for all readings at once (95 %): {listed(told)}{rest}. "
        "Something is not as it was: find out what before the sheet is signed."
    )


def group_words(judged: Judged) -> str:
    """Return how far the verdict reaches over temperature groups, and how they differed."""
    found = judged.judgement
    text = ""
    if found.groups > 1 and found.failed:
        each = listed([str(n) for n in found.failed_by_group])
        text = f"Failures at the setpoint by temperature group: {each}. "
    if found.shown - found.shown_over_groups >= SAME_RISK:
        assumed = judged.before.surfaces.group_freedom < ENOUGH_FREEDOM
        text += (
            f"Over other groups these shots show {percent(found.shown_over_groups)} good shots or "
            f"more, not {percent(found.shown)}: those of one group share its heating (group "
            f"scatter {'assumed' if assumed else 'as measured before'}). "
        )
    return text + scope_words(max(1, found.groups))


def moved_words(after: Findings, setpoint: tuple[float, ...]) -> str:
    """Return where the setpoint lies with the failed shots in the fit."""
    lead, then = "These shots are now in the fit. ", "shoot these first (`next` plans them)"
    if after.setpoint is None:
        return f"{lead}With them there is no setpoint: {then}."
    if after.setpoint.settings == setpoint:
        return f"{lead}The setpoint stays where it is: {then}, then try again."
    where = setting_words(after.study.factors, after.setpoint.settings)
    return f"{lead}The setpoint moves to {where}: {then}, then try again."


def _mass_lines(weighed: Sequence[Weighed], coverage: float, confidence: float) -> list[str]:
    rows = [("cavity", "parts", "mean", "sd", "tolerance limits", "full from", "Cpk (limits)")]
    rows += [
        (
            str(w.cavity),
            str(w.parts),
            f"{w.mean:.4g}",
            f"{w.sd:.2g}",
            f"{w.low:.4g} to {w.high:.4g}",
            f"{w.least:.4g}",
            f"{w.cpk:.2f} ({w.cpk_low:.2f} to {w.cpk_high:.2f})",
        )
        for w in weighed
    ]
    held = f"{percent(coverage)} of all parts with a confidence of {percent(confidence)}"
    return [
        *paragraph(f"Part mass in g at the setpoint; the tolerance limits hold {held}"),
        *columns(rows),
    ]


def next_hint(judged: Judged, folder: str) -> str:
    """Return what to do after a verdict."""
    answer = judged.judgement.answer
    if answer == CONFIRMED:
        return f"shotwindow report {folder}   (the set-up sheet may now say confirmed)"
    if answer == CANNOT_TELL and judged.judgement.missing:
        return f"shotwindow record {folder}   (the confirmation shots that are left)"
    return f"shotwindow next {folder}, then shotwindow confirm {folder} --again   (fresh shots)"
