"""Surfaces and settings -> the share of good shots that each draw gives a setting.

A draw fixes the surfaces and the scatter. The share of its good shots at a setting is over a new
temperature group and a new shot, whose effects all cavities share, and over what is left between
the cavities. Since cavities and lots mostly only move a surface up or down, that share depends on
the setting through one number, the height of the surface over its limit, by a curve that is made
once for each draw; where cavities answer to the settings in ways of their own,
`shotwindow.models.cavity_shares` does it.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from shotwindow.doe.terms import Terms
from shotwindow.models.cavity_shares import CavityShares, sign
from shotwindow.models.surface import Surface, Surfaces

Array = NDArray[np.float64]
Whole = NDArray[np.intp]
Single = NDArray[np.float32]

REACH = 6.5  # curves span this many standard deviations on either side of the limit
DEGREE = 3  # of the polynomials; off by .0003 to .002, most where cavities scatter more than shots
GRID = np.linspace(-REACH, REACH, 79)
NODES = np.linspace(-5.0, 5.0, 25)  # of the effect shared by the cavities, in its own deviations
WEIGHTS = np.exp(-0.5 * NODES**2) / np.exp(-0.5 * NODES**2).sum()


@dataclass(frozen=True)
class ShareCurve:
    """Share of good shots of one response against the height over its limit, for each draw.

    Parameters
    ----------
    surface : Surface
    curve : ndarray, shape (draws, DEGREE + 1)
        Polynomial in the height, in units of ``width``, whose logistic function is the share.
    width : ndarray, shape (draws,)
        Standard deviation of a new reading around the surface.
    handicap : ndarray, shape (draws, lots)
        How much lower than the surface its worst cavity and each lot lie, toward the bad side.
    """

    surface: Surface
    curve: Single
    width: Array
    handicap: Array

    def odds(self, settings: Array) -> list[Single]:
        """Bad shots for each good one, for each lot.

        Parameters
        ----------
        settings : ndarray, shape (n, k)
            Natural units.

        Returns
        -------
        list of ndarray, shape (n, draws)
            One for each lot.
        """
        return self.odds_of(self.surface.design(settings).astype(np.float32))

    def odds_of(self, rows: Single) -> list[Single]:
        """Return `odds` at settings whose terms (n, p) are known."""
        scaled, offsets = self._of_first_lot
        height = rows @ scaled.T
        heights = [height, *(height + offset for offset in offsets)]
        return [self._odds(height, self._powers) for height in heights]

    def shares(self, settings: Array) -> list[Single]:
        """Share of good shots for each lot, each of shape (n, draws)."""
        return [np.reciprocal(odds + np.float32(1.0)) for odds in self.odds(settings)]

    def over(self, settings: Array) -> Array:
        """Height over the limit of the worst cavity in the worst lot, toward good, (n, draws)."""
        height = sign(self.surface) * (self.surface.latent(settings) - self.surface.limit)
        return np.asarray(height - self.handicap.max(axis=1))

    @property
    def lots(self) -> int:
        """Number of lots."""
        return len(self.handicap.T)

    def of_draws(self, rows: Whole) -> "ShareCurve":
        """Return the same for some of the draws only."""
        some = (self.curve[rows], self.width[rows], self.handicap[rows])
        return ShareCurve(self.surface.of_draws(rows), *some)

    @cached_property
    def scaled(self) -> tuple[Single, Single]:
        """Coefficients, and offsets of each lot, in units of ``width`` toward the good side."""
        surface, toward, width = self.surface, sign(self.surface), self.width[:, None]
        return (
            (toward * surface.coefficients / width).astype(np.float32),
            ((-toward * surface.limit - self.handicap) / width).astype(np.float32),
        )

    @cached_property
    def _of_first_lot(self) -> tuple[Single, Single]:
        """`scaled` with the first lot's offset in the constant, and how the other lots differ."""
        scaled, offset = self.scaled
        constant = np.array([not power.any() for power in self.surface.terms.powers])
        return scaled + offset[:, :1] * constant, (offset[:, 1:] - offset[:, :1]).T

    @cached_property
    def _powers(self) -> list[Single]:
        """Minus the coefficients of each power: of the logit of a bad shot.

        One number where all draws have the same, as it is then added and multiplied faster.
        """
        same = (self.curve == self.curve[0]).all()
        return list(-self.curve[0] if same else np.ascontiguousarray(-self.curve.T))

    @staticmethod
    def _odds(height: Single, powers: list[Single]) -> Single:
        np.clip(height, -REACH, REACH, out=height)
        value: Single = powers[-1] * height
        for power in range(DEGREE - 1, 0, -1):
            value += powers[power]
            value *= height
        value += powers[0]
        with np.errstate(over="ignore"):  # of many cavities one is short for certain: no share
            np.exp(value, out=value)
        return value


