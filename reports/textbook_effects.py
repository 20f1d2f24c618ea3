"""Readings -> effects against one another, where scatter changes, and whether the surface bends."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.terms import Terms, full_quadratic
from shotwindow.models.effects import (
    Lenth,
    contrasts,
    curvature,
    dispersion,
    half_normal,
    lenth,
)
from shotwindow.models.textbook import Fit, estimable, fit
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import listed, spoken
from shotwindow.reports.plain_fit import PlainFit
from shotwindow.reports.questions import Question, number
from shotwindow.reports.textbook_terms import grouped_study, unit_of_response

Array = NDArray[np.float64]

FEWEST = 3  # effects that can be judged against one another
CLEAR = 0.05


@dataclass(frozen=True)
class Spread:
    """Effects of one response against one another, the smallest first; arrays (m,).

    Attributes
    ----------
    terms : Terms
        The constant, then the terms of the effects in the order of the model.
    place : ndarray of int
        Place of each effect among the terms after the constant.
    size : ndarray
        From low to high, in the unit of the response, each freed of those before it in the model.
    score : ndarray
        Where an effect of nothing would lie on half-normal paper.
    margin : Lenth
    """

    terms: Terms
    place: NDArray[np.int_]
    size: Array
    score: Array
    margin: Lenth

    @property
    def names(self) -> tuple[str, ...]:
        """The name of each effect."""
        return tuple(spoken(self.terms.names[i + 1]) for i in self.place)


def effect_spread(found: Fitted, plain: PlainFit) -> Spread | None:
    """Return all effects that the shots tell apart; None where too few are left to be judged."""
    terms, used = _all_effects(found, plain)
    if len(terms) - 1 < FEWEST:
        return None
    effects = contrasts(terms.matrix(plain.coded[used]), plain.fit.response[used])[1:]
    order, score = half_normal(effects)
    return Spread(terms, order, effects[order], score, lenth(effects))


def half_normal_question(found: Fitted, plain: PlainFit) -> Question:
    """Judge effects by their own spread, largest first."""
    asked = "Which effects stand out from the others?"
    told = effect_spread(found, plain)
    if told is None:
        count = len(_all_effects(found, plain)[0]) - 1
        return Question(
            asked, (f"Cannot be told by their spread: {count} of {FEWEST} effects or more.",)
        )
    each, any_of_all = told.margin.margin, told.margin.simultaneous
    rows = tuple(
        (name, float(size), float(score), _beyond(abs(size), each, any_of_all))
        for name, size, score in reversed(list(zip(told.names, told.size, told.score, strict=True)))
    )
    said = [
        f"In {unit_of_response(found, plain.response)} from low to high, each freed of those "
        "before it in the order of the model; the score is where an effect of nothing would lie "
        "on half-normal paper.",
        _margin_words(told),
    ]
    if grouped_study(found):
        said.append("Slow settings scatter more than others; see them by groups below.")
    return Question(asked, tuple(said), ("effect", "size", "score", "beyond"), rows)


def _margin_words(told: Spread) -> str:
    one, all_of_them = told.margin.margin, told.margin.simultaneous
    if one == 0.0:
        return "More than half of the effects are exactly zero, so no margin can be drawn."
    clear = np.sort(told.place[np.abs(told.size) > all_of_them])
    names = [spoken(told.terms.names[i + 1]) for i in clear]
    stand = listed(names) if names else "none"
    return (
        f"Lenth's margin {one:.3g} for one effect, {all_of_them:.3g} for any of all; beyond the "
        f"second: {stand}."
    )


def _beyond(size: float, one: float, all_of_them: float) -> str:
    if size > all_of_them > 0:
        return "both margins"
    return "one margin" if size > one > 0 else "none"


def _all_effects(found: Fitted, plain: PlainFit) -> tuple[Terms, NDArray[np.int_]]:
    """Return every effect that the shots tell apart, and the shots that tell.

    Corners alone carry products of any number of settings; other plans those of second order.
    """
    corners = np.flatnonzero(np.all(np.abs(np.abs(plain.coded) - 1.0) < 1e-9, axis=1))
    names, k = found.study.names, len(found.study.factors)
    if corners.size > FEWEST and corners.size >= len(plain.coded) / 2:
        products = [
            tuple(int(j in chosen) for j in range(k))
            for size in range(k + 1)
            for chosen in combinations(range(k), size)
        ]
        terms, used = Terms(tuple(products), names), corners
    else:
        terms, used = full_quadratic(names), np.arange(len(plain.coded))
    return terms.subset(estimable(terms.matrix(plain.coded[used]))), used


def dispersion_question(found: Fitted, plain: PlainFit) -> Question:
    """Compare how far shots scatter at the low and the high side of each setting."""
    asked = "Does any setting make shots scatter more?"
    names = [spoken(name) for name in found.study.names]
    rest, used, kept = _rest(found, plain)
    sides = np.sign(np.round(plain.coded[used], 9))
    enough = [j for j in range(len(names)) if min(_counts(sides[:, j])) >= FEWEST]
    if not rest.rss:
        return Question(asked, ("Cannot be told: the model meets every reading exactly.",))
    if not enough:
        return Question(
            asked, (f"Cannot be told: it takes {FEWEST} shots at either side of a setting.",)
        )
    told = dispersion(sides[:, enough], rest.residuals)
    share = rest.df / len(rest.response)
    rows = tuple(
        (
            names[j],
            float(told.sd_low[i]),
            float(told.sd_high[i]),
            number(float(told.log_ratio[i])),
            _rough_p(float(told.log_ratio[i]), [share * c for c in _counts(sides[:, j])]),
        )
        for i, j in enumerate(enough)
    )
    clear = [row[0] for row in rows if row[4] is not None and row[4] < CLEAR / len(rows)]
    said = [
        f"{listed(clear)}: scatter differs between the low and the high side."
        if clear
        else "None clearly does."
    ]
    model = listed([spoken(name) for name in kept]) if kept else "the model above"
    said.append(f"Scatter is what {model} {'leave' if len(kept) > 1 else 'leaves'} over.")
    if plain.response == "fill":
        said.append("Readings that stop at full hide their scatter there.")
    heads = ("setting", "sd low", "sd high", "log ratio", "p (rough)")
    return Question(asked, tuple(said), heads, rows)


def _rest(found: Fitted, plain: PlainFit) -> tuple[Fit, NDArray[np.int_], list[str]]:
    """Return a fit of the effects that stand out alone, its shots, and their names.

    Terms that do not matter would eat up the scatter that is to be compared.
    """
    terms, used = _all_effects(found, plain)
    whole = np.arange(len(plain.coded))
    if len(terms) - 1 < FEWEST:
        return plain.fit, whole, []
    matrix, response = terms.matrix(plain.coded[used]), plain.fit.response[used]
    effects = contrasts(matrix, response)[1:]
    clear = np.abs(effects) > lenth(effects).simultaneous
    if not clear.any() or clear.all():
        return plain.fit, whole, []
    kept = np.append(True, clear)
    return fit(matrix[:, kept], response), used, list(terms.subset(kept).names[1:])


def _counts(side: Array) -> tuple[int, int]:
    return int((side < 0).sum()), int((side > 0).sum())


def _rough_p(log_ratio: float, freedom: list[float]) -> float | None:
    """Two-sided F test, degrees of freedom shared out by shots; None without scatter."""
    from scipy.special import fdtrc

    if not np.isfinite(log_ratio):
        return None
    above, below = reversed(freedom) if log_ratio > 0 else freedom
    return min(1.0, 2.0 * float(fdtrc(above, below, np.exp(abs(log_ratio)))))


def curvature_question(found: Fitted, plain: PlainFit) -> Question:
    """Compare center points with corners."""
    asked = "Does the surface bend (center points against corners)?"
    told = curvature(np.round(plain.coded, 9), plain.fit.response)
    if told is None:
        return Question(
            asked,
            ("No answer this way: it takes shots at the very center and at corners of the plan.",),
        )
    unit = unit_of_response(found, plain.response)
    way = "below" if told.difference < 0 else "above"
    words = f"The corners lie {abs(told.difference):.3g} {unit} {way} the center on average"
    if told.p is None:
        return Question(asked, (f"{words}; no repeat says how far that could be scatter.",))
    verdict = "it bends" if told.p < CLEAR else "no bend seen"
    heads = ("corners - center", "sum of squares", "pure error", "df", "F", "p")
    row = (
        told.difference,
        told.ss,
        number(told.pure_error),
        told.df,
        number(told.f),
        number(told.p),
    )
    return Question(asked, (f"{words}; F {told.f:.3g}, p {told.p:.2g}: {verdict}.",), heads, (row,))
