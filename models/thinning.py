"""A study -> the same with fewer marks, where there are millions or answers are wanted often."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.study import Study

Array = NDArray[np.float64]

#: Marks, evenly spread, at which a window is looked for; more of them take too long.
MOST_MARKS = 2_000_000
#: A rehearsal needs no finer grid than this.
REHEARSED_MARKS = 4000


def thinned(study: Study, most: int = MOST_MARKS) -> Study:
    """Return the study with so few marks that a window is quickly looked for.

    Every second, third, ... mark of the factors with the most is kept, about the middle.

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
    strides = [1] * len(study.factors)
    counts = [factor.count for factor in study.factors]
    while np.prod(counts, dtype=float) > most and max(counts) > 2:
        j = int(np.argmax(counts))
        strides[j] += 1
        counts[j] = (study.factors[j].count - 1) // strides[j] + 1
    pairs = zip(study.factors, strides, strict=True)
    return replace(study, factors=tuple(_every(factor, stride) for factor, stride in pairs))


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
