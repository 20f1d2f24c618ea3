"""Settings -> how sharply a reading of a new shot there would tell the height of a surface.

Where a reading is a number it tells the height to within the scatter. Where it only says "full",
"no flash" or a grade it tells less, and next to nothing far from the limit. That is Fisher's
information of a normal value cut into intervals, one of which may be read as it is (J. Tobin,
Econometrica 26, 1958, and T. Amemiya, Advanced Econometrics, chapter 10, from memory).
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from shotwindow.doe.study import Study
from shotwindow.models.cavity_shares import sign
from shotwindow.models.goodness import Curve
from shotwindow.models.responses import FAR
from shotwindow.models.scales import flash_latent

Array = NDArray[np.float64]

LEAST_INFORMATION = 1e-4  # of that of a number: what tells less tells nothing
LEAST_CHANCE = 1e-12  # of an outcome


def information(cuts: Array, exact: int | None) -> Array:
    """Return the information on a normal mean from a value of which the interval is told.

    Parameters
    ----------
    cuts : ndarray, shape (..., cuts)
        Rising; less the mean, in standard deviations.
    exact : int or None
        Number of the interval, from zero below the first cut, in which the value itself is read.

    Returns
    -------
    ndarray, shape (...)
        One if it always were.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.telling import information
    >>> information(np.array([[0.0], [9.0]]), 0).round(3).tolist()
    [0.818, 1.0]
    >>> information(np.array([[0.0], [9.0]]), None).round(3).tolist()
    [0.637, 0.0]
    """
    ends = np.full((*cuts.shape[:-1], 1), np.inf)
    z = np.concatenate([-ends, cuts, ends], axis=-1)
    density = np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    chance, slope = np.diff(ndtr(z), axis=-1), np.diff(density, axis=-1)
    told = slope**2 / np.maximum(chance, LEAST_CHANCE)
    if exact is not None:
        moment = np.where(np.isinf(z), 0.0, z) * density
        told[..., exact] = chance[..., exact] - np.diff(moment, axis=-1)[..., exact]
    return np.asarray(told.sum(axis=-1))


def reading_variance(curve: Curve, study: Study, settings: Array) -> Array:
    """Return the variance of the height that one new reading tells, groups left out, (n,).

    Of several cavities and lots the worst is looked at.

    Parameters
    ----------
    curve : Curve
    study : Study
        How fill and flash are read.
    settings : ndarray, shape (n, k)
        Natural units.
    """
    surface = curve.surface
    height = surface.limit + sign(surface) * curve.over(settings)  # (n, draws)
    variance = surface.shot_sd**2 + surface.rest_sd**2
    cuts, exact = _cuts(curve, study)
    z = (cuts - height[..., None]) / np.sqrt(variance)[:, None]
    told = np.maximum(information(z, exact).mean(axis=1), LEAST_INFORMATION)
    return np.asarray(variance.mean() / told)


def _cuts(curve: Curve, study: Study) -> tuple[Array, int | None]:
    """Return where readings are cut, (draws, cuts) or (1, cuts), and where they are numbers."""
    surface = curve.surface
    if surface.response == "flash" and surface.grade_limits is not None:
        return surface.grade_limits, None
    if surface.response == "flash":
        ends = np.array([study.flash.seen_from, FAR * study.flash.good])
        return flash_latent(ends, study.flash.good, surface.power[:, None]), 1
    limit = np.array([[surface.limit]])
    number = surface.response == "fill" and study.fill.measured in ("mass", "eye")
    return limit, 0 if number else None
