"""Least-squares fit -> its stationary point, called what it is, and the way up in whole marks."""

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.factors import Factor, coded_settings, natural_settings
from shotwindow.models.ascent import steepest_ascent
from shotwindow.models.stationary import Stationary, level_limit, level_statistic, stationary_point
from shotwindow.reports.changes import usual_change
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.naming import listed, setting_words, spoken
from shotwindow.reports.plain_fit import PlainFit, plain_surface
from shotwindow.reports.questions import Cell, Question, number
from shotwindow.reports.textbook_terms import unit_of_response

Array = NDArray[np.float64]

MOST_PLACES = 6000  # settings looked at for the confidence region
STEPS = 6

_NATURES = {
    "maximum": "a top: the surface falls away from it on every side",
    "minimum": "a bottom: the surface rises from it on every side",
    "saddle": "a saddle, no optimum: up along some directions and down along others",
    "stationary ridge": "a ridge, no single optimum: along one direction hardly anything changes",
    "rising ridge": "a rising ridge, no optimum: it goes on beyond what was tried",
}


def level_question(found: Fitted, plain: PlainFit) -> Question:
    """Find where the surface is level, and say what it is and how well it is known."""
    asked = "Where is the surface level, and is that an optimum?"
    if plain.model != "quadratic":
        return Question(asked, (f"Cannot be told: a {plain.model} model does not bend.",))
    try:
        point = stationary_point(plain.terms, plain.fit)
    except Unanswerable:
        return Question(
            asked, ("Nowhere: along some direction the fitted surface does not bend at all.",)
        )
    factors = found.study.factors
    inside = bool(np.all(np.abs(point.point) <= 1.0))
    said = [
        f"It is {_NATURES[point.nature]}.",
        f"Level at {_place(factors, point, inside)}.",
        _region_words(found, plain),
    ]
    if plain.response == "fill":
        said.append("A mold needs no most of fill, only enough: the window is what to look for.")
    rows: list[tuple[Cell, ...]] = [
        (
            _axis(factors, point.axes[:, a]),
            float(point.eigenvalues[a]),
            None if point.errors is None else number(float(point.errors[a])),
        )
        for a in range(len(factors))
    ]
    return Question(asked, tuple(said), ("along (coded)", "eigenvalue", "error"), tuple(rows))


def _place(factors: tuple[Factor, ...], point: Stationary, inside: bool) -> str:
    if not inside and point.distance > 3.0:
        return "a place far outside of what was tried, which is no place to run"
    where = setting_words(factors, _on_marks(factors, point.point[None])[0].tolist())
    if inside:
        return f"{where}, where the fit reads {point.response:.4g}"
    return f"{where}, outside of what was tried: no place to run"


def _axis(factors: tuple[Factor, ...], axis: Array) -> str:
    """Return a direction as a sum of its settings, the small parts left out."""
    axis = axis if axis[np.argmax(np.abs(axis))] > 0 else -axis
    order = np.argsort(-np.abs(axis))
    parts = [f"{axis[j]:+.2f} {spoken(factors[j].name)}" for j in order if abs(axis[j]) >= 0.1]
    return " ".join(parts)


def _region_words(found: Fitted, plain: PlainFit) -> str:
    """Say where the level point may be with a confidence of 95 %."""
    if not plain.fit.rss:
        return "How well that is known cannot be told: the model meets every reading exactly."
    factors = found.study.factors
    count = max(3, int(MOST_PLACES ** (1 / len(factors))))
    places = [
        f.marks[np.linspace(0, f.count - 1, min(count, f.count)).astype(int)] for f in factors
    ]
    grid = np.stack([g.ravel() for g in np.meshgrid(*places, indexing="ij")], axis=1)
    statistic = level_statistic(plain.terms, plain.fit, coded_settings(factors, grid))
    kept = statistic <= level_limit(plain.terms, plain.fit)
    if not kept.any():
        return "With a confidence of 95 % no setting from low to high is level."
    spans = [
        f"{spoken(f.name)} {f.text(grid[kept, j].min())} to {f.text(grid[kept, j].max())} {f.unit}"
        for j, f in enumerate(factors)
    ]
    return (
        f"With a confidence of 95 % it may be in {100 * kept.mean():.2g} % of what was tried, "
        f"within {listed(spans)}" + (": hardly known." if kept.mean() > 0.25 else ".")
    )


