"""Surfaces whose cavities answer differently to the settings -> the share of good shots.

Where cavities run in parallel one curve of the height does for all settings
(`shotwindow.models.goodness`). Where they do not, which cavity is ahead of which changes with the
setting, and the share is added up anew for each: over the effect that all cavities of a shot share,
of the chances that none of them fails.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from shotwindow.models.surface import Surface

Array = NDArray[np.float64]
Single = NDArray[np.float32]
Whole = NDArray[np.intp]

NODES = np.linspace(-4.5, 4.5, 31)  # of the shared effect, in its own deviations
WEIGHTS = np.exp(-0.5 * NODES**2) / np.exp(-0.5 * NODES**2).sum()
CLOSE = 0.001  # shares of worst cavities alone are taken where the others change less
FAR = 5.5  # deviations of a single reading: beyond, nothing changes that counts
# Logistic function of u (LINE + CUBE u^2) for the normal one, off by 0.00014 at the most
# (Bowling, Khasawneh, Kaewkuekool and Cho, J. Ind. Eng. Manag. 2, 2009, 114-127, from memory).
LINE, CUBE = 1.5976, 0.07056


@dataclass(frozen=True)
class CavityShares:
    """Share of good shots of one response whose cavities have slopes of their own.

    Parameters
    ----------
    surface : Surface
    """

    surface: Surface

    @cached_property
    def width(self) -> Array:
        """Standard deviation of a new reading around the surface, (draws,)."""
        return np.sqrt(self._shared**2 + self.surface.rest_sd**2)

    @property
    def _shared(self) -> Array:
        return np.hypot(self.surface.shot_sd, self.surface.group_sd)

    def heights(self, settings: Array) -> Array:
        """Heights of all cavities over the limit, toward the good side, but for lots.

        Parameters
        ----------
        settings : ndarray, shape (n, k)

        Returns
        -------
        ndarray, shape (n, draws, cavities)
        """
        surface = self.surface
        each = surface.latent(settings)[:, :, None] + surface.offsets(settings)
        return np.asarray(sign(surface) * (each - surface.limit))

    def over(self, settings: Array) -> Array:
        """Height over the limit of the worst cavity in the worst lot, (n, draws)."""
        lot = (sign(self.surface) * self.surface.lot).min(axis=1)
        return np.asarray(self.heights(settings).min(axis=-1) + lot)

    @cached_property
    def packed(self) -> tuple[Single, Single, Single]:
        """Numbers that heights are made of, in the scatter that cavities do not share.

        Returns
        -------
        coefficients : ndarray, shape (draws, cavities, terms)
        offsets : ndarray, shape (draws, lots, cavities)
        shared : ndarray, shape (draws,)
            Standard deviation of the effect that cavities share.
        """
        surface, toward = self.surface, sign(self.surface)
        rest = surface.rest_sd[:, None, None]
        each = np.repeat(surface.coefficients[:, None, :], surface.cavity.shape[1], axis=1)
        each[:, :, 1 : 1 + surface.slope.shape[2]] += surface.slope
        height = surface.cavity[:, None, :] + surface.lot[:, :, None] - surface.limit
        return (
            (toward * each / rest).astype(np.float32),
            (toward * height / rest).astype(np.float32),
            (self._shared / rest[:, 0, 0]).astype(np.float32),
        )

    def odds(self, settings: Array) -> list[Single]:
        """Bad shots for each good one, for each lot; as `ShareCurve.odds`."""
        return self.odds_of(self.surface.design(settings).astype(np.float32))

    def odds_of(self, rows: Single) -> list[Single]:
        """Return `odds` at settings whose terms (n, p) are known."""
        coefficients, offsets, shared = self.packed
        base = rows @ coefficients.transpose(1, 2, 0)  # (cavities, n, draws)
        return [
            self._odds(base + offsets[:, lot].T[:, None, :], shared)
            for lot in range(offsets.shape[1])
        ]

    @staticmethod
    def _odds(height: Single, shared: Single) -> Single:
        """Bad shots for each good one, from heights (cavities, n, draws).

        Mostly one cavity is so far behind that it alone decides; where the others may count, it is
        added up.
        """
        first, second = _two_lowest(height)
        total = np.sqrt(np.float32(1.0) + shared * shared)
        lowest, next_lowest = first / total, second / total
        odds = np.exp(-_logit(lowest))
        # no other fails oftener than by chance alone, nor is worse than the first oftener than by
        # this difference of two readings
        reach = np.float32(reach_of(len(height)))
        doubt = (np.abs(lowest) < reach) & (next_lowest < reach)
        at, draw = np.nonzero(doubt & (second - first < np.sqrt(np.float32(2.0)) * reach))
        good = _added_up(height[:, at, draw], shared[draw])
        odds[at, draw] = (np.float32(1.0) - good) / np.maximum(good, np.float32(1e-30))
        return odds

    def shares(self, settings: Array) -> list[Single]:
        """Share of good shots for each lot, each of shape (n, draws)."""
        return [np.reciprocal(odds + np.float32(1.0)) for odds in self.odds(settings)]

    @property
    def lots(self) -> int:
        """Number of lots."""
        return len(self.surface.lot.T)

    def of_draws(self, rows: Whole) -> "CavityShares":
        """Return the same for some of the draws only."""
        return CavityShares(self.surface.of_draws(rows))


def _two_lowest(height: Single) -> tuple[Single, Single]:
    """Return the lowest and the next lowest along the first axis; of one, no next."""
    first, second = height[0], np.full_like(height[0], np.inf)
    for each in height[1:]:
        second = np.minimum(second, np.maximum(first, each))
        first = np.minimum(first, each)
    return first, second


def _logit(u: Single) -> Single:
    u = np.clip(u, -FAR, FAR)
    return np.asarray(u * (np.float32(LINE) + np.float32(CUBE) * u * u))


def _added_up(height: Single, shared: Single) -> Single:
    """Share of good shots over what cavities share, from heights (cavities, n) and (n,)."""
    good = np.zeros(height.shape[1:], dtype=np.float32)
    for node, weight in zip(NODES.astype(np.float32), WEIGHTS.astype(np.float32), strict=True):
        bad, moved = np.ones_like(good), node * shared
        for each in height:
            with np.errstate(over="ignore"):  # none of many cavities is full: no share
                bad *= np.float32(1.0) + np.exp(-_logit(each + moved))
        good += weight / bad
    return good


def reach_of(cavities: int) -> float:
    """How far behind, in scatter, a cavity is still looked at beside the worst one."""
    return float(np.float32(-ndtri(CLOSE / cavities)))


def sign(surface: Surface) -> float:
    """Return which way lies good: up is 1."""
    return 1.0 if surface.above else -1.0
