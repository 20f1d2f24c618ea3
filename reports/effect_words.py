"""What settings do -> a sentence each, in the units of the dial and of the part."""

from collections.abc import Sequence
from math import floor, log10

from shotwindow.doe.factors import Factor
from shotwindow.models.surface import Surface
from shotwindow.reports.changes import Interval, Joint, joints, turned, unit_of_effect
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import spoken, with_unit
from shotwindow.reports.own_slopes import own_slope_words
from shotwindow.reports.pull import FAR, Conflict, conflicts
from shotwindow.reports.stretches import Stretch, stretches

_WHEN_HIGH = {"melt_temperature": "the melt is hot", "mold_temperature": "the mold is hot"}


def response_sentences(found: Fitted, surface: Surface) -> list[str]:
    """Return what each setting does to a response, what they do together, and what is in doubt."""
    unit = unit_of_effect(found, surface)
    return [
        *(
            stretch_words(factor, surface.response, unit, stretches(found, surface.response, j))
            for j, factor in enumerate(found.study.factors)
        ),
        *(joint_words(joint) for joint in joints(found, surface)),
        *own_slope_words(found, surface),
        *(conflict_words(c, found.prior) for c in conflicts(found, surface.response)),
    ]


def stretch_words(factor: Factor, response: str, unit: str, told: Sequence[Stretch]) -> str:
    """Return what turning up one setting does, and over which stretch of its range.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.reports.changes import Interval
    >>> from shotwindow.reports.effect_words import stretch_words
    >>> from shotwindow.reports.stretches import Stretch
    >>> time = Factor("injection_time", "s", 4, 10, 0.5, (1, 20), 0.25)
    >>> sure = Stretch(4.0, 7.0, Interval(5.5, 4.0, 7.0), 1)
    >>> open = Stretch(7.0, 10.0, Interval(1.0, -2.0, 5.0), 0)
    >>> stretch_words(time, "fill", "percent", [sure, open])
    'injection time +1.5 s adds 4 to 7 percent fill between 4 and 7 s; between 7 and 10 s cannot tell: -2 to +5 percent fill.'
    >>> stretch_words(time, "fill", "percent", [open])
    'What injection time +1.5 s does the shots cannot tell: -2 to +5 percent fill between 7 and 10 s.'
    """  # noqa: E501 # sentences of one line
    if not told:
        return f"{spoken(factor.name)} was not changed enough to tell what it does to {response}."
    claims = [
        f"{effect_words(response, unit, one.effect)} {_between(factor, one)}"
        for one in told
        if one.way
    ]
    doubts = [one for one in told if not one.way]
    if not claims:
        words = effect_words(response, unit, doubts[0].effect)
        return f"What {turned(factor)} does the shots {words} {_between(factor, doubts[0])}."
    claims += [f"{_between(factor, d)} {effect_words(response, unit, d.effect)}" for d in doubts]
    return f"{turned(factor)} {'; '.join(claims)}."


def _between(factor: Factor, stretch: Stretch) -> str:
    low, high = factor.text(stretch.low), factor.text(stretch.high)
    return f"between {low} and {high} {factor.unit}"


def effect_words(response: str, unit: str, effect: Interval) -> str:
    """Return an effect with its interval.

    Examples
    --------
    >>> from shotwindow.reports.changes import Interval
    >>> from shotwindow.reports.effect_words import effect_words
    >>> effect_words("fill", "percent", Interval(5.5, 4.0, 7.0))
    'adds 4 to 7 percent fill'
    >>> effect_words("flash", "mm", Interval(0.01, -0.01, 0.03))
    'cannot tell: -0.01 to +0.03 mm flash'
    """
    low, high = effect.low, effect.high
    if unit == "share":
        over = "over the flash limit" if response == "flash" else "rejected"
        ends = f"{100 * low:.0f} to {100 * high:.0f}"
        if low <= 0.5 <= high:
            return f"cannot tell: 50 % of shots {over} become {ends} %"
        middle = f"{100 * effect.middle:.0f} %"
        return f"brings the share of shots {over} from 50 to {middle} ({ends})"
    if low > 0:
        return f"adds {span(low, high)} {unit} {response}"
    if high < 0:
        return f"takes {span(-high, -low)} {unit} {response}"
    return f"cannot tell: {span(low, high, '+')} {unit} {response}"


def span(low: float, high: float, sign: str = "") -> str:
    """Return both ends of an interval, the larger one with two digits, the other as fine.

    Examples
    --------
    >>> from shotwindow.reports.effect_words import span
    >>> span(7.83, 13.1), span(0.056, 0.114), span(-0.00075, 0.0142, "+")
    ('8 to 13', '0.06 to 0.11', '-0.001 to +0.014')
    >>> span(0.0004, 1.2)
    '0.0004 to 1.2'
    """
    largest = max(abs(low), abs(high))
    digits = 1 - floor(log10(largest)) if largest else 0
    ends = []
    for value in (low, high):
        even = round(value, digits)
        ends.append(f"{even:{sign}g}" if even or not value else f"{value:{sign}.1g}")
    return " to ".join(ends)


def joint_words(joint: Joint) -> str:
    """Return how the effect of one setting hangs on another, in a sentence."""
    factor, other = joint.factor, joint.other
    name = spoken(factor.name)
    if factor == other:
        said = f"{name} matters {joint.trend} the higher it is" if joint.trend else ""
    else:
        said = f"{name} matters {joint.trend} when {_when_high(other)}" if joint.trend else ""
    said = said or f"What {name} does changes with {spoken(other.name)}"
    near = "near" if factor == other else "at"
    ends = [
        f"{effect_words(joint.response, joint.unit, effect)} {near} {with_unit(other, end)}"
        for effect, end in ((joint.at_low, other.low), (joint.at_high, other.high))
    ]
    return f"{said}: +{factor.text(joint.delta)} {factor.unit} {'; '.join(ends)}."


def _when_high(factor: Factor) -> str:
    state = "long" if factor.role == "time" else "high"
    return _WHEN_HIGH.get(factor.name, f"{spoken(factor.name)} is {state}")


def conflict_words(conflict: Conflict, prior: str) -> str:
    """Return that an effect is not what the molding prior expects, and what to do about it."""
    told = conflict.weak
    if told.unit == "share":
        expected = f"to bring 50 % to {100 * conflict.expected:.0f} %"
    else:
        verb = "add" if conflict.expected >= 0 else "take"
        expected = f"to {verb} about {abs(conflict.expected):.2g} {told.unit}"
    pulled = "The shots outweigh the prior: with either one the answer is nearly the same."
    if conflict.pulled:
        effect = effect_words(told.response, told.unit, conflict.molding.effect)
        pulled = f"The molding prior pulls the answer to: {effect}."
    then = "use --prior weak" if prior == "molding" else "stay with the weak prior"
    return (
        f"Conflict: by the shots {turned(told.factor)} "
        f"{effect_words(told.response, told.unit, told.effect)}, where the molding prior, next to "
        f"the other effects, expects it {expected}: {conflict.distance:.1f} standard deviations "
        f"apart, {FAR:g} are usual. {pulled} Look first for readings or settings that were taken "
        f"down wrongly; if they stand, {then}."
    )
