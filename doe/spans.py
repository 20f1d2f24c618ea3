"""An answer such as "40 to 70 by 5 psi" turned into a range of marks, or into one held value."""

import math
import re
from dataclasses import dataclass, replace

from shotwindow.doe.cards import Known
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.quantities import (
    PRESSURE,
    TEMPERATURE,
    TIME,
    NumberError,
    convert,
    read_number,
)
from shotwindow.doe.study import parse_study

_EXAMPLES = {
    "pressure": "40 to 70 by 5 psi",
    "temperature": "205 to 235 by 5 degC",
    "time": "3 to 8 by 1 s",
}
_UNITS = {
    "pressure": tuple(PRESSURE),
    "temperature": tuple(TEMPERATURE),
    "time": tuple(TIME),
}
# How people write a unit, besides its own spelling.
_SPELLINGS = {
    "c": "degC",
    "celsius": "degC",
    "f": "degF",
    "fahrenheit": "degF",
    "psig": "psi",
    "barg": "bar",
    "kg/cm²": "kg/cm2",
    "sec": "s",
    "seconds": "s",
    "minutes": "min",
}
_NUMBER = r"[0-9][0-9.,]*"
_RANGE = re.compile(
    rf"\s*({_NUMBER})\s*(?:(?:to|-|–)\s*({_NUMBER})\s*(?:by|step)\s*({_NUMBER}))?\s*(\S+)\s*",
    re.IGNORECASE,
)
# Steps of a first range of temperatures, coarsest first: a melt follows no finer setting. The
# first that leaves room for five marks is taken (common practice, no source).
_STEPS = {"degC": (5.0, 2.0, 1.0), "degF": (10.0, 5.0, 2.0, 1.0)}
_MARKS = 5


@dataclass(frozen=True)
class Span:
    """A range of marks, or one value that is held.

    Attributes
    ----------
    low, high, step : float
        `high` is `low` and `step` 0 for a value that is held.
    unit : str
    source : str
        Who says so; empty for the user's own.
    """

    low: float
    high: float
    step: float
    unit: str
    source: str = ""

    @property
    def is_held(self) -> bool:
        """Whether it is a single value."""
        return self.low == self.high

    def __str__(self) -> str:
        """Return the span as an answer."""
        if self.is_held:
            return f"{self.low:.10g} {self.unit}"
        return f"{self.low:.10g} to {self.high:.10g} by {self.step:.10g} {self.unit}"


def read_span(text: str, name: str, kind: str) -> Span:
    """Return the range or the held value that an answer tells.

    Parameters
    ----------
    text : str
        Such as ``"40 to 70 by 5 psi"``, or ``"100 degF"`` for a value that is held.
    name : str
        Of the factor, such as ``"melt_temperature"``.
    kind : str
        "pressure", "temperature" or "time".

    Raises
    ------
    StudyError
        If the text is neither, or the range is none that a study can have.

    Examples
    --------
    >>> from shotwindow.doe.spans import read_span
    >>> span = read_span("40 to 70 by 5 psi", "pressure", "pressure")
    >>> span.low, span.high, span.step, span.unit
    (40.0, 70.0, 5.0, 'psi')
    """
    told = name.replace("_", " ")
    parts = _RANGE.fullmatch(text)
    unit = _unit(parts[4], kind) if parts else None
    if parts is None or unit is None:
        units = ", ".join(_UNITS[kind])
        do = f"as in {_EXAMPLES[kind]}; units are {units}"
        raise StudyError.one(told, f'"{text}"', "lowest, highest, step and unit", do)
    try:
        low, high, step = (read_number(part) if part else None for part in parts.groups()[:3])
    except NumberError as error:
        raise StudyError.one(told, f'"{text}"', "plain numbers", error.reason) from None
    assert low is not None  # the pattern has no other way
    if high is None or step is None:
        return Span(low, low, 0.0, unit)
    span = Span(low, high, step, unit)
    _check(span, name)
    return span


def _unit(text: str, kind: str) -> str | None:
    plain = text.casefold().removeprefix("°").strip(".")
    known = {unit.casefold(): unit for unit in _UNITS[kind]}
    spelled = _SPELLINGS.get(plain, text)
    return known.get(spelled.casefold())


def _check(span: Span, name: str) -> None:
    """Raise where a study would not take the range as a factor."""
    keys = f"low = {span.low!r}\nhigh = {span.high!r}\nstep = {span.step!r}"
    try:
        parse_study(f'[factors.{name}]\nunit = "{span.unit}"\n{keys}', "")
    except StudyError as error:
        told = name.replace("_", " ")
        raise StudyError(_told(problem, name, told) for problem in error.problems) from None


def _told(problem: Problem, name: str, told: str) -> Problem:
    """Return a problem under the name that was asked for, not its place in a file."""
    key = problem.place.replace(f"[factors.{name}]", "").strip()
    return replace(problem, place=f"{told}, {key}" if key else told)


def card_span(known: Known, unit: str, below: float | None = None) -> Span:
    """Return a first range for a temperature from a material's card.

    Parameters
    ----------
    known : Known
        In degC.
    unit : str
        "degC" or "degF".
    below : float, optional
        degC that the range must not reach.

    Examples
    --------
    >>> from shotwindow.doe.cards import Known
    >>> from shotwindow.doe.spans import card_span
    >>> str(card_span(Known(204.0, 260.0, "its maker"), "degF"))
    '400 to 500 by 10 degF'
    """
    least = known.high if known.low is None else known.low
    low, high = (convert(end, "degC", unit) for end in (least, known.high))
    ceiling = math.inf if below is None else convert(below, "degC", unit)
    for step in _STEPS[unit]:
        first, last = (math.ceil(round(low / step, 6)), math.floor(round(high / step, 6)))
        while last * step >= ceiling:
            last -= 1
        if last - first >= _MARKS - 1:
            break
    if last <= first:
        middle = float(round((low + high) / 2))
        return Span(middle, middle, 0.0, unit, known.source)
    return Span(first * step, last * step, step, unit, known.source)
