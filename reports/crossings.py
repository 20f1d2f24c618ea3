"""Surfaces -> where a response passes the limit of a good part along one setting."""

from dataclasses import dataclass

import numpy as np

from shotwindow.doe.factors import Factor
from shotwindow.models.surface import Surface
from shotwindow.reports.changes import LEVEL, middle_of
from shotwindow.reports.fitted import Fitted


@dataclass(frozen=True)
class Crossing:
    """Where one response passes its limit along a factor, all others in the middle.

    Attributes
    ----------
    response : str
    factor : Factor
    low, middle, high : float
        Infinite, minus or plus, where that place lies below or above the range.
    rising : bool
        Whether it lies beyond the limit from that place on, and not up to it.
    """

    response: str
    factor: Factor
    low: float
    middle: float
    high: float
    rising: bool

    @property
    def everywhere(self) -> float:
        """The value of a place that stands for: beyond the limit all along the range."""
        return -np.inf if self.rising else np.inf


def crossing(found: Fitted, surface: Surface, j: int, count: int = 401) -> Crossing:
    """Return where the typical shot's worst cavity passes the limit along factor ``j``."""
    factor = found.study.factors[j]
    line = np.tile(middle_of(found), (count, 1))
    line[:, j] = np.linspace(factor.low, factor.high, count)
    latent = surface.latent(line) + surface.worst(line)
    over = latent + surface.lot.mean(axis=1) >= surface.limit
    rising = bool(np.median(latent[-1] - latent[0]) >= 0)
    # as much of the line lies on the low side of the place as lies short of the limit, or beyond it
    before = (~over if rising else over).mean(axis=0)
    places = factor.low + before * (factor.high - factor.low)
    places = np.where(before == 0, -np.inf, np.where(before == 1, np.inf, places))
    ends = np.quantile(places, [(1 - LEVEL) / 2, 0.5, (1 + LEVEL) / 2], method="nearest")
    low, middle, high = (float(end) for end in ends)
    return Crossing(surface.response, factor, low, middle, high, rising)
