"""Findings -> the chances along one or two factors, the others kept, as arrays to draw."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor, coded_settings
from shotwindow.reports.findings import Findings

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

BATCH = 4096  # settings taken at a time, to keep memory flat
PAD = 0.03  # of the range, shown beyond what is looked at: shots on its rim then stand inside


@dataclass(frozen=True)
class Slice:
    """Chances over a grid of one or two factors.

    Attributes
    ----------
    axes : tuple of int
        Positions of the factors that vary, the horizontal one first.
    factors : tuple of Factor
        These factors.
    places : tuple of ndarray
        Values along each of them, in their units.
    at : tuple of float, length k
        The settings that all others are kept at.
    in_window : ndarray, shape (places of the last axis, ..., of the first)
        Chance that a setting is in the window; not a number where there is no answer.
    passes : dict of str to ndarray
        By response, the chance that it alone leaves enough good shots; of the same shape.
    tried, allowed : ndarray of bool
        Of the same shape.
    """

    axes: tuple[int, ...]
    factors: tuple[Factor, ...]
    places: tuple[Array, ...]
    at: tuple[float, ...]
    in_window: Array
    passes: dict[str, Array]
    tried: Flags
    allowed: Flags

    @property
    def answered(self) -> Flags:
        """Where there is an answer."""
        return self.tried & self.allowed


def map_axes(factors: tuple[Factor, ...]) -> tuple[int, ...]:
    """Return the factors of the map: pressure and melt temperature, or what comes nearest.

    Examples
    --------
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.reports.slices import map_axes
    >>> factors = [Factor(n, "u", 0, 1, 0.1, (0, 1), 0.05) for n in ("gate", "time", "pressure")]
    >>> map_axes(tuple(factors))
    (2, 0)
    """
    wanted = ("pressure", "melt_temperature", "mold_temperature", "injection_time")

    def rank(j: int) -> int:
        return wanted.index(factors[j].name) if factors[j].name in wanted else len(wanted)

    return tuple(sorted(range(len(factors)), key=rank)[:2])


def slice_at(
    found: Findings,
    axes: tuple[int, ...],
    count: int = 81,
    at: tuple[float, ...] | None = None,
) -> Slice:
    """Return the chances over a grid through the setpoint, ``count`` places along each axis.

    The grid reaches a little beyond the range of each factor and beyond what was tried.

    The others are kept at the settings ``at`` (k,), by default the setpoint; without one at the
    best mark, or in the middle of what was tried.
    """
    at = found.best_settings if at is None else at
    factors = tuple(found.study.factors[j] for j in axes)
    places = tuple(np.linspace(*_reach(found, j), count) for j in axes)
    grids = np.meshgrid(*places)
    settings = np.tile(np.array(at), (grids[0].size, 1))
    for j, grid in zip(axes, grids, strict=True):
        settings[:, j] = grid.ravel()
    shape = grids[0].shape
    tried, allowed = found.region.holds(settings), found.study.allowed(settings)
    inside, passes = _chances(found, settings, tried & allowed)
    return Slice(
        axes=axes,
        factors=factors,
        places=places,
        at=at,
        in_window=inside.reshape(shape),
        passes={name: chance.reshape(shape) for name, chance in passes.items()},
        tried=tried.reshape(shape),
        allowed=allowed.reshape(shape),
    )


def _reach(found: Findings, j: int) -> tuple[float, float]:
    """Return the ends of what is shown of a factor."""
    factor = found.study.factors[j]
    low = min(factor.low, float(found.region.low[j]))
    high = max(factor.high, float(found.region.high[j]))
    pad = PAD * (high - low)
    return low - pad, high + pad


def _chances(found: Findings, settings: Array, answered: Flags) -> tuple[Array, dict[str, Array]]:
    wanted, goodness = found.study.good_from, found.goodness
    inside = np.full(len(settings), np.nan)
    passes = {table.surface.response: inside.copy() for table in goodness.curves}
    where = np.flatnonzero(answered)
    for rows in np.split(where, range(BATCH, where.size, BATCH)):
        good = []  # by response, good shots as a share of all for each lot
        for table in goodness.curves:
            good.append(table.shares(settings[rows]))
            passes[table.surface.response][rows] = _reached(good[-1], wanted)
        inside[rows] = _reached([np.prod(lot, axis=0) for lot in zip(*good, strict=True)], wanted)
    return inside, passes


def _reached(by_lot: Sequence[NDArray[np.float32]], wanted: float) -> Array:
    """Return in what part of the draws the worst lot (n, draws) has enough good shots, (n,)."""
    return np.asarray((np.minimum.reduce(by_lot) >= wanted).mean(axis=1))


def off_slice(found: Findings, axes: tuple[int, ...]) -> Array:
    """Return how far each fitted shot (n,) lies from the slice, in half ranges of its factors.

    The largest distance over the factors that are kept counts: 0 on the slice, 2 at the other end.
    """
    kept = [j for j in range(len(found.study.factors)) if j not in axes]
    if not kept:
        return np.zeros(len(found.readings.shot))
    coded = coded_settings(found.study.factors, found.readings.settings)
    here = coded_settings(found.study.factors, found.best_settings)
    return np.asarray(np.abs(coded - here)[:, kept].max(axis=1))
