"""Readings -> least squares as a textbook does it, with the numbers of this study.

Every reading is taken as a number: a full part as 100 percent, one without flash as 0. What that
does to the edges is what stands beside it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.aliases import told_apart
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.readings import Readings
from shotwindow.doe.terms import MODELS, Terms, model_terms
from shotwindow.models.anova import Line, anova, sources_of
from shotwindow.models.split_plots import SplitPlot, split_plot
from shotwindow.models.textbook import Fit, Quality, fit, quality
from shotwindow.reports.changes import LEVEL, Interval, usual_change
from shotwindow.reports.findings import Findings

Array = NDArray[np.float64]


@dataclass(frozen=True)
class PlainFit:
    """A least-squares fit of one response.

    Attributes
    ----------
    response : str
        "fill" or "flash".
    model : str
        One of `MODELS`, the largest that leaves a degree of freedom.
    terms : Terms
        Those of the model that the shots tell apart, in coded settings.
    fit : Fit
    quality : Quality
    grouped : SplitPlot
        The same with errors judged by group for slow settings.
    lack_of_fit : Line or None
        None where no shot was repeated.
    """

    response: str
    model: str
    terms: Terms
    fit: Fit
    quality: Quality
    grouped: SplitPlot
    lack_of_fit: Line | None


def worst_readings(readings: Readings, response: str) -> Array:
    """Return one number a shot: its least filled cavity in percent, or its widest flash or grade.

    What is open above or below is taken at its known end, as is done where nobody censors.
    """
    if response == "fill":
        low, high = readings.fill_low, readings.fill_high
        return -_worst(-_as_numbers(low, high))
    if readings.flash_grade is not None:
        grades = np.where(readings.flash_grade < 0, np.nan, readings.flash_grade)
        return np.asarray(_worst(grades))
    assert readings.flash_low is not None and readings.flash_high is not None  # widths
    numbers = _as_numbers(readings.flash_low, readings.flash_high)
    nothing_seen = np.isneginf(readings.flash_low) & np.isfinite(readings.flash_high)
    return _worst(np.where(nothing_seen, 0.0, numbers))


def _worst(values: Array) -> Array:
    """Return the largest of each row; not a number where all are missing."""
    filled = np.where(np.isnan(values), -np.inf, values).max(axis=1)
    return np.asarray(np.where(np.isneginf(filled), np.nan, filled))


def _as_numbers(low: Array, high: Array) -> Array:
    """Return the middle of each interval, or its only end; not a number where it has none."""
    known_low, known_high = np.isfinite(low), np.isfinite(high)
    one_end = np.where(known_low, low, np.where(known_high, high, np.nan))
    both = known_low & known_high
    return np.asarray(np.where(both, (one_end + np.where(both, high, one_end)) / 2, one_end))


def plain_fit(found: Findings, response: str) -> PlainFit | None:
    """Fit one response by least squares; None where the shots leave nothing to judge it by."""
    readings = found.readings
    numbers = worst_readings(readings, response)
    seen = np.isfinite(numbers)
    coded = coded_settings(found.study.factors, readings.settings[seen])
    for model in reversed(MODELS):
        terms = model_terms(model, found.study.names)
        terms = terms.subset(told_apart(terms, coded))
        if len(coded) > len(terms):
            break
    else:
        return None
    matrix, group = terms.matrix(coded), readings.group[seen]
    fitted = fit(matrix, numbers[seen])
    table = anova(fitted, sources_of(terms), np.column_stack([coded, group]))
    return PlainFit(
        response=response,
        model=model,
        terms=terms,
        fit=fitted,
        quality=quality(fitted),
        grouped=split_plot(matrix, numbers[seen], group),
        lack_of_fit=table.lack_of_fit,
    )


def plain_effect(found: Findings, plain: PlainFit, j: int) -> Interval | None:
    """Return what turning up factor ``j`` adds in the middle of the study, by least squares.

    In percent of a full part, in the unit of flash, or in grades. None where it cannot be told.
    """
    from scipy.special import stdtrit

    own = [int(i == j) for i in range(len(found.study.factors))]
    if tuple(own) not in plain.terms.exponents:
        return None
    place, grouped = plain.terms.exponents.index(tuple(own)), plain.grouped
    if not grouped.told[place]:
        return None
    factor = found.study.factors[j]
    step = usual_change(factor) / ((factor.high - factor.low) / 2)
    middle = float(grouped.coefficients[place]) * step
    margin = stdtrit(grouped.df[place], (1 + LEVEL) / 2) * float(grouped.std_errors[place]) * step
    return Interval(middle, middle - float(margin), middle + float(margin))


def plain_crossing(found: Findings, plain: PlainFit, j: int, count: int = 401) -> float | None:
    """Return where least squares passes the limit along factor ``j``; None where it does not."""
    factor, readings = found.study.factors[j], found.readings
    coded = np.zeros((count, len(found.study.factors)))
    coded[:, j] = np.linspace(-1.0, 1.0, count)
    predicted = plain.terms.matrix(coded) @ plain.fit.coefficients
    graded = plain.response == "flash" and readings.flash_grade is not None
    limit = readings.fill_good if plain.response == "fill" else readings.flash_good
    passed = np.flatnonzero(predicted >= limit + (0.5 if graded else 0.0))
    if not passed.size or passed[0] == 0:
        return None
    return float(factor.natural(coded[passed[0], j]))
