"""A study -> the same with fewer marks, where there are millions or answers are wanted often."""

from dataclasses import replace

import numpy as np

from shotwindow.doe.factors import Factor
from shotwindow.doe.study import Study

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
