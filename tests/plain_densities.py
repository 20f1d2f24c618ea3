"""The model of one surface said once more, for samplers that are not ours.

Nothing of the engine is used but its tables of readings and of the prior, and which number stands
where.
"""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr
from scipy.stats import norm

from shotwindow.models.posterior import Density

Array = NDArray[np.float64]

SCALES = ("scatter", "group_ratio", "cavity_ratio", "effect", "bend", "gaps")
REST = ("surface", "cavity", "slope", "lot", "group", "shot")


def _named(what: Density, states: Array) -> dict[str, Array]:
    """States (draws, size) -> each kind of parameter, (draws, how many)."""
    return {name: states[:, part] for name, part in what.parts.items()}


def _scale(found: Mapping[str, Array], name: str) -> Array:
    """A scale that is a logarithm in the state, (draws, 1); one where it is not estimated."""
    log = found[name]
    return np.exp(log) if log.shape[1] else np.ones((len(log), 1))


def _spreads(what: Density, found: Mapping[str, Array]) -> dict[str, tuple[Array, Array]]:
    """Mean and standard deviation of everything under the prior, each (draws, how many)."""
    prior, ones = what.prior, np.ones((len(found["surface"]), 1))
    effect, scatter = _scale(found, "effect"), _scale(found, "scatter")
    terms = prior.mean.size
    logs = {
        "scatter": (prior.scatter, prior.scatter_spread),
        "group_ratio": (prior.group_ratio, prior.ratio_spread),
        "cavity_ratio": (prior.cavity_ratio, prior.ratio_spread),
        "effect": (prior.effect, prior.effect_spread),
        "bend": (1.0, prior.bend_spread),
        "gaps": (prior.cut_gap, prior.cut_spread),
    }
    second = np.zeros(terms, bool) if prior.second is None else prior.second
    bend = np.where(second, _scale(found, "bend"), 1.0)
    return {
        "surface": (
            np.hstack([prior.intercept_mean * ones, effect * prior.mean]),
            np.hstack([prior.intercept_sd * ones, effect * bend * prior.sd]),
        ),
        "cavity": (0.0 * ones, prior.cavity_sd * ones),
        "slope": (0.0 * ones, effect * prior.cavity_slope),
        "lot": (0.0 * ones, prior.lot_sd * ones),
        "group": (0.0 * ones, scatter * _scale(found, "group_ratio")),
        "shot": (0.0 * ones, scatter),
        **{name: (np.log(median) * ones, sd * ones) for name, (median, sd) in logs.items()},
    }


def unfolded(what: Density, plain: Array) -> Array:
    """Standard normal numbers (draws, size) -> states of the prior, scales first."""
    states = plain.copy()
    for names in (SCALES, REST):
        spreads = _spreads(what, _named(what, states))
        for name in names:
            mean, sd = spreads[name]
            states[:, what.parts[name]] = mean + sd * plain[:, what.parts[name]]
    return states


def log_likelihood(what: Density, states: Array) -> Array:
    """Log probability of all readings for states (draws, size)."""
    data, found = what.data, _named(what, states)
    sd = _scale(found, "scatter") * _scale(found, "cavity_ratio")
    middle = found["surface"] @ data.design.T
    for name in ("cavity", "lot", "group", "shot"):
        if found[name].shape[1]:
            middle = middle + found[name][:, getattr(data, name)]
    for j in range(data.slopes):  # cavity after cavity, each with all of its slopes
        middle = (
            middle + found["slope"][:, j :: data.slopes][:, data.cavity] * data.design[:, 1 + j]
        )
    gaps = np.exp(found["gaps"])
    low = (data.low + gaps @ data.low_gaps.T - middle) / sd
    high = (data.high + gaps @ data.high_gaps.T - middle) / sd
    upper = low > 0.0  # the chance is then taken from the side where it is the smaller one
    below, above = log_ndtr(np.where(upper, -high, low)), log_ndtr(np.where(upper, -low, high))
    chance = np.where(data.exact, norm.logpdf(low) - np.log(sd), above + _log_less(below - above))
    return np.asarray(chance.sum(axis=1))


def _log_less(log: Array) -> Array:
    """Logarithm of one less what has this logarithm."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.log1p(-np.exp(log)))


def log_density(what: Density, states: Array) -> Array:
    """Log posterior density of states (draws, size), but for a number that is always the same."""
    found = _named(what, states)
    total = log_likelihood(what, states)
    for name, (mean, sd) in _spreads(what, found).items():
        if found[name].shape[1]:
            total += norm.logpdf(found[name], mean, sd).sum(axis=1)
    return total
