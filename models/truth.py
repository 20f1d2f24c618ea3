"""Settings of a simulated press -> the true share of good shots, against which fits are judged."""

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from shotwindow.models.outcomes import Deviations, checked_settings, outcomes
from shotwindow.models.press import Press

Array = NDArray[np.float64]

_SETTINGS_AT_ONCE = 512
# Settings where even points far out agree to a thousandth are not looked at any closer.
_PILOT, _FAR, _CLEAR = 16, 1.8, 1e-3


def probability_good(
    press: Press,
    settings: ArrayLike,
    *,
    fill_good: float = 100.0,
    flash_good: float | None = None,
    draws: int = 64,
) -> Array:
    """Return the share of good shots at each setting, over new groups and new shots.

    A shot is good when every cavity is full, no flash is wider than the limit and nothing burns
    or splays. Offsets of groups and shots run over an evenly spread set of points, the same for
    every setting and every call; the scatter of single cavities is integrated exactly.

    Parameters
    ----------
    press : Press
    settings : array-like, shape (n, k)
        In the units of the press's factors.
    fill_good : float, optional
        Percent from which a cavity is full.
    flash_good : float, optional
        Widest flash of a good part, mm; the press's own limit if left out.
    draws : int, optional
        Number of points, at least 16. With 64 the error near an edge has a standard
        deviation of 0.003 to 0.01.

    Examples
    --------
    >>> from shotwindow.models.presets import preset
    >>> from shotwindow.models.truth import probability_good
    >>> share = probability_good(preset("narrow"), [[50.0], [63.0], [75.0]])
    >>> [round(float(p), 1) for p in share]
    [0.0, 1.0, 0.0]
    """
    settings = checked_settings(press, settings)
    limits = (fill_good, press.flash_good_mm if flash_good is None else flash_good)
    share = np.empty(len(settings))
    for i in range(0, len(settings), _SETTINGS_AT_ONCE):
        some = settings[i : i + _SETTINGS_AT_ONCE]
        far = _good(press, some, _FAR * _spread_normals(_PILOT), limits)
        clear = (far.max(axis=1) < _CLEAR) | (far.min(axis=1) > 1.0 - _CLEAR)
        good = far.mean(axis=1)
        if not clear.all():
            close = _good(press, some[~clear], _spread_normals(draws), limits)
            good[~clear] = close.mean(axis=1)
        share[i : i + len(some)] = good
    return share


def _good(press: Press, settings: Array, z: Array, limits: tuple[float, float]) -> Array:
    """Return the chance of good shots at settings (n, k) for normal numbers (d, 4), (n, d)."""
    sd, (fill_good, flash_good) = press.scatter, limits
    tiled = np.tile(z, (len(settings), 1))
    deviations = Deviations(
        # pressure and charge both act on the pressure of the melt alone
        pressure=np.hypot(sd.pressure, press.charge_loss * sd.charge) * tiled[:, 0],
        melt=np.hypot(sd.melt_group, sd.melt_shot) * tiled[:, 1],
        mold=np.hypot(sd.mold_group, sd.mold_shot) * tiled[:, 2],
        time=sd.time * tiled[:, 3],
        charge=np.zeros(len(tiled)),
        thickness=np.zeros(len(tiled)),
    )
    outcome = outcomes(press, np.repeat(settings, len(z), axis=0), deviations)
    with np.errstate(divide="ignore"):  # a cavity without melt or without flash
        full = np.log(outcome.potential / fill_good) / sd.fill
        clean = np.log(flash_good / outcome.width) / sd.flash
    good = np.exp(-outcome.hazard.sum(axis=0))
    for cavity in range(press.cavities):
        good = good * ndtr(full[cavity]) * ndtr(clean[cavity])
    shares: Array = good.reshape(len(settings), len(z))
    return shares


@lru_cache(maxsize=8)
def _spread_normals(n: int) -> Array:
    """Return n evenly spread standard normal points in four dimensions, (n, 4).

    They follow the additive recurrence whose steps are powers of the root of x^5 = x + 1, a
    generalized golden ratio, and are then scaled to mean zero and unit covariance.
    """
    root = 1.0
    for _ in range(60):
        root = (1.0 + root) ** 0.2
    z = ndtri((0.5 + np.outer(np.arange(1, n + 1), root ** -np.arange(1.0, 5.0))) % 1.0)
    z = z - z.mean(axis=0)
    normals: Array = np.linalg.solve(np.linalg.cholesky(z.T @ z / n), z.T).T
    return normals
