"""Surfaces and settings -> the share of good shots that each draw gives a setting.

A draw fixes the surfaces and the scatter. The share of its good shots at a setting is over a new
temperature group and a new shot, whose effects all cavities share, and over what is left between
the cavities. Since cavities and lots only move a surface up or down, that share depends on the
setting through one number, the height of the surface over its limit, and is looked up in a table
made once for each draw.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from shotwindow.models.scales import warp
from shotwindow.models.surface import Surface, Surfaces

Array = NDArray[np.float64]
Single = NDArray[np.float32]

REACH = 9.0  # the tables span this many standard deviations on either side of the limit
CELLS = 144  # straight lines between them are then off by less than 0.0005
NODES = np.linspace(-5.0, 5.0, 25)  # of the effect shared by the cavities, in its own deviations
WEIGHTS = np.exp(-0.5 * NODES**2) / np.exp(-0.5 * NODES**2).sum()


@dataclass(frozen=True)
class ShareTable:
    """Share of good shots of one response against the height over its limit, for each draw.

    Parameters
    ----------
    surface : Surface
    values : ndarray, shape (draws, CELLS + 1)
        Shares at equal steps of height from ``-REACH`` to ``REACH`` times ``width``.
    width : ndarray, shape (draws,)
        Standard deviation of a new reading around the surface.
    handicap : ndarray, shape (draws, lots)
        How much lower than the surface its worst cavity and each lot lie, toward the bad side.
    """

    surface: Surface
    values: Single
    width: Array
    handicap: Array

    def shares(self, settings: Array, *, draws: int | None = None) -> list[Single]:
        """Share of good shots for each lot.

        Parameters
        ----------
        settings : ndarray, shape (n, k)
            Natural units.
        draws : int, optional
            Only the first so many draws.

        Returns
        -------
        list of ndarray, shape (n, draws)
            One for each lot.
        """
        rows = slice(None, draws)
        scaled, offset = self._scaled
        coded = warp(self.surface.factors, settings)
        height = self.surface.terms.matrix(coded).astype(np.float32) @ scaled[rows].T
        return [self._look_up(height + offset[rows, lot]) for lot in range(offset.shape[1])]

    @cached_property
    def _scaled(self) -> tuple[Single, Single]:
        """Coefficients, and offsets of each lot, in cells of the table."""
        surface, sign = self.surface, 1.0 if self.surface.above else -1.0
        cell = 2.0 * REACH / CELLS * self.width[:, None]
        offset = (-sign * surface.limit - self.handicap) / cell + 0.5 * CELLS
        return (
            (sign * surface.coefficients / cell).astype(np.float32),
            offset.astype(np.float32),
        )

    def _look_up(self, place: Single) -> Single:
        np.clip(place, 0.0, CELLS - 0.001, out=place)
        cell = place.astype(np.int32)
        place -= cell
        cell += np.arange(cell.shape[1], dtype=np.int32) * (CELLS + 1)
        flat = self.values.ravel()
        low = flat[cell]
        low += place * (flat[cell + 1] - low)
        return low


def share_table(surface: Surface) -> ShareTable:
    """Make the table of one response."""
    sign = 1.0 if surface.above else -1.0
    shared = np.sqrt(surface.shot_sd**2 + surface.group_sd**2)
    width = np.sqrt(shared**2 + surface.rest_sd**2)
    heights = np.linspace(-REACH, REACH, CELLS + 1) * width[:, None]  # (draws, heights)
    worst = (sign * surface.cavity).min(axis=1)
    if surface.cavity.shape[1] == 1:
        values = ndtr(heights / width[:, None])
    else:
        values = np.zeros_like(heights)
        ahead = sign * surface.cavity - worst[:, None]  # of the worst cavity, zero or more
        for node, weight in zip(NODES, WEIGHTS, strict=True):
            good = np.ones_like(heights)
            for cavity in range(ahead.shape[1]):
                reached = heights + ahead[:, [cavity]] + node * shared[:, None]
                good *= ndtr(reached / surface.rest_sd[:, None])
            values += weight * good
    handicap = -(worst[:, None] + sign * surface.lot)
    return ShareTable(surface, values.astype(np.float32), width, handicap)


@dataclass(frozen=True)
class Goodness:
    """Shares of good shots, for all responses together."""

    surfaces: Surfaces
    tables: tuple[ShareTable, ...]

    def shares(self, settings: Array, *, draws: int | None = None) -> Single:
        """Share of good shots in the worst of the lots that were shot.

        Parameters
        ----------
        settings : ndarray, shape (n, k)
            Natural units.
        draws : int, optional
            Only the first so many draws.

        Returns
        -------
        ndarray, shape (n, draws)
        """
        by_lot: list[Single] = []
        for table in self.tables:
            shares = table.shares(settings, draws=draws)
            if len(shares) == 1 and len(by_lot) > 1:
                shares = shares * len(by_lot)
            by_lot = [a * b for a, b in zip(by_lot, shares, strict=True)] if by_lot else shares
        worst = by_lot[0]
        for lot in by_lot[1:]:
            worst = np.minimum(worst, lot)
        return worst

    def probability_good(self, settings: Array, *, size: int = 4096) -> Array:
        """Mean share of good shots, shape (n,), taken ``size`` settings at a time."""
        parts = [
            self.shares(settings[i : i + size]).mean(axis=1) for i in range(0, len(settings), size)
        ]
        return np.concatenate(parts).astype(float) if parts else np.zeros(0)


def goodness(surfaces: Surfaces) -> Goodness:
    """Make the tables of all surfaces."""
    return Goodness(surfaces, tuple(share_table(surface) for surface in surfaces.each))
