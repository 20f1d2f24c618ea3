"""Settings and readings -> the scales on which surfaces are smooth, and what is known beforehand.

Fill is modeled as the logarithm of percent, since the length that a melt flows multiplies up from
pressure, heat and time. Flash is modeled as a power of its width, which is found with the rest: how
fast flash grows once it begins differs from mold to mold, and its scatter grows with it (Box and
Cox, J. R. Statist. Soc. B 26, 1964, 211-252). Pressure and time enter by their logarithms where
they are above zero.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.terms import Terms

Array = NDArray[np.float64]

# A normal distribution with its mean 1.645 standard deviations above zero has 5 % below zero.
SOFT_SIGN_SD = 1.0 / 1.645


@dataclass(frozen=True)
class Prior:
    """What is believed of one surface before the shots, in latent units.

    Parameters
    ----------
    intercept_mean, intercept_sd : float
        Normal distribution of the surface at the center of the study.
    mean, sd : ndarray, shape (terms - 1,)
        Normal distribution of each further coefficient, in multiples of ``effect``.
    effect, effect_spread : float
        Median of the size of a typical half-range effect, and the standard deviation of its log.
    second : ndarray of bool, shape (terms - 1,)
        Coefficients of second order, whose standard deviations are multiplied by ``bend``.
    bend_spread : float
        Standard deviation of the log of ``bend``, whose median is one.
    scatter, scatter_spread : float
        Median of the shot-to-shot standard deviation, and the standard deviation of its log.
    group_ratio, cavity_ratio, ratio_spread : float
        Group-to-group and cavity-to-cavity scatter in multiples of the shot-to-shot scatter.
    cavity_sd, lot_sd : float
        Standard deviations of the offsets of cavities and lots.
    cavity_slope : float
        Standard deviation of a cavity's own slopes, in multiples of ``effect``.
    cut_gap, cut_spread : float
        Median distance between neighboring grade limits, and the standard deviation of its log.
    power, power_spread : float
        Median of the power of a width, and the standard deviation of its log.
    """

    intercept_mean: float
    intercept_sd: float
    mean: Array
    sd: Array
    effect: float
    effect_spread: float
    scatter: float
    scatter_spread: float
    cavity_sd: float
    lot_sd: float
    cavity_slope: float = 0.25
    group_ratio: float = 0.6
    cavity_ratio: float = 0.7
    ratio_spread: float = 0.7
    cut_gap: float = 6.0
    cut_spread: float = 0.7
    power: float = 0.5
    power_spread: float = 0.35
    second: NDArray[np.bool_] | None = None
    bend_spread: float = 0.5


def warp(factors: Sequence[Factor], settings: Array) -> Array:
    """Settings in natural units -> -1..+1 over each range, on a log scale for pressure and time.

    Parameters
    ----------
    factors : sequence of Factor, length k
    settings : ndarray, shape (..., k)
        Natural units.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.models.scales import warp
    >>> f = Factor("pressure", "bar", 2.0, 8.0, 0.1, (0.0, 9.0), 0.05)
    >>> np.round(warp([f], np.array([[2.0], [4.0], [8.0]])).ravel(), 9).tolist()
    [-1.0, 0.0, 1.0]
    """
    low, high = np.array([(factor.low, factor.high) for factor in factors]).T
    logs = [f.role in ("pressure", "time") and f.low > 0 for f in factors]
    if any(logs):
        settings = np.array(settings)
        # a reading at or below zero has no logarithm; it is held at a hundredth of the low end
        settings[..., logs] = np.log(np.maximum(settings[..., logs], 0.01 * low[logs]))
        low[logs], high[logs] = np.log(low[logs]), np.log(high[logs])
    return np.asarray((2.0 * settings - (low + high)) / (high - low))


def fill_latent(percent: Array) -> Array:
    """Percent of a full part -> latent fill: zero at 100 %, ``-inf`` at and below nothing."""
    with np.errstate(divide="ignore"):
        return np.log(np.maximum(percent, 0.0) / 100.0)


def fill_percent(latent: Array) -> Array:
    """Latent fill -> percent of a full part."""
    return 100.0 * np.exp(latent)


def flash_latent(width: Array, limit: float, power: Array) -> Array:
    """Flash width -> latent flash: zero at the limit, ``-inf`` where nothing could be seen.

    It is ``((width / limit) ** power - 1) / power``; near the limit a change of 0.1 is one of a
    tenth of the limit, whatever the power.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.scales import flash_latent
    >>> flash_latent(np.array([0.0, 0.1, 0.4]), 0.1, np.array(0.5)).round(9).tolist()
    [-inf, 0.0, 2.0]
    """
    with np.errstate(divide="ignore"):
        return to_power(np.log(np.maximum(width, 0.0) / limit), power)


def to_power(log_width: Array, power: Array) -> Array:
    """Latent flash of widths given by their logarithms, in multiples of the limit."""
    latent = np.expm1(power * log_width) / power
    return np.where(np.isneginf(log_width), -np.inf, latent)


def flash_width(latent: Array, limit: float, power: Array) -> Array:
    """Latent flash -> width; zero where the latent value says that nothing can be seen."""
    return np.asarray(limit * np.maximum(1.0 + power * latent, 0.0) ** (1.0 / power))


def to_common_power(latent: Array, power: Array, common: float) -> Array:
    """Latent flash of draws with powers of their own -> latent flash on one power for all.

    Below where anything can be seen there is no width to go by, and distances stay as they are.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.scales import to_common_power
    >>> to_common_power(np.array([0.0, 2.0, -3.0]), np.array(0.5), 1.0).round(9).tolist()
    [0.0, 3.0, -2.0]
    """
    base = 1.0 + power * latent
    seen = np.expm1(common / power * np.log(np.maximum(base, 1e-300))) / common
    return np.where(base > 0, seen, base / power - 1.0 / common)


# How far effects on flash go their own way, in parts of those on fill, and in typical effects.
OWN_WAY, OWN_WAY_LEAST = 0.4, 0.12


def following_fill(prior: Prior, terms: Terms, effects: Array, doubts: Array) -> Prior:
    """Flash prior whose first-order effects follow those on fill.

    What makes melt flow farther also drives it into the parting line, so that the effects of the
    factors stand in about the same proportion for both; fill is the better measured of the two.

    Parameters
    ----------
    prior : Prior
        Of the flash surface.
    terms : Terms
        Of both surfaces.
    effects, doubts : ndarray, shape (terms,)
        Means and standard deviations of the coefficients of the fill surface.
    """
    first = np.array(terms.exponents)[1:].sum(axis=1) == 1
    size = float(np.sqrt((effects[1:][first] ** 2).mean()))
    effects, doubts = effects[1:] / size, doubts[1:] / size
    sd = np.sqrt((OWN_WAY * effects) ** 2 + doubts**2 + OWN_WAY_LEAST**2)
    return replace(
        prior, mean=np.where(first, effects, prior.mean), sd=np.where(first, sd, prior.sd)
    )


def coefficient_prior(
    terms: Terms, factors: Sequence[Factor], *, signs: bool, second: float = 0.2
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Means and standard deviations of all coefficients but the first, in typical effects.

    First-order terms of factors with a role tend upward (more pressure, heat or time tends to fill
    more and to flash more) when ``signs``; second-order terms are ``second`` times the first, more
    or less: how much a surface bends is found with it. Last comes which terms are of second order.
    """
    exponents = np.array(terms.exponents)[1:]
    first = exponents.sum(axis=1) == 1
    has_role = np.array([f.role is not None for f in factors])
    upward = first & (exponents @ has_role > 0) & signs
    mean = np.where(upward, 1.0, 0.0)
    sd = np.where(upward, SOFT_SIGN_SD, np.where(first, 1.0, second))
    return mean, sd, ~first


