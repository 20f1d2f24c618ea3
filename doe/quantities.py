"""Text and units turned into numbers, and numbers into the shortest text that is still right.

Numbers are read the same way in every country and on every machine: the settings of the
operating system are never asked.
"""

import math
import re
from collections.abc import Collection
from decimal import Decimal

_POUND_FORCE_N = 0.45359237 * 9.80665  # avoirdupois pound times standard gravity, both exact
_INCH_M = 0.0254

#: Pascal in one unit (NIST SP 811, appendix B.8; kg/cm2 is the technical atmosphere).
PRESSURE = {
    "bar": 1e5,
    "psi": _POUND_FORCE_N / _INCH_M**2,
    "MPa": 1e6,
    "kPa": 1e3,
    "kg/cm2": 98066.5,
}
#: Scales of temperature.
TEMPERATURE = ("degC", "degF")
#: Seconds in one unit.
TIME = {"s": 1.0, "min": 60.0}
#: Grams in one unit (the avoirdupois ounce).
MASS = {"g": 1.0, "oz": 453.59237 / 16}
#: Millimeters in one unit.
LENGTH = {"mm": 1.0, "in": 25.4}

_KINDS: dict[str, Collection[str]] = {
    "pressure": PRESSURE,
    "temperature": TEMPERATURE,
    "time": TIME,
    "mass": MASS,
    "length": LENGTH,
}
_SCALES = PRESSURE | TIME | MASS | LENGTH

# Grouping of thousands by a space or an apostrophe can never be a decimal mark. Spreadsheets and
# word processors write these: space, no-break, figure, punctuation, thin, narrow no-break.
_SPACES = "\u0020\u00a0\u2007\u2008\u2009\u202f"
_GROUP_MARKS = f"[{_SPACES}'\u2019]"
# Minus, hyphens, figure dash and en dash, as word processors write a minus sign.
_MINUS_SIGNS = str.maketrans("\u2212\u2010\u2011\u2012\u2013", "-" * 5)

_SHAPE = re.compile(r"([+-]?)([0-9.,]+)([eE][+-]?[0-9]+)?")


class NumberError(ValueError):
    """A text that is no number, or that could be two; `readings` holds what it could be."""

    def __init__(self, reason: str, readings: tuple[float, ...] = ()) -> None:
        super().__init__(reason)
        self.reason = reason
        self.readings = readings


