"""Findings and the last attempt to confirm -> everything on a set-up sheet, as text.

Made once here, so that HTML and PDF say the same. It is what hangs at the press when the job is run
again: what to set, how far each setting may move, what a good shot is, and whether it was proved.
"""

from dataclasses import dataclass
from math import isclose

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.factors import Factor
from shotwindow.doe.study import Study
from shotwindow.models.judgement import CONFIRMED
from shotwindow.reports.attempt_verdicts import Judged
from shotwindow.reports.attempt_words import SAME_RISK
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import listed, percent, plural, spoken, unit_of, with_unit
from shotwindow.reports.notes import notes
from shotwindow.reports.sheet import facts
from shotwindow.reports.verdicts import Margin, fails_as, margins, verdict
from shotwindow.reports.words import margin_text

SETTING_HEADS = ("setting", "set to", "range in marks", "held to", "margin down", "margin up")
SIGN_OFF = ("set by", "first shots checked by", "released by")


@dataclass(frozen=True)
class SettingLine:
    """One setting of the press.

    Attributes
    ----------
    name, value : str
        The value with its unit.
    beside : str
        The pressure on the melt that belongs to a pressure at the gauge; else "".
    span, held, down, up : str
        Range in marks, what the press holds, and how far the edge is on either side.
    """

    name: str
    value: str
    beside: str
    span: str
    held: str
    down: str
    up: str


@dataclass(frozen=True)
class SetUp:
    """Everything on a set-up sheet.

    Attributes
    ----------
    title : str
    facts : tuple of (str, str)
        Mold, press, material and what is held, each with its name.
    status : str
        "CONFIRMED" or "NOT CONFIRMED".
    proof : str
        What that rests on.
    settings : tuple of SettingLine
    ranges : str
        What the ranges promise.
    starting : tuple of str
        Heating, soaking, and shots to throw away.
    good : tuple of str
        What a good shot is.
    minding : tuple of str
        The verdict, and what to keep in mind with every number.
    cautions : tuple of str
    data : str
        Fingerprint and seed.
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    status: str
    proof: str
    settings: tuple[SettingLine, ...]
    ranges: str
    starting: tuple[str, ...]
    good: tuple[str, ...]
    minding: tuple[str, ...]
    cautions: tuple[str, ...]
    data: str


def set_up(found: Findings, judged: Judged | None, cautions: tuple[str, ...]) -> SetUp:
    """Return the set-up sheet of a study.

    Parameters
    ----------
    found : Findings
        Of everything that was shot.
    judged : Judged or None
        The last attempt to confirm; None where there was none.
    cautions : tuple of str

    Raises
    ------
    Unanswerable
        If there is no setpoint: there is nothing to set up.
    """
    if found.setpoint is None:
        raise Unanswerable(f"No set-up sheet without a setpoint. {verdict(found)}")
    study = found.study
    status, proof = confirmation(found, judged)
    return SetUp(
        title=study.title or study.mold.name or "Set-up sheet",
        facts=facts(study),
        status=status,
        proof=proof,
        settings=tuple(_setting(found, j) for j in range(len(study.factors))),
        ranges=_range_words(found),
        starting=_starting(study),
        good=_good(found),
        minding=(verdict(found), *notes(found)),
        cautions=cautions,
        data=f"Data {found.fingerprint}, seed {found.seed}",
    )


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


def _setting(found: Findings, j: int) -> SettingLine:
    assert found.setpoint is not None
    factor, value = found.study.factors[j], found.setpoint.settings[j]
    ways = {m.side: m for m in margins(found) if m.factor == factor.name}
    down, up = (_margin_words(factor, ways.get(side)) for side in ("low", "high"))
    return SettingLine(
        name=spoken(factor.name),
        value=with_unit(factor, value),
        beside=_melt(found.study, factor, value),
        span=_span(found, j),
        held=f"+/-{factor.holds:g} {factor.unit}",
        down=down,
        up=up,
    )


def _margin_words(factor: Factor, margin: Margin | None) -> str:
    if margin is None:
        return "the same in all shots"
    fails = f"{fails_as(margin.response)}: " if margin.distance is not None else ""
    return fails + margin_text(factor, margin)


def _melt(study: Study, factor: Factor, value: float) -> str:
    ratio = study.press.area_ratio
    if ratio is None or factor.role != "pressure":
        return ""
    if factor.reads == "melt":
        return f"about {value / ratio:.3g} {factor.unit} gauge"
    return f"about {value * ratio:.3g} {factor.unit} melt"


def _span(found: Findings, j: int) -> str:
    factor = found.study.factors[j]
    if not found.range_ends:
        return "none: keep to the mark"
    low, high = found.range_ends[j]
    if low == high:
        return f"{with_unit(factor, low)} (this mark alone)"
    marks = plural(factor.marks_between(low, high), "mark")
    return f"{factor.text(low)} to {factor.text(high)} {unit_of(factor)} ({marks})"


def _range_words(found: Findings) -> str:
    wanted = f"{100 * found.study.good_from:g} %"
    brackets = "Behind a margin in brackets: marks that stay in the sure window."
    if found.ranges is None:
        return f"No range around the setpoint is in the window. {brackets}"
    chance = {"sure": "0.9", "likely": "0.5"}[found.ranges.of]
    return (
        f"Every combination of marks within the ranges lies in the {found.ranges.of} window: "
        f"{wanted} good shots or more, with a chance of {chance} or more. {brackets}"
    )


def _starting(study: Study) -> tuple[str, ...]:
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


def _good(found: Findings) -> tuple[str, ...]:
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
    limit = f"grade {flash.good:g}" if flash.unit == "grade" else f"{flash.good:g} {flash.unit}"
    reasons = found.readings.reasons
    return (
        f"Full: {words[fill.measured]}{least}.",
        f"Flash: {limit} at most, at the widest place.",
        f"No {listed(reasons, 'or')}." if reasons else "No other reason to reject it.",
    )