def fill_prior(terms: Terms, factors: Sequence[Factor], *, signs: bool = True) -> Prior:
    """Build the prior of the fill surface, in logs of percent: 0.15 is a change of 15 percent.

    In logs the length of flow is nearly a product of powers, so that second-order terms are small.
    """
    mean, sd, second = coefficient_prior(terms, factors, signs=signs, second=0.15)
    return Prior(
        intercept_mean=0.0, intercept_sd=0.5, mean=mean, sd=sd, second=second,
        effect=0.15, effect_spread=0.7,
        scatter=0.015, scatter_spread=0.8, cavity_sd=0.05, lot_sd=0.05,
    )  # fmt: skip


def flash_prior(terms: Terms, factors: Sequence[Factor], *, signs: bool = True) -> Prior:
    """Prior of the flash surface, in multiples of the limit: 0.3 is a third more at the limit."""
    mean, sd, second = coefficient_prior(terms, factors, signs=signs)
    return Prior(
        intercept_mean=-1.0, intercept_sd=4.0, mean=mean, sd=sd, second=second,
        effect=1.2, effect_spread=0.7,
        scatter=0.3, scatter_spread=0.8, cavity_sd=0.6, lot_sd=0.6,
    )  # fmt: skip


def grade_prior(terms: Terms, factors: Sequence[Factor], *, signs: bool = True) -> Prior:
    """Prior of a graded surface, in shot-to-shot standard deviations, zero at the limit."""
    mean, sd, second = coefficient_prior(terms, factors, signs=signs)
    return Prior(
        intercept_mean=0.0, intercept_sd=8.0, mean=mean, sd=sd, second=second,
        effect=4.0, effect_spread=0.7,
        scatter=1.0, scatter_spread=1e-6, cavity_sd=2.0, lot_sd=2.0,
    )  # fmt: skip