def unit_kind(unit: str) -> str | None:
    """Return what a unit measures: "pressure", "temperature", "time", "mass", "length" or None.

    Examples
    --------
    >>> from shotwindow.doe.quantities import unit_kind
    >>> unit_kind("psi"), unit_kind("rpm")
    ('pressure', None)
    """
    return next((kind for kind, units in _KINDS.items() if unit in units), None)


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Return a reading in another unit of the same kind.

    A temperature is taken as a point on the scale (32 degF is 0 degC), not as a difference.

    Raises
    ------
    ValueError
        If a unit is unknown or the two measure different things.

    Examples
    --------
    >>> from shotwindow.doe.quantities import convert
    >>> convert(212.0, "degF", "degC")
    100.0
    """
    kind, other = unit_kind(from_unit), unit_kind(to_unit)
    if kind is None or kind != other:
        raise ValueError(f"no conversion from {from_unit!r} ({kind}) to {to_unit!r} ({other})")
    if from_unit == to_unit:
        return float(value)
    if kind == "temperature":
        # The order of the operations keeps whole degrees whole: 446 degF is 230 degC, no dust.
        return (value - 32) * 5 / 9 if to_unit == "degC" else value * 9 / 5 + 32
    return value * _SCALES[from_unit] / _SCALES[to_unit]


def read_number(text: str, *, percent: bool = False, unit: str | None = None) -> float:
    """Return the number that a text holds.

    A point is the decimal mark wherever it can be. A comma is one too, except where it could as
    well part the thousands: ``1,250`` is refused. Spaces and apostrophes part thousands only.

    Parameters
    ----------
    text : str
        One cell or one answer.
    percent : bool, optional
        Allow a percent sign after the number; it is dropped, ``95 %`` is 95.
    unit : str, optional
        Allow this unit after the number.

    Raises
    ------
    NumberError
        With the reason and, where the text is ambiguous, both readings.

    Examples
    --------
    >>> from shotwindow.doe.quantities import read_number
    >>> read_number("4,3"), read_number("1 250,5"), read_number("95 %", percent=True)
    (4.3, 1250.5, 95.0)
    """
    bare = text.strip().translate(_MINUS_SIGNS)
    for tail in ("%" if percent else None, unit):
        if tail and bare.endswith(tail):
            bare = bare[: -len(tail)].rstrip()
    if not bare:
        raise NumberError("empty")
    bare = re.sub(rf"(?<=[0-9]){_GROUP_MARKS}(?=[0-9]{{3}}(?![0-9]))", "_", bare)
    if "_" in text or not (shape := _SHAPE.fullmatch(bare.replace("_", ""))):
        raise NumberError(f"{text.strip()!r} is not a number")
    _check_groups(bare, text)
    sign, digits, exponent = shape[1], shape[2], shape[3] or ""
    values = tuple(float(sign + plain + exponent) for plain in _plain(digits, "_" in bare, text))
    if len(values) > 1:
        low, high = (format_number(value, 0.001) for value in values)
        raise NumberError(f"{text.strip()!r} could be {low} or {high}", values)
    if not math.isfinite(values[0]):
        raise NumberError(f"{text.strip()!r} is too large")
    return values[0]


def _check_groups(bare: str, text: str) -> None:
    """Refuse thousands that are parted in some places and not in others, as in `1250 000`."""
    whole = re.split(r"[.,eE]", bare.lstrip("+-"))[0]
    if "_" in bare and not re.fullmatch(r"[0-9]{1,3}(_[0-9]{3})+", whole):
        raise NumberError(f"{text.strip()!r} is not a number")


def _plain(digits: str, grouped: bool, text: str) -> list[str]:
    """Return the readings of digits, points and commas as plain decimals: one, or two."""
    marks = re.findall(r"[.,]", digits)
    if digits[-1] in ".,":
        raise NumberError(f"{text.strip()!r} ends in a decimal mark, so a digit may be missing")
    if len(marks) <= 1:
        point = digits.replace(",", ".")
        thousands = re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", digits)
        return [point, digits.replace(",", "")] if thousands and not grouped else [point]
    decimal = marks[-1] if marks[-1] != marks[0] else ""
    whole, _, fraction = digits.rpartition(decimal) if decimal else (digits, "", "0")
    groups = whole.split(marks[0])
    well = len(groups[0]) in (1, 2, 3) and all(len(group) == 3 for group in groups[1:])
    if grouped or not well or re.search(r"[.,]", fraction):
        raise NumberError(f"{text.strip()!r} is not a number")
    return ["".join(groups) + "." + fraction]


def decimals(value: float) -> int:
    """Return how many decimals a number is written with, for instance 2 for 0.25.

    Examples
    --------
    >>> from shotwindow.doe.quantities import decimals
    >>> decimals(0.25), decimals(10.0), decimals(1e-7)
    (2, 0, 7)
    """
    exponent = Decimal(repr(float(value))).normalize().as_tuple().exponent
    return max(0, -int(exponent))


def format_number(value: float, step: float) -> str:
    """Return a value rounded to two decimals more than the step has, as short as it can be.

    A mark comes out as it is set, and a value between two marks can still be told from both.

    Examples
    --------
    >>> from shotwindow.doe.quantities import format_number
    >>> format_number(4.300000001, 0.1), format_number(205.0, 1), format_number(4.3333, 0.1)
    ('4.3', '205', '4.333')
    """
    places = decimals(step) + 2
    # Adding zero turns a minus zero into a plain one.
    return f"{round(value, places) + 0.0:.{places}f}".rstrip("0").rstrip(".")
