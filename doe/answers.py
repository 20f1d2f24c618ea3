"""A cell that is filled in at the press -> fill, flash, status, ... in the study's own scales."""

import re
from collections.abc import Callable
from functools import partial

from shotwindow.doe.cells import Wrong, plain, read_real, read_text, read_whole
from shotwindow.doe.columns import REMARKS, SHORT_CAVITIES, Layout
from shotwindow.doe.errors import guess
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell, fold

STATUSES = ("ok", "void", "no part", "skipped")
_HEAVY_GRADE = 3
_TRIMMED_GRADE = 2  # from here on there is flash that weighs something

_HEAVY_WIDTH = 5.0  # in multiples of the widest that is good
_LARGEST_MASS = 1.5  # in multiples of a full part; nothing but a slip of typing weighs more
_LARGEST_WIDTH = 100.0  # in multiples of the widest that is good; beyond is a slip of typing
_WORDS = {"full": "full", "f": "full", "short": "short", "s": "short"}
_NO_REASON = ("-", "none", "no", "n/a", "0", "ok")
_NO_PART = 'a shot without a part has the status "no part"'

Value = float | str | tuple[int, ...]
Reader = Callable[[Cell], Value]


def readers(study: Study, layout: Layout) -> dict[str, Reader]:
    r"""Return how each column that is filled in at the press is read.

    Parameters
    ----------
    study : Study
    layout : Layout

    Returns
    -------
    dict
        By heading, a function from a cell that is not empty to its value. It raises `Wrong`
        where the cell does not hold what it should.

    Examples
    --------
    >>> from shotwindow.doe.answers import readers
    >>> from shotwindow.doe.columns import standard_layout
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.doe.tables import Cell
    >>> text = '[factors.pressure]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.1'
    >>> study = parse_study(text)
    >>> readers(study, standard_layout(study))["fill (%)"](Cell("95 %", 2, 8))
    95.0
    """
    found: dict[str, Reader] = {name: read_text for name in ("lot", *REMARKS, *layout.extra)}
    found |= {"status": _read_status, "other": _read_reason}
    for heading, factor in zip(layout.actual, study.factors, strict=True):
        # The press may overshoot its rating a little; ten times the setting is a slip of typing.
        span = factor.high - factor.low
        limits = (factor.limits[0] - span, factor.limits[1] + span)
        found[heading] = partial(_read_actual, limits=limits, unit=factor.unit)
    found |= _fill_readers(study, layout)
    for heading in layout.flash:
        if study.flash.measured == "grade":
            found[heading] = _read_grade
        else:
            widest = _LARGEST_WIDTH * max(study.flash.good, study.flash.seen_from)
            found[heading] = partial(_read_width, widest=widest, unit=study.flash.unit)
    found[SHORT_CAVITIES] = partial(_read_cavities, cavities=study.cavities)
    return found


def full_masses(study: Study, layout: Layout) -> tuple[float | None, ...]:
    """Return what a full part weighs in each fill column, in g; None where fill is not weighed."""
    masses = study.mold.full_mass_g
    if study.fill.measured != "mass" or masses is None:
        return (None,) * len(layout.fill)
    return (sum(masses),) if is_total_mass(study, layout) else masses


def is_total_mass(study: Study, layout: Layout) -> bool:
    """Return whether the parts of all cavities are weighed together."""
    return study.fill.measured == "mass" and len(layout.fill) < study.cavities


def is_full(study: Study, value: float | str | None, full_mass: float | None) -> bool | None:
    """Return whether a fill reading is that of a full part; None where that is not known.

    Parameters
    ----------
    study : Study
    value : float, str or None
        Percent or grams, or "full" or "short".
    full_mass : float or None
        What a full part weighs, in g; see `full_masses`.
    """
    if isinstance(value, str):
        return value == "full"
    if value is None or (study.fill.measured == "mass" and full_mass is None):
        return None
    if full_mass is None:
        return value >= 100
    return 100 * value / full_mass >= study.fill.full_from


def is_over_limit(study: Study, flash: float | None) -> bool:
    """Return whether flash is so much that it adds to a part's mass; None is flash not read."""
    if study.flash.measured == "grade":
        return flash is not None and flash >= _TRIMMED_GRADE
    return flash is not None and flash > study.flash.good


