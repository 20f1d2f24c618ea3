"""The scale on which fill and flash are fitted -> round numbers of what is read, along an axis."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.scales import (
    fill_latent,
    fill_percent,
    flash_latent,
    flash_width,
    to_common_power,
)
from shotwindow.models.surface import Surface
from shotwindow.reports.fitted import Fitted

Array = NDArray[np.float64]

ROOM = 0.09  # of an axis that a number takes
_ROUND = {
    "fill": (100, 90, 80, 70, 60, 50, 40, 30, 20, 10, 120, 140, 170, 200, 250, 300),
    "flash": (0.0, 0.1, 0.2, 0.4, 0.02, 0.05, 0.01, 0.005, 0.6, 0.8, 1.0, 1.5, 2.0, 0.002),
}


@dataclass(frozen=True)
class Scale:
    """One latent scale for all draws of a response, and what is read along it.

    Parameters
    ----------
    response : str
        "fill" or "flash".
    limit : float
        Width at which flash is too much; not used for fill.
    power : float
        Of widths: the middle one of all draws.
    """

    response: str
    limit: float = 1.0
    power: float = 1.0

    def of_draws(self, latent: Array, powers: Array) -> Array:
        """Return values on the scales of the draws, (..., draws), on this one."""
        if self.response == "fill":
            return latent
        return to_common_power(latent, powers, self.power)

    def values(self, latent: Array) -> Array:
        """Return fill in percent, or the width of flash, of values on this scale."""
        if self.response == "fill":
            return fill_percent(latent)
        return flash_width(latent, self.limit, np.array(self.power))

    def latents(self, values: Array) -> Array:
        """Return values that can be read on this scale."""
        if self.response == "fill":
            return fill_latent(values)
        return flash_latent(values, self.limit, np.array(self.power))


def scale_of(found: Fitted, surface: Surface) -> Scale:
    """Return the scale on which a measured response is shown."""
    return Scale(surface.response, found.study.flash.good, float(np.median(surface.power)))


def latent_ticks(
    scale: Scale, limit: float, low: float, high: float
) -> tuple[list[float], list[str]]:
    """Return places of the limit and of round numbers between two ends, and what is read there.

    Earlier ones of the list go first; a number that would touch another is left out.

    Examples
    --------
    >>> from shotwindow.reports.latent_axis import Scale, latent_ticks
    >>> places, read = latent_ticks(Scale("flash", 0.1, 0.5), 0.0, -2.5, 1.0)
    >>> [f"{value} at {place:.2f}" for place, value in sorted(zip(places, read))]
    ['0 at -2.00', '0.005 at -1.55', '0.02 at -1.11', '0.05 at -0.59', '0.1 at 0.00', '0.2 at 0.83']
    """
    kept: dict[float, str] = {}
    for value in (float(scale.values(np.array([limit]))[0]), *_ROUND[scale.response]):
        # nothing to be seen has no place of its own: where the smallest width would begin
        at = value if value > 0 else 1e-12
        place = float(scale.latents(np.array([at]))[0])
        room = min((abs(place - other) for other in kept), default=np.inf)
        if low <= place <= high and room >= ROOM * (high - low):
            kept[place] = f"{value:.4g}"
    return list(kept), list(kept.values())