def ascent_question(found: Fitted, plain: PlainFit) -> Question:
    """Follow the steepest slope from the middle, in whole marks, toward more fill or less flash."""
    aim = "more fill" if plain.response == "fill" else "less flash"
    asked = f"Which way leads to {aim} fastest, in marks of the dials?"
    slope = _slope(found, plain) * (1.0 if plain.response == "fill" else -1.0)
    if not np.any(slope):
        return Question(asked, ("No way: no setting has a slope.",))
    factors = found.study.factors
    lead = int(np.argmax(np.abs(slope)))
    step = usual_change(factors[lead]) / ((factors[lead].high - factors[lead].low) / 2)
    settings = _on_marks(factors, steepest_ascent(slope, lead, step, STEPS))
    allowed = found.study.allowed(settings)
    stop = int(np.argmin(allowed)) if not allowed.all() else len(settings)
    ended_by_rules = stop <= STEPS
    # one step beyond what was shot shows where the way leads; more would be guesses
    outside = np.flatnonzero(~_tried(factors, settings))
    stop = min(stop, int(outside[0]) + 1) if outside.size else stop
    settings = settings[:stop]
    if stop < 2:
        return Question(asked, ("The way is closed by the limits or by [[avoid]] at once.",))
    tried = _tried(factors, settings)
    expected = plain_surface(plain, coded_settings(factors, settings))
    rows = tuple(
        (
            str(i),
            *(f.text(v) for f, v in zip(factors, settings[i], strict=True)),
            float(expected[i]) if tried[i] else "not tried",
        )
        for i in range(stop)
    )
    unit = unit_of_response(found, plain.response)
    said = [
        f"From the middle of the study, {spoken(factors[lead].name)} leading; the last column is "
        f"what least squares expects ({unit}).",
        "The direction hangs on the ranges that were chosen for the settings. Go in small steps, "
        "and never a large one toward flash.",
    ]
    if ended_by_rules and tried.all():
        said.append("There the limits or [[avoid]] end the way.")
    heads = ("step", *(f"{_short(f)} ({f.unit})" for f in factors), "expected")
    return Question(asked, tuple(said), heads, rows)


def _tried(factors: tuple[Factor, ...], settings: Array) -> NDArray[np.bool_]:
    """Tell which settings (m, k) lie from low to high of every factor, (m,)."""
    return np.asarray(np.all(np.abs(coded_settings(factors, settings)) <= 1.0 + 1e-9, axis=1))


def _short(factor: Factor) -> str:
    """Return a name that fits over a column of numbers."""
    words = spoken(factor.name).split()
    return words[0] if len(words) > 1 and words[-1] == "temperature" else words[-1]


def _slope(found: Fitted, plain: PlainFit) -> Array:
    """Coefficients of first order, zero where a setting has none, (k,)."""
    k = len(found.study.factors)
    place = {powers: i for i, powers in enumerate(plain.terms.exponents)}
    unit = np.eye(k, dtype=int)
    ends = [place.get(tuple(int(v) for v in row)) for row in unit]
    return np.array([0.0 if i is None else plain.fit.coefficients[i] for i in ends])


def _on_marks(factors: tuple[Factor, ...], coded: Array) -> Array:
    """Return coded settings (m, k) in units on whole marks, which go on beyond low and high."""
    natural = natural_settings(factors, coded)
    low = np.array([f.low for f in factors])
    step = np.array([f.step for f in factors])
    return np.asarray(np.round(low + step * np.floor((natural - low) / step + 0.5), 10))
