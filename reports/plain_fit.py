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
from shotwindow.doe.terms import MODELS, Terms, full_quadratic, model_terms, term_name
from shotwindow.models.anova import Anova, anova, sources_of
from shotwindow.models.split_plots import SplitPlot, split_plot
from shotwindow.models.textbook import Fit, Quality, estimable, fit, quality
from shotwindow.reports.changes import LEVEL, Interval, usual_change
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import plural, spoken

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
    coded : ndarray, shape (n, k)
        Settings of the shots that have a reading.
    rows : ndarray of int, shape (n,)
        Their places among all fitted shots.
    fit : Fit
        Its columns are the terms, then one fewer than there are blocks.
    quality : Quality
    grouped : SplitPlot
        The same with errors judged by group for slow settings.
    anova : Anova
        Lack of fit and pure error in it are None where no shot was repeated in its group.
    """

    response: str
    model: str
    terms: Terms
    coded: Array
    rows: NDArray[np.int_]
    fit: Fit
    quality: Quality
    grouped: SplitPlot
    anova: Anova


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


def plain_fit(found: Fitted, response: str) -> PlainFit | None:
    """Fit one response by least squares; None where the shots leave nothing to judge it by."""
    readings = found.readings
    if only_words(found, response):
        return None
    numbers = worst_readings(readings, response)
    rows = np.flatnonzero(np.isfinite(numbers))
    coded = coded_settings(found.study.factors, readings.settings[rows])
    blocks = _block_columns(readings.block[rows])
    for model in reversed(MODELS):
        terms = model_terms(model, found.study.names)
        terms = terms.subset(told_apart(terms, coded, blocks))
        if len(coded) > len(terms) + blocks.shape[1]:
            break
    else:
        return None
    matrix, group = np.column_stack([terms.matrix(coded), blocks]), readings.group[rows]
    if not estimable(matrix).all():
        return None
    fitted = fit(matrix, numbers[rows])
    sources = (*sources_of(terms), *("blocks" for _ in blocks.T))
    table = anova(fitted, sources, np.column_stack([coded, group, blocks]))
    return PlainFit(
        response=response,
        model=model,
        terms=terms,
        coded=coded,
        rows=rows,
        fit=fitted,
        quality=quality(fitted),
        grouped=split_plot(matrix, numbers[rows], group),
        anova=table,
    )


def _block_columns(block: NDArray[np.str_]) -> Array:
    """Return columns that add up to zero over the blocks, one fewer than there are, (n, b - 1)."""
    place = np.unique(block, return_inverse=True)[1]
    last = int(place.max()) if place.size else 0
    return np.asarray(np.vstack([np.eye(last), -np.ones(last)])[place])


def only_words(found: Fitted, response: str) -> bool:
    """Tell whether the parts were only called full or short, which leaves nothing to average."""
    return response == "fill" and found.study.fill.measured == "full-or-short"


def why_no_fit(found: Fitted, response: str) -> str:
    """Return in a sentence why `plain_fit` has no answer."""
    if only_words(found, response):
        return (
            "Least squares needs numbers: the parts were only called full or short. The surface "
            "above does with that."
        )
    seen = int(np.isfinite(worst_readings(found.readings, response)).sum())
    changed = sum(len(np.unique(column)) > 1 for column in found.readings.settings.T)
    return (
        f"Too few shots for least squares: {plural(seen, 'reading')} of {response} cannot carry a "
        f"mean and {plural(changed, 'slope')} with something left to judge them by."
    )


def left_out(found: Fitted, plain: PlainFit) -> dict[str, list[str]]:
    """Return the terms of the full quadratic that are not in a fit, by the reason why not."""
    quadratic = full_quadratic(found.study.names)
    beside = plain.fit.matrix[:, len(plain.terms) :]
    apart = told_apart(quadratic, plain.coded, beside)
    levels = [len(np.unique(column.round(9))) for column in plain.coded.T]
    reasons: dict[str, list[str]] = {}
    for powers, told in zip(quadratic.exponents, apart, strict=True):
        if powers in plain.terms.exponents:
            continue
        used = [j for j, power in enumerate(powers) if power]
        still = [found.study.names[j] for j in used if levels[j] < 2]
        if still:
            why = f"{spoken(still[0])} was never changed"
        elif max(powers) == 2 and levels[used[0]] == 2:
            why = "two levels cannot show a bend"
        elif told:
            shots = plural(len(plain.rows), "shot")
            why = f"with it {shots} would leave nothing to judge the model by"
        else:
            why = "these shots do not tell it from the terms before it"
        reasons.setdefault(why, []).append(spoken(term_name(powers, found.study.names)))
    return reasons


def plain_effect(found: Fitted, plain: PlainFit, j: int) -> Interval | None:
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


def plain_surface(plain: PlainFit, coded: Array) -> Array:
    """Return the fitted values at coded settings (m, k), over the mean of the blocks."""
    return np.asarray(plain.terms.matrix(coded) @ plain.fit.coefficients[: len(plain.terms)])


def plain_crossing(found: Fitted, plain: PlainFit, j: int, count: int = 401) -> float | None:
    """Return where least squares passes the limit along factor ``j``; None where it does not."""
    factor, readings = found.study.factors[j], found.readings
    coded = np.zeros((count, len(found.study.factors)))
    coded[:, j] = np.linspace(-1.0, 1.0, count)
    predicted = plain_surface(plain, coded)
    graded = plain.response == "flash" and readings.flash_grade is not None
    limit = readings.fill_good if plain.response == "fill" else readings.flash_good
    passed = np.flatnonzero(predicted >= limit + (0.5 if graded else 0.0))
    if not passed.size or passed[0] == 0:
        return None
    return float(factor.natural(coded[passed[0], j]))
