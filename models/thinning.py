"""A study -> the same with fewer marks, where there are very many or answers are wanted often."""

from collections.abc import Collection
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.study import Study
from shotwindow.models.surface import Surfaces

Array = NDArray[np.float64]

#: Marks, evenly spread, at which a window is looked for; more of them take too long. Of more than
#: FEW factors so many give the same shares: a step of one of them counts for less.
MOST_MARKS, MOST_OF_MANY, FEW = 2_000_000, 150_000, 4
#: A rehearsal needs no finer grid than this.
REHEARSED_MARKS = 4000
#: A factor that does next to nothing still keeps so large a part of the marks of the strongest:
#: its own dial is looked at as well.
LEAST_SWAY = 0.4


def sways(surfaces: Surfaces) -> Array:
    """Return how far each factor moves fill or flash, in parts of what the strongest does, (k,).

    Counted is all that it does by itself and together with others, in the scatter of a new shot,
    on the surface that it moves more. The error of a sum over evenly spaced marks grows with this
    times their distance, so that the marks are best shared out in proportion to it.
    """
    found = np.zeros(len(surfaces.factors))
    for surface in surfaces.each:
        scatter = np.sqrt(surface.shot_sd**2 + surface.group_sd**2 + surface.rest_sd**2)
        known = (surface.coefficients / scatter[:, None]).mean(axis=0)
        found = np.maximum(found, np.sqrt(known**2 @ (surface.terms.powers > 0)))
    return np.asarray(np.clip(found / max(float(found.max()), 1e-300), LEAST_SWAY, 1.0))


def thinned(
    study: Study,
    most: int | None = None,
    *,
    sway: Array | None = None,
    whole: Collection[int] = (),
) -> Study:
    """Return the study with so few marks that a window is quickly looked for.

    Every second, third, ... mark of the factors with the most is kept, about the middle.

    Parameters
    ----------
    study : Study
    most : int, optional
        How many marks to keep; else what is enough for so many factors.
    sway : ndarray, shape (k,), optional
        What each factor does, as `sways` tells: of one that does half as much, half as many marks
        are kept. Alike without.
    whole : collection of int, optional
        Factors whose marks are all kept, without any change to the others.

    Examples
    --------
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.models.thinning import thinned
    >>> study = parse_study('''
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.1
    ... ''')
    >>> thinned(study, 8).factors[0].marks.tolist()
    [3.1, 3.4, 3.7, 4.0, 4.3, 4.6, 4.9]
    """
    if most is None:
        most = MOST_MARKS if len(study.factors) <= FEW else MOST_OF_MANY
    strides = [1] * len(study.factors)
    counts = np.array([factor.count for factor in study.factors])
    while counts.prod(dtype=float) > most and counts.max() > 2:
        j = int(np.argmax(np.where(counts > 2, counts / (1.0 if sway is None else sway), 0.0)))
        strides[j] += 1
        counts[j] = (study.factors[j].count - 1) // strides[j] + 1
    factors = (
        factor if j in whole else _every(factor, stride)
        for j, (factor, stride) in enumerate(zip(study.factors, strides, strict=True))
    )
    return replace(study, factors=tuple(factors))


def _every(factor: Factor, stride: int) -> Factor:
    if stride == 1:
        return factor
    last = factor.count - 1
    first = last % stride // 2
    kept = factor.marks[first::stride]
    step = round(stride * factor.step, 10)  # marks are rounded to the decimals of the step
    return replace(factor, low=float(kept[0]), high=float(kept[-1]), step=step)


def mark_weights(kept: tuple[Factor, ...], own: tuple[Factor, ...]) -> tuple[Array, ...]:
    """Return how many of its own marks each kept mark of a factor stands for.

    Those nearest to it, half of one that lies halfway between two; then changed so that all marks
    together keep their mean and their scatter. Without this the first and the last kept mark would
    count for too much, and with several factors the middle of the ranges for too little.

    Returns
    -------
    tuple of ndarray
        One a factor, one number a kept mark; empty where all marks were kept.

    Examples
    --------
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.models.thinning import mark_weights, thinned
    >>> text = "[factors.pressure]{n}unit = 'bar'{n}low = 1{n}high = 4{n}step = 0.5"
    >>> study = parse_study(text.format(n=chr(10)))
    >>> few = thinned(study, 4)
    >>> few.factors[0].marks.tolist(), mark_weights(few.factors, study.factors)[0].round(3).tolist()
    ([1.0, 2.0, 3.0, 4.0], [1.312, 2.188, 2.188, 1.312])
    """
    if [factor.count for factor in kept] == [factor.count for factor in own]:
        return ()
    return tuple(_stands_for(few, every) for few, every in zip(kept, own, strict=True))


def _stands_for(kept: Factor, own: Factor) -> Array:
    apart = np.abs(own.marks[:, None] - kept.marks)
    nearest = apart <= apart.min(axis=1, keepdims=True) + 1e-6 * own.step
    weights = (nearest / nearest.sum(axis=1, keepdims=True)).sum(axis=0)
    if kept.count < 3:
        return np.asarray(weights)
    middle, half = (own.low + own.high) / 2, (own.high - own.low) / 2
    some, every = (np.vander((f.marks - middle) / half, 3) for f in (kept, own))
    # number, mean and scatter as of all marks
    return np.asarray(weights * (some @ np.linalg.solve((some.T * weights) @ some, every.sum(0))))
