"""Readings given the scales of a density -> normal factors with the same moments, and evidence.

The maximum of a density full of censored readings sits against their limits, and its curvature
there says little of how far the density reaches on the open side. Expectation propagation replaces
each reading by a normal factor with the same effect on mean and variance, in turn, until nothing
changes (Minka, UAI 2001; Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006,
section 3.6; both from memory).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.censored import Slopes
from shotwindow.models.given_scales import rest_prior
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]

KEPT = 0.3  # of the old factor, which keeps the rounds from swinging


class Factors(NamedTuple):
    """Normal factors ``exp(-precision eta**2 / 2 + shift eta)`` that stand for the readings.

    Parameters
    ----------
    precision, shift : ndarray, shape (columns, readings)
    """

    precision: Array
    shift: Array


class _Foretold(NamedTuple):
    """What prior and factors say, for each column."""

    middle: Array  # mean of each reading's mean by all factors but its own, (columns, readings)
    apart: Array  # its variance
    mass: Array  # log integral of prior and factors but for ``log det total``/2, (columns,)
    total: Array  # precision of what shots share, (columns, size, size)


class _Readings:
    """The readings of a density for columns of scales."""

    def __init__(self, density: Density, scales: Array) -> None:
        self.density = density
        self.rows, self.of_shot = np.split(density.rows, [density.shared], axis=1)
        self.prior_mean, self.prior_precision = rest_prior(density, scales)
        log = density.logs(scales)
        self.ends = density.ends(log)
        self.sd = np.exp(log["scatter"] + log["cavity_ratio"])[:, None]

    def foretold(self, factors: Factors) -> _Foretold:
        """Take all factors together, then leave out each for its own reading.

        The effect of a shot touches its own readings alone: it is integrated out beforehand.
        """
        (precision, shift), shared = factors, self.density.shared
        prior_mean, prior = self.prior_mean[:, :shared], self.prior_precision[:, :shared]
        weighed = precision[:, :, None] * self.rows
        cross = self.of_shot.T @ weighed
        own = self.prior_precision[:, shared:] + precision @ self.of_shot
        share = cross / own[:, :, None]
        total = self.rows.T @ weighed - cross.transpose(0, 2, 1) @ share
        places = np.arange(shared)
        total[:, places, places] += prior
        covariance = np.linalg.inv(total)
        of_shot = shift @ self.of_shot
        pull = prior * prior_mean + shift @ self.rows - (of_shot[:, None, :] @ share)[:, 0]
        mean = (covariance @ pull[:, :, None])[:, :, 0]
        lean = self.rows - self.of_shot @ share
        center = (lean @ mean[:, :, None])[:, :, 0] + (of_shot / own) @ self.of_shot.T
        variance = ((lean @ covariance) * lean).sum(axis=2) + (1.0 / own) @ self.of_shot.T
        # without the factor there is more doubt
        apart = 1.0 / np.maximum(1.0 / variance - precision, 1e-3 / variance)
        middle = apart * (center / variance - shift)
        mass = np.log(self.prior_precision).sum(axis=1) - np.log(own).sum(axis=1)
        mass += (mean * pull - prior * prior_mean**2).sum(axis=1) + (of_shot**2 / own).sum(axis=1)
        return _Foretold(middle, apart, 0.5 * mass, total)

    def fit(self, told: _Foretold) -> tuple[Slopes, Array]:
        """Log probability of each reading so foretold, with slopes, and the standard deviation."""
        width = np.sqrt(told.apart + self.sd**2).T
        return self.density.likelihood(told.middle.T, self.ends, width), width


def factors(
    density: Density, scales: Array, *, rounds: int = 12, start: Factors | None = None
) -> Factors:
    """Factors for every column of scales at once.

    Parameters
    ----------
    density : Density
    scales : ndarray, shape (scales, columns)
        The parameters that are logarithms.
    rounds : int
        How often all readings are gone through.
    start : Factors, optional
        Those of scales nearby, to begin with.
    """
    readings = _Readings(density, scales)
    none = np.zeros((scales.shape[1], readings.rows.shape[0]))
    found = Factors(none, none) if start is None else start
    for k in range(rounds):
        told = readings.foretold(found)
        fit, width = readings.fit(told)
        bend = np.maximum((fit.eta**2 - fit.log_sigma / width**2).T, 1e-12)
        new = bend / np.maximum(1.0 - bend * told.apart, 1e-6)
        keep = 0.0 if start is None and k == 0 else KEPT
        found = Factors(
            keep * found.precision + (1.0 - keep) * new,
            keep * found.shift + (1.0 - keep) * new * (told.middle + fit.eta.T / bend),
        )
    return found


def log_evidence(density: Density, scales: Array, found: Factors) -> Array:
    """Log probability of all readings given scales, nearly, (columns,).

    It hardly changes with factors that are not quite matched yet, since it is flat in them where
    they are. With readings known exactly it is exact.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.matching import factors, log_evidence
    >>> from shotwindow.models.posterior import Density, Observed
    >>> from shotwindow.models.scales import Prior
    >>> none, zero, one = np.zeros((1, 0)), np.zeros(1, dtype=int), np.ones(1)
    >>> seen = Observed(one[:, None], 0 * one, np.inf * one, none, none, zero, zero, zero, zero,
    ...                 cavities=1, lots=1, groups=0, shots=1)
    >>> before = Prior(intercept_mean=0.0, intercept_sd=1.0, mean=np.zeros(0), sd=np.zeros(0),
    ...                effect=1.0, effect_spread=1.0, scatter=1.0, scatter_spread=1.0,
    ...                cavity_sd=1.0, lot_sd=1.0)
    >>> what, scales = Density(seen, before), np.zeros((1, 1))
    >>> one_half = np.exp(log_evidence(what, scales, factors(what, scales)))
    >>> one_half.round(6).tolist()
    [0.5]
    """
    readings = _Readings(density, scales)
    told = readings.foretold(found)
    (precision, shift), middle = found, told.middle
    stretch = 1.0 + precision * told.apart
    had = (shift**2 * told.apart + (2.0 * shift - precision * middle) * middle) / (2.0 * stretch)
    each = readings.fit(told)[0].log_probability.T - had + 0.5 * np.log(stretch)
    return np.asarray(each.sum(axis=1) + told.mass - 0.5 * np.linalg.slogdet(told.total)[1])


def left_out(density: Density, scales: Array, found: Factors) -> tuple[Array, Array]:
    """Mean and variance of each reading's mean, foretold by all others, (columns, readings)."""
    told = _Readings(density, scales).foretold(found)
    return told.middle, told.apart
