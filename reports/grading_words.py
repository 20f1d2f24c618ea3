"""A grading check -> what it says in sentences, and what to do about it."""

from collections.abc import Sequence

from shotwindow.doe.cells import plain
from shotwindow.doe.study import Study
from shotwindow.reports.grading import GradingCheck
from shotwindow.reports.naming import listed, percent, plural
from shotwindow.reports.words import paragraph

_WORTH = {
    "good": "Good: on such parts the grading can be relied on.",
    "doubtful": "Doubtful: near the limit a reading says less than it seems to.",
    "poor": "Poor: near the limit the readings are no evidence, and the edge of the window in "
    "which they are used is blurred by them.",
    "too few": "Too few parts to tell good grading from guessing: have more parts read again.",
}


def grading_lines(study: Study, checks: Sequence[GradingCheck]) -> list[str]:
    """Return what the grading checks of a study say, and what to do."""
    lines: list[str] = []
    for check in checks:
        read = check.regraded
        first = f", first read by {listed(read.first_by)}" if read.first_by else ""
        count = plural(check.agreement.parts, "part")
        lines += paragraph(f"Grading check of {read.response}: {read.who} read {count}{first}")
        for words in (*found_words(check), *advice(study, check)):
            lines += paragraph(words, 2, "- ")
    return lines


def found_words(check: GradingCheck) -> tuple[str, ...]:
    """Return the agreement with its doubt, and what it is worth."""
    found, read = check.agreement, check.regraded
    kappa = "" if found.kappa is None else f" (kappa {found.kappa:.2f})"
    told = (
        f"Blind, both put {found.agreed} of {plural(found.parts, 'part')} on the same side of the "
        f"limit: {percent(found.share)}, and with a confidence of 95 % between "
        f"{percent(found.low)} and {percent(found.high)} of such parts. Guessing would do so for "
        f"{percent(found.by_chance)}{kappa}."
    )
    apart = (
        f"{read.who} alone calls {found.milder} good, the first person alone {found.stricter}."
        if found.agreed < found.parts
        else ""
    )
    left = f"{plural(read.left, 'part')} of the list not read again." if read.left else ""
    return tuple(filter(None, (told, apart, _WORTH[check.verdict], left)))


def advice(study: Study, check: GradingCheck) -> tuple[str, ...]:
    """Return what to do where two persons disagree."""
    response, told = check.regraded.response, []
    if check.wider is not None:
        told.append(_step_words(study, check))
    if check.verdict in ("doubtful", "poor"):
        told += [_limit_words(check), _look_words(response)]
        if check.wider is None:
            told.append(_scale_words(study, response))
    apart = [p for p in check.regraded.pairs if p.first_good != p.second_good]
    if apart and not check.regraded.left:
        named = [f"{p.part.label} ({_text(p.first)}, then {_text(p.second)})" for p in apart]
        told.append(f"Look together at {listed(named)}.")
    return (*told, "No result is changed by this check.")


def _limit_words(check: GradingCheck) -> str:
    limit = "a full part" if check.regraded.response == "fill" else "flash that is just good"
    if check.agreement.one_way:
        who = check.regraded.who
        way = "milder" if check.agreement.milder else "stricter"
        return (
            f"{who} is {way}, and more often than by chance: the two have another limit in mind. "
            f"Agree on a limit sample, {limit}, and keep it where parts are judged."
        )
    return f"Look again at the limit sample ({limit}); without one, choose one together."


def _look_words(response: str) -> str:
    where = "at the last place to fill" if response == "fill" else "along the parting line"
    return f"Judge with the same light and loupe, always first {where}; then have it checked again."


def _step_words(study: Study, check: GradingCheck) -> str:
    response = check.regraded.response
    scale = study.fill if response == "fill" else study.flash
    unit = {"eye": "percent", "mass": "g"}.get(scale.measured, study.flash.unit)
    key = "balance_step_g" if scale.measured == "mass" else "step"
    return (
        f"One reading scatters by {check.scatter:.2g} {unit} (standard deviation), more than steps "
        f"of {scale.step:g} {unit} stand for. Widen them: {key} = {check.wider:.3g} under "
        f"[{response}] in study.toml says what such readings are worth."
    )


def _scale_words(study: Study, response: str) -> str:
    if response == "fill" and study.fill.measured == "full-or-short":
        return "Or weigh the parts: a mass leaves less to judge than full or short does."
    if response == "flash" and study.flash.measured == "grade":
        return "Or measure the width of flash in place of a grade: that leaves less to judge."
    return "Read the parts near the limit twice, and correct what is wrong (record, key c)."


def _text(value: float | str) -> str:
    return value if isinstance(value, str) else plain(value)
