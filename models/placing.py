"""A press and where its edges are wanted -> the same press with constants that put them there.

Three constants are set: how thick the melt is (so that the last cavity is just full at one
setting), the clamp, and how readily the parting line gives way (so that the first cavity flashes
just at the limit at another setting).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import natural_settings
from shotwindow.models.filling import fill_mold
from shotwindow.models.flashing import Clamp, Flash, GapFlash
from shotwindow.models.outcomes import Deviations, conditions, outcomes
from shotwindow.models.press import Press

Array = NDArray[np.float64]

_HALVINGS = 60


@dataclass(frozen=True)
class Places:
    """Where the edges of a window are wanted.

    Attributes
    ----------
    full : tuple of float, length k
        Coded setting at which the last cavity is just full.
    flashed : tuple of float, length k
        Coded setting at which the first cavity flashes just at the limit.
    push : float
        Clamp force over the melt's push on the mold at the second setting.
    stiffness_gap : float
        How far the mold opens when the melt pushes twice as hard as the clamp, m.
    """

    full: tuple[float, ...]
    flashed: tuple[float, ...]
    push: float
    stiffness_gap: float


def with_edges(press: Press, places: Places) -> Press | None:
    """Return the press with its edges put in place, or None where it cannot have them.

    It cannot where even the thinnest melt stays short, where no cavity is under pressure yet at
    the second setting, or where the gap flashes too much even if nothing gives way.

    Examples
    --------
    >>> from shotwindow.models.outcomes import true_latent
    >>> from shotwindow.models.placing import Places, with_edges
    >>> from shotwindow.models.presets import preset
    >>> press = preset("narrow")  # 50 to 75 psi
    >>> moved = with_edges(press, Places((-0.6,), (0.6,), 1.2, 2e-5))
    >>> fill, flash = true_latent(moved, [[55.0], [70.0]])
    >>> round(float(fill[0, 0]), 2), round(float(flash[1, 0]), 4)
    (100.0, 0.1)
    """
    sound = replace(press, starving=0.0, clamp=Clamp(np.inf, np.inf))
    full, flashed = natural_settings(press.factors, [places.full, places.flashed])
    grade = _grade(sound, full)
    if grade is None:
        return None
    sound = replace(sound, melt=replace(sound.melt, grade=grade))
    shots = conditions(sound, flashed[None], Deviations.none(1))
    filling = fill_mold(sound.mold, sound.melt, sound.freezing, shots)
    end, mean = sound.packing.pressures(filling, sound.melt, shots)
    force = places.push * float(sound.mold.area @ mean[:, 0])
    clamp = Clamp(force, force / places.stiffness_gap)
    opening = clamp.opening(sound.mold, mean)

    def widest(flash: Flash) -> float:
        return float(flash.width(end, opening, sound.melt, sound.freezing, shots).max())

    law = _just_flashed(press.flash, widest, press.flash_good_mm)
    if law is None:
        return None
    return replace(press, melt=sound.melt, clamp=clamp, flash=law)


def _grade(press: Press, setting: Array) -> float | None:
    """Return how thick the melt must be for the last cavity to be just full at a setting (k,)."""
    logs = np.linspace(-18.0, 18.0, 145)
    for _ in range(3):
        deviations = replace(Deviations.none(len(logs)), thickness=logs)
        outcome = outcomes(press, np.tile(setting, (len(logs), 1)), deviations)
        full = outcome.potential.min(axis=0) >= 100.0  # the thinner, the fuller
        if not full.any() or full.all():
            return None
        last = np.flatnonzero(full).max()
        logs = np.linspace(logs[last], logs[last + 1], 145)
    return float(press.melt.grade * np.exp(logs[0]))


def _just_flashed(flash: Flash, widest: Callable[[Flash], float], limit: float) -> Flash | None:
    """Return the law with its constant set so that the widest flash is the limit (mm)."""
    if not isinstance(flash, GapFlash):
        width = widest(flash)
        return replace(flash, spread=flash.spread * limit / width) if width > 0.0 else None

    def giving(log_scale: float) -> GapFlash:
        scale = math.exp(log_scale)
        return replace(flash, give=tuple(give * scale for give in flash.give))

    low, high = -20.0, 20.0
    if widest(giving(low)) >= limit or widest(giving(high)) <= limit:
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if widest(giving(middle)) > limit else (middle, high)
    return giving(low)
