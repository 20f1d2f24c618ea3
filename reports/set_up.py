"""Findings and the last attempt to confirm -> everything on a set-up sheet, as text.

Made once here, so that HTML and PDF say the same. It is what hangs at the press when the job is run
again: what to set, how far each setting may move, what a good shot is, and whether it was proved.
"""

from dataclasses import dataclass

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.factors import Factor
from shotwindow.doe.study import Study
from shotwindow.reports.attempt_verdicts import Judged
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import plural, spoken, unit_of, with_unit
from shotwindow.reports.notes import notes
from shotwindow.reports.set_up_words import (
    confirmation,
    good_shot,
    not_held,
    range_words,
    starting,
)
from shotwindow.reports.sheet import facts
from shotwindow.reports.verdicts import Margin, fails_as, margins, verdict
from shotwindow.reports.words import margin_text

SETTING_HEADS = ("setting", "set to", "range in marks", "held to", "margin down", "margin up")
UNHELD = "CANNOT BE HELD"
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
    warning : str
        That the press cannot hold the setpoint, if so; else "".
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
    warning: str
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
        warning=not_held(found),
        settings=tuple(_setting(found, j) for j in range(len(study.factors))),
        ranges=range_words(found),
        starting=starting(study),
        good=good_shot(found),
        minding=(verdict(found), *notes(found)),
        cautions=cautions,
        data=f"Data {found.fingerprint}, seed {found.seed}",
    )


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
