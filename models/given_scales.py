"""Scales of a density -> what is believed of the rest of its parameters, which is then normal."""

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.posterior import Density

Array = NDArray[np.float64]


def rest_prior(density: Density, scales: Array) -> tuple[Array, Array]:
    """Mean and precision of the rest given scales, each of shape (columns, size).

    Parameters
    ----------
    density : Density
    scales : ndarray, shape (scales, columns)
        The parameters that are logarithms.
    """
    prior, parts, columns = density.prior, density.parts, scales.shape[1]
    mean, precision = np.zeros((columns, density.rest)), np.zeros((columns, density.rest))
    log = density.logs(scales)
    surface = parts["surface"]
    mean[:, surface.start] = prior.intercept_mean
    precision[:, surface.start] = prior.intercept_sd**-2.0
    effect = np.exp(log["effect"])[:, None]
    mean[:, surface.start + 1 : surface.stop] = effect * prior.mean
    bend = np.exp(log["bend"][:, None] * density.second)
    precision[:, surface.start + 1 : surface.stop] = 1.0 / (effect * bend * prior.sd) ** 2
    precision[:, parts["cavity"]] = prior.cavity_sd**-2.0
    precision[:, parts["slope"]] = 1.0 / (effect * prior.cavity_slope) ** 2
    precision[:, parts["lot"]] = prior.lot_sd**-2.0
    precision[:, parts["group"]] = np.exp(-2.0 * (log["scatter"] + log["group_ratio"]))[:, None]
    precision[:, parts["shot"]] = np.exp(-2.0 * log["scatter"])[:, None]
    return mean, precision
