"""Least-squares fit -> its coefficients as tables: coded, in units, and judged by groups."""

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.coefficients import coefficient_table, in_units, variance_inflation
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import listed, plural, spoken
from shotwindow.reports.plain_fit import PlainFit, left_out
from shotwindow.reports.questions import DIGITS, Cell, Question, number

Array = NDArray[np.float64]

#: From here on a coefficient leans on others (common practice, no source).
MUCH_INFLATED = 10.0
EXACT = 1e-3  # of what the readings span: so close have sums of written coefficients to be
MOST_DIGITS = 15  # that a number has


def grouped_study(found: Fitted) -> bool:
    """Tell whether a setting is slow, so that shots were made in temperature groups."""
    return any(factor.is_slow for factor in found.study.factors)


def term_words(name: str) -> str:
    """Return the name of a term as words; the constant is the middle of the study."""
    return "middle" if name == "1" else spoken(name)


def names_of(plain: PlainFit) -> tuple[str, ...]:
    """Return a name for each column of the fit."""
    blocks = plain.fit.matrix.shape[1] - len(plain.terms)
    return (
        *map(term_words, plain.terms.names),
        *(f"block {number + 1} over the mean" for number in range(blocks)),
    )


def model_question(found: Fitted, plain: PlainFit) -> Question:
    """Say which model the shots carry, and what was left out of it."""
    shots, terms = plural(len(plain.rows), "shot"), plural(len(plain.terms), "term")
    said = [f"A {plain.model} model: {shots}, {terms}, {plain.fit.df} degrees of freedom left."]
    said += [f"Left out: {listed(names)} ({why})." for why, names in left_out(found, plain).items()]
    if said[1:] == []:
        said.append("Nothing was left out of the full quadratic.")
    return Question("Which model can these shots carry?", tuple(said))


def coded_question(found: Fitted, plain: PlainFit) -> Question:
    """Give each coefficient over half a range, with its error, test and inflation."""
    inflation = variance_inflation(plain.fit)
    if grouped_study(found):
        judged = plain.grouped
        columns: tuple[Array | None, ...] = (judged.std_errors, judged.df, judged.t, judged.p)
        values = judged.coefficients
    else:
        table = coefficient_table(plain.fit)
        values = table.values
        freedom = np.full(len(values), float(plain.fit.df))
        columns = (table.std_errors, freedom, table.t, table.p)
    rows = tuple(
        (
            name,
            number(float(values[i])),
            *(None if column is None else number(float(column[i])) for column in columns),
            number(float(inflation[i])),
        )
        for i, name in enumerate(names_of(plain))
    )
    heads = ("term", "half range", "error", "df", "t", "p", "VIF")
    return Question(
        "What does half a range of each setting add?", _coded_words(found, plain), heads, rows
    )


def _coded_words(found: Fitted, plain: PlainFit) -> tuple[str, ...]:
    said = [f"In {unit_of_response(found, plain.response)}, settings coded -1 to +1."]
    if not plain.fit.rss:
        said.append("The model meets every reading exactly, so there is no error to judge by.")
    elif grouped_study(found):
        said.append("Errors and degrees of freedom by restricted likelihood and Kenward-Roger.")
    inflation = variance_inflation(plain.fit)
    much = [
        name
        for name, value in zip(names_of(plain), inflation, strict=True)
        if np.isfinite(value) and value > MUCH_INFLATED
    ]
    if much:
        said.append(f"Hard to tell from the other terms (VIF above 10): {listed(much)}.")
    return tuple(said)


def unit_of_response(found: Fitted, response: str) -> str:
    """Return the unit of least squares' readings."""
    return "percent of a full part" if response == "fill" else found.study.flash.unit


