"""Settings -> how likely each draw makes it that a new shot there shows this or that.

What a shot may show is cut into a few outcomes: full, a little short, shorter, far short; without
flash, within the limit, over it, far over it; rejected otherwise or not. What lies on the good
side of a limit and is not read (a full part, flash too narrow to see) is one outcome.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from shotwindow.doe.study import Study
from shotwindow.models.goodness import Goodness, ShareCurve

Array = NDArray[np.float64]
Single = NDArray[np.float32]

APART = (2.0, 6.0)  # readings this many deviations beyond a limit are told from nearer ones


def showing(goodness: Goodness, study: Study, settings: Array) -> Single:
    """Return the probability of each outcome of a new shot in a new group.

    Of several cavities the worst one is looked at, of several lots the worst.

    Parameters
    ----------
    goodness : Goodness
    study : Study
        How finely fill and flash are read.
    settings : ndarray, shape (n, k)
        Natural units.

    Returns
    -------
    ndarray, shape (n, outcomes, draws)
        Sums to one over the outcomes.
    """
    together: Single | None = None
    for curve in goodness.curves:
        one = _of_response(curve, study, settings)
        if together is None:
            together = one
        else:
            both = together[:, :, None, :] * one[:, None, :, :]
            together = both.reshape(len(settings), -1, one.shape[-1])
    assert together is not None  # fill is always there
    return together


def _of_response(curve: ShareCurve, study: Study, settings: Array) -> Single:
    surface, sign = curve.surface, 1.0 if curve.surface.above else -1.0
    height = sign * (surface.latent(settings) - surface.limit) - curve.handicap.max(axis=1)
    edges = _edges(curve, study)  # (draws, edges), falling
    below = [ndtr((edges[:, e] - height) / curve.width) for e in range(edges.shape[1])]
    ends = [np.ones_like(height), *below, np.zeros_like(height)]
    outcomes = [ends[e] - ends[e + 1] for e in range(len(ends) - 1)]
    return np.stack(outcomes, axis=1).astype(np.float32)


def _edges(curve: ShareCurve, study: Study) -> Array:
    """Heights over the limit that part the outcomes, falling, (draws, edges)."""
    surface, draws = curve.surface, curve.width.size
    if surface.grade_limits is not None and surface.response == "flash":
        return -surface.grade_limits
    heights = [0.0]
    width = float(np.median(curve.width))
    if surface.response == "flash":
        seen = float(np.sqrt(study.flash.good) - np.sqrt(study.flash.seen_from))
        heights = [max(seen, 1e-9), 0.0]
    if surface.response == "flash" or study.fill.measured in ("mass", "eye"):
        heights += [-apart * width for apart in APART]
    if surface.response == "other":
        heights = [0.0]
    return np.tile(heights, (draws, 1))
