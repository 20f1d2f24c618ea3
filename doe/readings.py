"""Rows -> the intervals in which each latent quantity of each fitted shot lies.

Fill goes on beyond 100 % and flash below zero: what is read off a part only says where the latent
quantity can be. A full part says "100 or more", a reading to the nearest 2 % says "between 95 and
97", no flash says "less than can be seen".
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.answers import is_over_limit
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import Factor
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study

#: Percent below which a shot without a part must have been (common practice, no source).
NO_PART_BELOW = 50.0

_INF = math.inf
_Interval = tuple[float, float]
_MISSING = (-_INF, _INF)


@dataclass(frozen=True)
class Readings:
    """The fitted shots of a study as arrays, in running order.

    Attributes
    ----------
    factors : tuple of Factor, length k
    shot, group : ndarray of int, shape (n,)
    lot, block : ndarray of str, shape (n,)
    settings : ndarray, shape (n, k)
        In the factors' units: as read off the press for the factors in `actual`, else as planned.
    actual : tuple of str
        Factors whose actual setting is known for every shot.
    partly_actual : tuple of str
        Factors whose actual setting is known for some shots only, so that the planned ones are
        used; the user is to be warned.
    fill_low, fill_high : ndarray, shape (n, fill columns)
        Percent; -inf and inf where open.
    flash_low, flash_high : ndarray, shape (n, flash columns), or None
        In the study's unit of width; None for grades.
    flash_grade : ndarray of int, shape (n, flash columns), or None
        0 to 3, -1 where missing; None for widths.
    other : ndarray of bool, shape (n,), or None
        Whether a part was rejected for another reason; None if none ever was.
    reasons : tuple of str
        These reasons, each once.
    fill_good : float
        Percent from which a part is full.
    flash_good : float
        Widest flash, or worst grade, of a good part.
    """

    factors: tuple[Factor, ...]
    shot: NDArray[np.int64]
    group: NDArray[np.int64]
    lot: NDArray[np.str_]
    block: NDArray[np.str_]
    settings: NDArray[np.float64]
    actual: tuple[str, ...]
    partly_actual: tuple[str, ...]
    fill_low: NDArray[np.float64]
    fill_high: NDArray[np.float64]
    flash_low: NDArray[np.float64] | None
    flash_high: NDArray[np.float64] | None
    flash_grade: NDArray[np.int64] | None
    other: NDArray[np.bool_] | None
    reasons: tuple[str, ...]
    fill_good: float
    flash_good: float

    @property
    def used_actual(self) -> bool:
        """Whether any factor's actual settings are used."""
        return bool(self.actual)


def readings(study: Study, rows: Sequence[Row]) -> Readings:
    r"""Return the fitted ones among some rows as arrays of intervals.

    Parameters
    ----------
    study : Study
    rows : sequence of Row

    Raises
    ------
    StudyError
        If no shot is recorded, or parts were weighed and a full part's mass is not known.

    Examples
    --------
    >>> from shotwindow.doe.readings import readings
    >>> from shotwindow.doe.rows import Row
    >>> from shotwindow.doe.study import parse_study
    >>> text = '[factors.pressure]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.1'
    >>> row = Row(1, "", "", 1, "ladder", (3.0,), (None,), (96.0,), (0.0,))
    >>> found = readings(parse_study(text), [row])
    >>> found.fill_low.tolist(), found.fill_high.tolist(), found.flash_high.tolist()
    ([[95.0]], [[97.0]], [[0.02]])
    """
    fitted = sorted((row for row in rows if row.is_fitted), key=lambda row: row.shot)
    if not fitted:
        raise StudyError.one(
            "runs.csv",
            "no shot with a result",
            "at least one",
            "record shots with `shotwindow record`",
        )
    settings, actual, partly = _settings(study, fitted)
    fill = np.array([_fill(study, row) for row in fitted])  # (n, fill columns, 2)
    widths = study.flash.measured == "width"
    flash = np.array([_flash(study, row) for row in fitted]) if widths else None
    reasons = tuple(sorted({row.other for row in fitted if row.other}))
    return Readings(
        factors=study.factors,
        shot=np.array([row.shot for row in fitted]),
        group=np.array([row.group for row in fitted]),
        lot=np.array([row.lot for row in fitted]),
        block=np.array([row.block for row in fitted]),
        settings=settings,
        actual=actual,
        partly_actual=partly,
        fill_low=fill[..., 0],
        fill_high=fill[..., 1],
        flash_low=None if flash is None else flash[..., 0],
        flash_high=None if flash is None else flash[..., 1],
        flash_grade=None if widths else np.array([_grades(row) for row in fitted]),
        other=np.array([bool(row.other) for row in fitted]) if reasons else None,
        reasons=reasons,
        fill_good=_full_from(study),
        flash_good=study.flash.good,
    )