def units_question(found: Fitted, plain: PlainFit) -> Question:
    """Give the same polynomial in the units of the dials, to work out by hand."""
    factors = found.study.factors
    centers = np.array([(f.low + f.high) / 2 for f in factors])
    halves = np.array([(f.high - f.low) / 2 for f in factors])
    terms, transform = in_units(plain.terms, centers, halves)
    blocks = plain.fit.matrix.shape[1] - len(plain.terms)
    transform = np.column_stack([transform, np.zeros((len(terms), blocks))])
    by_groups = grouped_study(found)
    table = coefficient_table(plain.fit, transform)
    values = transform @ plain.grouped.coefficients if by_groups else table.values
    ends = (None, None) if by_groups else (table.low, table.high)
    rows: list[tuple[Cell, ...]] = []
    for i, name in enumerate(terms.names):
        words = "constant" if name == "1" else spoken(name)
        span = () if by_groups else tuple(None if e is None else number(float(e[i])) for e in ends)
        rows.append((words, float(values[i]), *span))
    units = ", ".join(f"{spoken(f.name)} in {f.unit}" for f in factors)
    said = [
        f"{plain.response.capitalize()} is the sum of these, each times its settings ({units}). "
        "No digit may be left out: large numbers nearly cancel."
    ]
    digits = _digits(values, terms.matrix(centers + halves * plain.coded), plain.fit.response)
    if by_groups:
        said.append("For their errors see the coded table: those are the same effects.")
    else:
        said.append(
            "Low and high hold a coefficient with a confidence of 95 %. Only products and squares "
            "can be judged here: all others say what happens where every dial reads zero."
        )
    heads = ("term", "coefficient") if by_groups else ("term", "coefficient", "low", "high")
    asked = "What is the formula in units?"
    return Question(asked, tuple(said), heads, tuple(rows), {"coefficient": digits})


def _digits(values: Array, matrix: Array, response: Array) -> int:
    """Significant digits of coefficients (p,) that give the same sums for all shots (n, p)."""
    close = EXACT * float(np.ptp(response))
    for digits in range(DIGITS, MOST_DIGITS):
        written = np.array([float(f"{value:.{digits}g}") for value in values])
        if np.abs(matrix @ (written - values)).max() <= close:
            return digits
    return MOST_DIGITS


def groups_question(found: Fitted, plain: PlainFit) -> Question:
    """Judge the effects of slow settings by the scatter of groups, not of shots."""
    asked = "Do the slow settings do more than temperature groups differ anyway?"
    if not grouped_study(found):
        return Question(asked, ("No setting is slow in this study, so every shot counts alike.",))
    judged, groups = plain.grouped, found.surfaces.groups
    plainly = coefficient_table(plain.fit)
    slow = [i for i in np.flatnonzero(judged.slow) if i > 0]
    rows = tuple(
        (
            names_of(plain)[i],
            number(float(judged.df[i])),
            None if plainly.p is None else number(float(plainly.p[i])),
            number(float(judged.p[i])) if judged.told[i] else "cannot tell",
        )
        for i in slow
    )
    said = [_freedom_words(plain, groups)]
    if rows:
        said.append(
            "Counting shots instead of groups gives the first p, which looks surer than it is."
        )
    heads = ("slow term", "df", "p by shots", "p by groups")
    return Question(asked, tuple(said), heads, rows)


def _freedom_words(plain: PlainFit, groups: int) -> str:
    judged = plain.grouped
    if judged.group_df == 0:
        return (
            f"Cannot tell with {plural(groups, 'group')}: none is left to say how groups differ "
            "when nothing was changed. Repeat a group at the same slow settings."
        )
    left = f"{plural(groups, 'group')} leave {plural(judged.group_df, 'degree')} of freedom"
    few = "" if judged.measured else ": hardly enough to judge by"
    if judged.group_variance is None or judged.shot_variance is None:
        return f"{left} for their scatter{few}; the readings show no scatter to compare."
    sds = np.sqrt([judged.group_variance, judged.shot_variance])
    return (
        f"{left} for their scatter{few}. Groups differ by {sds[0]:.3g} (standard deviation), "
        f"shots within a group by {sds[1]:.3g}."
    )