def share_curve(surface: Surface) -> ShareCurve:
    """Make the curve of one response."""
    toward = sign(surface)
    shared = np.sqrt(surface.shot_sd**2 + surface.group_sd**2)
    width = np.sqrt(shared**2 + surface.rest_sd**2)
    worst = (toward * surface.cavity).min(axis=1)
    if surface.cavity.shape[1] == 1:
        curve = np.repeat(_logit_polynomials(ndtr(GRID)[None]), width.size, axis=0)
    else:
        heights = GRID * width[:, None]  # (draws, heights)
        values = np.zeros_like(heights)
        ahead = toward * surface.cavity - worst[:, None]  # of the worst cavity, zero or more
        for node, weight in zip(NODES, WEIGHTS, strict=True):
            good = np.ones_like(heights)
            for cavity in range(ahead.shape[1]):
                reached = heights + ahead[:, [cavity]] + node * shared[:, None]
                good *= ndtr(reached / surface.rest_sd[:, None])
            values += weight * good
        curve = _logit_polynomials(values)
    handicap = -(worst[:, None] + toward * surface.lot)
    return ShareCurve(surface, curve, width, handicap)


def _logit_polynomials(values: Array) -> Single:
    """Polynomials through the logits of shares (draws, GRID), close where the shares are open."""
    values = np.clip(values, 1e-7, 1.0 - 1e-7)
    # a logit off by e moves a share p by p (1 - p) e
    weight = np.maximum(values * (1.0 - values), 1e-4)
    powers = np.polynomial.chebyshev.chebvander(GRID / REACH, DEGREE)
    scaled = weight[:, :, None] * powers  # (draws, GRID, DEGREE + 1)
    logit = weight * np.log(values / (1.0 - values))
    normal = scaled.transpose(0, 2, 1) @ scaled
    fitted = np.linalg.solve(normal, scaled.transpose(0, 2, 1) @ logit[:, :, None])[:, :, 0]
    to_powers = np.zeros((DEGREE + 1, DEGREE + 1))
    for k in range(DEGREE + 1):
        plain = np.polynomial.chebyshev.cheb2poly(np.eye(DEGREE + 1)[k])
        to_powers[k, : plain.size] = plain
    return (fitted @ to_powers / REACH ** np.arange(DEGREE + 1)).astype(np.float32)


Curve = ShareCurve | CavityShares


@dataclass(frozen=True)
class Goodness:
    """Shares of good shots, for all responses together: a shot is good when it is good on each.

    Parameters
    ----------
    surfaces : Surfaces
        From which the curves were made, with all of their draws.
    curves : tuple of ShareCurve or CavityShares
        One for each surface, in the order of ``surfaces.each``.
    """

    surfaces: Surfaces
    curves: tuple[Curve, ...]

    def shares(self, settings: Array) -> Single:
        """Share of good shots in the worst of the lots that were shot.

        Parameters
        ----------
        settings : ndarray, shape (n, k)
            Natural units.

        Returns
        -------
        ndarray, shape (n, draws)
        """
        by_lot: list[Single] = []
        made: dict[Terms, Single] = {}  # responses mostly have the same terms
        for curve in self.curves:
            terms = curve.surface.terms
            if terms not in made:
                made[terms] = curve.surface.design(settings).astype(np.float32)
            odds = curve.odds_of(made[terms])
            for each in odds:
                each += 1.0
            with np.errstate(over="ignore"):  # it fails on both for certain: no share
                by_lot = [a * b for a, b in zip(by_lot, odds, strict=True)] if by_lot else odds
        worst = by_lot[0]
        for lot in by_lot[1:]:
            np.maximum(worst, lot, out=worst)
        return np.divide(np.float32(1.0), worst, out=worst)

    def of_draws(self, rows: Whole) -> "Goodness":
        """Return the same for some of the draws only."""
        return replace(self, curves=tuple(curve.of_draws(rows) for curve in self.curves))

    def probability_good(self, settings: Array, *, size: int = 256) -> Array:
        """Mean share of good shots, shape (n,), taken ``size`` settings at a time."""
        parts = [
            self.shares(settings[i : i + size]).mean(axis=1) for i in range(0, len(settings), size)
        ]
        return np.concatenate(parts).astype(float) if parts else np.zeros(0)


def goodness(surfaces: Surfaces) -> Goodness:
    """Make the curves of all surfaces.

    Parameters
    ----------
    surfaces : Surfaces

    Returns
    -------
    Goodness
        Its ``shares`` and ``probability_good`` take settings in natural units. For an example see
        `shotwindow.models.window.find_window`.
    """
    curves = (
        CavityShares(surface) if surface.slope.shape[2] else share_curve(surface)
        for surface in surfaces.each
    )
    return Goodness(surfaces, tuple(curves))