def is_heavy(study: Study, flash: float | None) -> bool:
    """Return whether flash is heavy: grade 3, or five times as wide as is good."""
    if study.flash.measured == "grade":
        return flash is not None and flash >= _HEAVY_GRADE
    widest = _HEAVY_WIDTH * max(study.flash.good, study.flash.seen_from)
    return flash is not None and flash >= widest


def _fill_readers(study: Study, layout: Layout) -> dict[str, Reader]:
    if study.fill.measured == "eye":
        return {heading: _read_percent for heading in layout.fill}
    if study.fill.measured == "full-or-short":
        return {heading: _read_word for heading in layout.fill}
    weigh = _read_mass if is_total_mass(study, layout) else _read_mass_or_word
    masses = full_masses(study, layout)
    return {
        heading: partial(weigh, full=full)
        for heading, full in zip(layout.fill, masses, strict=True)
    }


def _read_word(cell: Cell, expected: str = '"full" or "short"') -> str:
    word = _WORDS.get(fold(cell.text))
    if word is None:
        raise Wrong(expected)
    return word


def _read_percent(cell: Cell) -> Value:
    expected = 'percent from 1 to 100, "full" or "short"'
    if fold(cell.text) in _WORDS:
        return _read_word(cell)
    value = read_real(cell, expected, percent=True)
    if value == 0:
        raise Wrong(expected, _NO_PART)
    if 0 < value <= 1:
        raise Wrong(expected, f"write {value * 100:.6g} if a share of the whole part is meant")
    if not 1 < value <= 100:
        raise Wrong(expected, "what is more than full shows as flash")
    return value


def _read_mass_or_word(cell: Cell, full: float | None) -> Value:
    if fold(cell.text) in _WORDS:
        return _read_word(cell)
    return _read_mass(cell, full, ', or "full" or "short"')


def _read_mass(cell: Cell, full: float | None, or_words: str = "") -> Value:
    about = f" (a full one has {plain(round(full, 6))})" if full else ""
    expected = f"grams{about}{or_words}"
    value = read_real(cell, expected, unit="g")
    if value <= 0:
        raise Wrong(expected, _NO_PART)
    if full and value > _LARGEST_MASS * full:
        raise Wrong(expected, "check the decimal mark")
    return value


def _read_width(cell: Cell, widest: float, unit: str) -> float:
    expected = f'a width in {unit}, or "none"'
    if fold(cell.text) in ("none", "no"):
        return 0.0
    value = read_real(cell, expected, unit=unit)
    if not 0 <= value <= widest:
        raise Wrong(expected, f"from 0 to {plain(round(widest, 6))} {unit}; check the decimal mark")
    return value


def _read_grade(cell: Cell) -> int:
    expected = "a grade: 0 none, 1 witness line, 2 over the limit and trims off, 3 heavy"
    if fold(cell.text) in ("none", "no"):
        return 0
    value = read_whole(cell, expected)
    if not 0 <= value <= _HEAVY_GRADE:
        raise Wrong(expected)
    return value


def _read_cavities(cell: Cell, cavities: int) -> tuple[int, ...]:
    expected = f'numbers from 1 to {cavities}, such as "1 3", or "none"'
    if fold(cell.text) in ("none", "no", "-", "0"):
        return ()
    words = re.split(r"[\s,;]+", cell.text)
    if not all(word.isdecimal() and 1 <= int(word) <= cavities for word in words):
        raise Wrong(expected)
    return tuple(sorted({int(word) for word in words}))


def _read_actual(cell: Cell, limits: tuple[float, float], unit: str) -> float:
    low, high = limits
    expected = f"what was really set, in {unit}"
    value = read_real(cell, expected, unit=unit)
    if not low <= value <= high:
        raise Wrong(expected, "far outside the limits of the press: check the decimal mark")
    return value


def _read_status(cell: Cell) -> str:
    word = fold(read_text(cell).replace("-", " "))
    if word in ("empty", *STATUSES):
        return "" if word == "empty" else word
    meant = guess(word, STATUSES)
    expected = ", ".join(STATUSES) + " or an empty cell"
    raise Wrong(expected, f'"{meant}" is perhaps meant' if meant else "")


def _read_reason(cell: Cell) -> str:
    word = fold(read_text(cell))
    return "" if word in _NO_REASON else word
