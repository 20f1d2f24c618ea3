"""The settings of a study that may be planned: its marks turned into coded levels and moments.

An optimal plan chooses among `coded_levels`, is barred by `coded_rule`, and predicts over the
region whose `moments` are the mean of f f' over every allowed mark.
"""

from collections.abc import Callable, Collection
from math import prod

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.factors import Factor, coded_settings, natural_settings
from shotwindow.doe.study import Study
from shotwindow.doe.terms import Terms

Floats = NDArray[np.float64]

# A finer choice than this changes the worth of a plan by well under one percent.
LEVELS = 21
# Slow settings change for a whole group, which costs more to try, and matter less for the rest.
SLOW_LEVELS = 5
# A mean over more marks than this is taken over as many drawn at random.
MOST_MARKS = 20_000


def coded_levels(factor: Factor) -> Floats:
    """Return the levels to choose among: the marks, thinned evenly where there are many.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.doe.region import coded_levels
    >>> time = Factor("injection_time", "s", 4.0, 8.0, 1.0, (0.0, 20.0), 0.5)
    >>> coded_levels(time).tolist()
    [-1.0, -0.5, 0.0, 0.5, 1.0]
    """
    most = min(factor.count, SLOW_LEVELS if factor.is_slow else LEVELS)
    chosen = np.floor(np.linspace(0, factor.count - 1, most) + 0.5).astype(int)
    return factor.coded(factor.marks[chosen])


def coded_rule(study: Study) -> Callable[[Floats], NDArray[np.bool_]] | None:
    """Return what tells which coded settings are allowed; None where nothing is to avoid."""
    if not study.avoid:
        return None
    return lambda coded: study.allowed(natural_settings(study.factors, coded))


def marks_of(study: Study) -> Floats:
    """Return allowed marks in coded units, (m, k): all of them, or many drawn at random.

    Raises
    ------
    StudyError
        If the [[avoid]] rules leave no mark.
    """
    if prod(factor.count for factor in study.factors) <= MOST_MARKS:
        grids = np.meshgrid(*(factor.marks for factor in study.factors), indexing="ij")
        settings = np.stack(grids, axis=-1).reshape(-1, len(study.factors))
    else:
        rng = np.random.default_rng(0)
        draws = [rng.choice(factor.marks, MOST_MARKS) for factor in study.factors]
        settings = np.stack(draws, axis=-1)
    allowed = settings[study.allowed(settings)]
    if not len(allowed):
        raise StudyError.one(
            "study.toml [[avoid]]",
            "rules that no setting escapes",
            "some settings between low and high to remain",
            "remove or narrow a rule, or lower the pressures to what the clamp can hold",
        )
    return coded_settings(study.factors, allowed)


def moments(study: Study, terms: Terms) -> Floats:
    """Return the mean of f f' over the allowed marks, shape (p, p)."""
    if study.avoid:
        matrix = terms.matrix(marks_of(study))
        mean: Floats = matrix.T @ matrix / len(matrix)
        return mean
    # without rules the marks form a full grid, whose mean of a product is the product of means
    powers = terms.powers[:, None] + terms.powers  # (p, p, k)
    mean = np.ones(powers.shape[:2])
    for j, factor in enumerate(study.factors):
        coded = factor.coded(factor.marks)
        of_power = (coded[:, None] ** np.arange(powers.max() + 1)).mean(axis=0)
        mean *= of_power[powers[..., j]]
    return mean


def coarse_marks(study: Study, names: Collection[str] | None = None) -> tuple[Problem, ...]:
    """Return a problem for each factor, of these or of all, with too few marks for a curve."""
    return tuple(
        Problem(
            f"study.toml [factors.{factor.name}] step",
            f"{factor.count} marks from {factor.text(factor.low)} to {factor.text(factor.high)}",
            "three or more, for a center and a curve",
            "take a finer step, a wider range, or a factorial without center points",
        )
        for factor in study.factors
        if factor.count < 3 and (names is None or factor.name in names)
    )


def check_allowed(study: Study, kind: str, settings: Floats) -> None:
    """Raise where a setting (n, k) of a plan is outside the limits or meets an [[avoid]] rule.

    Raises
    ------
    StudyError
        With the first such setting.
    """
    barred = ~study.allowed(settings)
    if barred.any():
        factors, first = study.factors, settings[barred.argmax()]
        told = ", ".join(f"{f.label} {f.text(v)}" for f, v in zip(factors, first, strict=True))
        raise StudyError.one(
            f"plan {kind}",
            f"{barred.sum()} of {len(settings)} shots outside the limits or in [[avoid]] ({told})",
            "every shot allowed",
            "take the kind optimal, which plans around them, or change the ranges",
        )
