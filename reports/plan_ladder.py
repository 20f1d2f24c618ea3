"""The recorded shots of a ladder -> the range of pressure that the next study should try."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.ladders import Bracket, bracket
from shotwindow.doe.readings import Readings, readings
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study
from shotwindow.reports.naming import spoken, unit_of


def ladder_bracket(study: Study, rows: Sequence[Row]) -> Bracket | None:
    """Return what the recorded rungs of a ladder bracket; None where there are none."""
    rungs = [row for row in rows if row.kind == "ladder" and row.is_fitted]
    roles = [factor.role for factor in study.factors]
    if not rungs or "pressure" not in roles:
        return None
    found = readings(study, rungs)
    planned = np.array([row.settings for row in sorted(rungs, key=lambda row: row.shot)])
    warm = (
        planned[:, roles.index("temperature")] if "temperature" in roles else np.zeros(len(rungs))
    )
    full = np.array([not (highs <= found.fill_good).any() for highs in found.fill_high])
    return bracket(planned[:, roles.index("pressure")], warm, full, _flashed(found))


def _flashed(found: Readings) -> NDArray[np.bool_]:
    """Return whether any reading of a shot lies surely over the limit of good flash."""
    if found.flash_grade is not None:
        over = found.flash_grade > found.flash_good
    else:
        assert found.flash_low is not None  # readings are widths where they are not grades
        over = found.flash_low > found.flash_good
    return np.asarray(over.any(axis=1))


def ladder_words(study: Study, found: Bracket) -> str:
    """Return the range in one sentence, and which of its ends is only the end of the ladder.

    Examples
    --------
    >>> from shotwindow.doe.ladders import Bracket
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.reports.plan_ladder import ladder_words
    >>> table = "[factors.pressure]{n}unit = 'bar'{n}low = 3.0{n}high = 5.0{n}step = 0.1"
    >>> ladder_words(parse_study(table.format(n=chr(10))), Bracket(3.4, 4.8, True, True))
    'The ladder brackets pressure 3.4 to 4.8 bar gauge: low and high for the next study.'
    """
    factor = next(f for f in study.factors if f.role == "pressure")
    span = f"{factor.text(found.low)} to {factor.text(found.high)} {unit_of(factor)}"
    words = f"The ladder brackets {spoken(factor.name)} {span}: low and high for the next study."
    if not found.short_seen:
        words += " No short shot was seen at some temperature: move low further down."
    if not found.flash_seen:
        words += " No flash over the limit was seen at some temperature: move high further up."
    return words
