"""The scale on which fill and flash are fitted -> round numbers of what is read, along an axis."""

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.scales import fill_latent, fill_percent, flash_latent, flash_width

Array = NDArray[np.float64]

ROOM = 0.09  # of an axis that a number takes
_ROUND = {
    "fill": (100, 90, 80, 70, 60, 50, 40, 30, 20, 10, 120, 140, 170, 200, 250, 300),
    "flash": (0.0, 0.1, 0.2, 0.4, 0.02, 0.05, 0.01, 0.005, 0.6, 0.8, 1.0, 1.5, 2.0, 0.002),
}


def values_of(response: str, latent: Array) -> Array:
    """Return fill in percent, or the width of flash, of values on the fitted scale."""
    return fill_percent(latent) if response == "fill" else flash_width(latent)


def latents_of(response: str, values: Array) -> Array:
    """Return values that can be read on the fitted scale."""
    return fill_latent(values) if response == "fill" else flash_latent(values)


def latent_ticks(
    response: str, limit: float, low: float, high: float
) -> tuple[list[float], list[str]]:
    """Return places of the limit and of round numbers between two ends, and what is read there.

    Earlier ones of the list go first; a number that would touch another is left out.

    Examples
    --------
    >>> from shotwindow.reports.latent_axis import latent_ticks
    >>> places, read = latent_ticks("flash", 0.1**0.5, -0.1, 0.5)
    >>> sorted(zip([round(place, 3) for place in places], read))
    [(0.0, '0'), (0.071, '0.005'), (0.141, '0.02'), (0.224, '0.05'), (0.316, '0.1'), (0.447, '0.2')]
    """
    kept: dict[float, str] = {}
    for value in (float(values_of(response, np.array([limit]))[0]), *_ROUND[response]):
        place = float(latents_of(response, np.array([value]))[0]) if value > 0 else 0.0
        room = min((abs(place - other) for other in kept), default=np.inf)
        if low <= place <= high and room >= ROOM * (high - low):
            kept[place] = f"{value:.4g}"
    return list(kept), list(kept.values())