def _settings(
    study: Study, rows: Sequence[Row]
) -> tuple[NDArray[np.float64], tuple[str, ...], tuple[str, ...]]:
    """Return the settings to fit, and which factors' actual ones are complete or partly there."""
    planned = np.array([row.settings for row in rows])
    read = np.array([row.actual for row in rows], dtype=np.float64)  # None becomes nan
    known = ~np.isnan(read)
    complete = known.all(axis=0)
    partly = known.any(axis=0) & ~complete
    names = np.array(study.names)
    settings = np.where(complete, read, planned)
    return settings, tuple(map(str, names[complete])), tuple(map(str, names[partly]))


def _full_from(study: Study) -> float:
    return study.fill.full_from if study.fill.measured == "mass" else 100.0


def _fill(study: Study, row: Row) -> list[_Interval]:
    """Return the interval of each fill column in percent; a column a cavity for masses."""
    weighed = study.fill.measured == "mass"
    if row.status == "no part":
        return [(-_INF, NO_PART_BELOW)] * (study.cavities if weighed else len(row.fill))
    if weighed:
        return [_fill_by_mass(study, row, cavity) for cavity in range(study.cavities)]
    return [_fill_by_eye(value, study.fill.step / 2) for value in row.fill]


def _fill_by_eye(value: float | str | None, half: float) -> _Interval:
    if isinstance(value, str):
        return (100.0, _INF) if value == "full" else (-_INF, 100.0)
    if value is None:
        return _MISSING
    return (100.0, _INF) if value >= 100 else (_above_zero(value - half), min(value + half, 100.0))


def _fill_by_mass(study: Study, row: Row, cavity: int) -> _Interval:
    """Judge one part by what was seen of it, then by its mass as a share of a full one's."""
    masses = study.mold.full_mass_g
    if masses is None:
        do = "weigh five or more full parts without flash from each cavity"
        raise StudyError.one("study.toml [mold] full_mass_g", "nothing", "a mass a cavity", do)
    full_from = study.fill.full_from
    seen = _seen(row, cavity)
    total = len(row.fill) < study.cavities
    mass = None if total else row.fill[cavity]
    if seen == "full":
        return (full_from, _INF)
    high = full_from if seen == "short" else _INF
    if not isinstance(mass, float):
        return (-_INF, high)
    percent, half = (100 * grams / masses[cavity] for grams in (mass, study.fill.step / 2))
    flash = row.flash[cavity] if len(row.flash) == study.cavities else row.flash[0]
    if is_over_limit(study, flash):
        # The flash was weighed with the part: there is no more plastic in the cavity than that. At
        # and above a full part's mass this no longer tells a full part from a short one.
        most = percent + half
        return (-_INF, high if most >= full_from else most)
    if percent >= full_from:
        return (full_from, _INF) if high == _INF else (-_INF, high)
    return (_above_zero(percent - half), min(percent + half, high))


def _seen(row: Row, cavity: int) -> str | None:
    """Return "full" or "short" where somebody looked, else None."""
    word = row.fill[cavity] if cavity < len(row.fill) else None
    if isinstance(word, str):
        return word
    if row.short_cavities is None:
        return None
    return "short" if cavity + 1 in row.short_cavities else "full"


def _above_zero(percent: float) -> float:
    """Return a lower end that has a logarithm, or none at all."""
    return percent if percent > 0 else -_INF


def _flash(study: Study, row: Row) -> list[_Interval]:
    """Return the interval of each flash width, in the study's unit."""
    if row.status == "no part":
        return [_MISSING] * len(row.flash)
    scale = study.flash
    return [
        _MISSING
        if width is None
        else (-_INF, scale.seen_from)
        if width < scale.seen_from
        else (width - scale.step / 2, width + scale.step / 2)
        for width in row.flash
    ]


def _grades(row: Row) -> list[int]:
    return [-1 if grade is None else int(grade) for grade in row.flash]
