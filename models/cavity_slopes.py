"""Readings of several cavities -> draws in which they run in parallel, or each its own way.

Cavities of a mold mostly differ by an offset. Where one also answers differently to a setting, as
behind a narrower gate, it needs slopes of its own, which cost many parameters. Both shapes are
fitted where a rough look says that the readings may carry the slopes, and their draws are mixed by
how well each foretells all readings (Bayesian model averaging: Hoeting et al., Statist. Sci. 14,
1999, 382-417, from memory).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from shotwindow.models.drawing import Draws
from shotwindow.models.given_scales import rest_prior
from shotwindow.models.matching import Factors, factors
from shotwindow.models.posterior import Density
from shotwindow.models.suspects import Slip, draw_doubting
from shotwindow.models.trust import Diagnostics

Array = NDArray[np.float64]

POSSIBLE = -5.0  # log odds, roughly judged, from which slopes are tried
LEAST = 0.05  # chance below which they are left out: shares of good shots then take much longer


@dataclass(frozen=True)
class Shaped:
    """Draws of one response by name, as `Density.named` returns them.

    Parameters
    ----------
    named : dict
        ``slope`` (draws, cavities, settings) is zero in draws of parallel cavities, and of no
        settings where only these were fitted.
    slips : tuple of Slip
        Of the likelier shape.
    own_slopes : float
        Chance that cavities have slopes of their own; 0 where they were not tried.
    diagnostics : Diagnostics
        The worse of those used.
    """

    named: dict[str, Array]
    slips: tuple[Slip, ...]
    own_slopes: float
    diagnostics: Diagnostics


def draw_shaped(
    density: Density,
    any_reading: Array,
    rng: np.random.Generator,
    *,
    settings: int,
    draws: int,
    doubting: bool = True,
) -> Shaped:
    """Draw from a posterior in which cavities may have slopes of their own.

    Parameters
    ----------
    density : Density
        Of parallel cavities.
    any_reading : ndarray, shape (readings,)
        Log probability of each reading if it were a slip.
    rng : Generator
    settings : int
        Along how many settings, the first columns of the design after the ones; 0 looks for none.
    draws : int
        How many.
    doubting : bool
        Whether readings may be slips of the pen.
    """
    plain, slips = draw_doubting(density, any_reading, rng, draws=draws, doubting=doubting)
    alone = Shaped(density.named(plain.states), slips, 0.0, plain.diagnostics)
    if settings == 0 or density.data.cavities == 1 or not np.isfinite(plain.log_evidence):
        return alone
    own = Density(replace(density.data, slopes=settings), density.prior)
    if _rough_odds(density, own, plain) < POSSIBLE:
        return alone
    sloped, own_slips = draw_doubting(own, any_reading, rng, draws=draws, doubting=doubting)
    if not sloped.diagnostics.converged:
        return alone
    chance = float(expit(sloped.log_evidence - plain.log_evidence))
    if chance < LEAST:
        return replace(alone, own_slopes=chance)
    count = round(chance * draws)
    named = _mixed(alone.named, own.named(sloped.states), count, rng)
    used = [sloped.diagnostics] + [plain.diagnostics] * (count < draws)
    worst = min(used, key=lambda told: (told.converged, told.effective))
    return Shaped(named, own_slips if chance > 0.5 else slips, chance, worst)


def _rough_odds(plain: Density, own: Density, drawn: Draws) -> float:
    """Log odds of own slopes at the mean scales, readings replaced by normal factors."""
    scales = drawn.states[plain.shared :].mean(axis=1, keepdims=True)
    found = factors(plain, scales)
    return _normal_evidence(own, scales, found) - _normal_evidence(plain, scales, found)


def _normal_evidence(density: Density, scales: Array, found: Factors) -> float:
    """Log evidence of normal factors at one set of scales, but for what all shapes share."""
    mean, precision = (part[0] for part in rest_prior(density, scales))
    rows = density.rows
    total = rows.T @ (found.precision[0][:, None] * rows) + np.diag(precision)
    pull = precision * mean + found.shift[0] @ rows
    fit = float(pull @ np.linalg.solve(total, pull) - precision @ mean**2)
    return 0.5 * (fit + float(np.log(precision).sum()) - float(np.linalg.slogdet(total)[1]))


def _mixed(
    plain: dict[str, Array], own: dict[str, Array], count: int, rng: np.random.Generator
) -> dict[str, Array]:
    """Take ``count`` draws of those with slopes and the others of those without, shuffled."""
    level = {**plain, "slope": np.zeros_like(own["slope"])}
    order = rng.permutation(len(own["surface"]))
    return {name: np.concatenate([own[name][:count], level[name][count:]])[order] for name in own}
