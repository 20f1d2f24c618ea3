"""Surfaces and planned shots -> what these shots may show together, drawn many times.

Shots of one temperature group share its effect, the cavities of a shot share the shot's, and all of
them share the draw of the surface, so that what is unknown of the mold is unknown for all at once.
"""

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.surface import Surface, Surfaces

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]

MOST_NUMBERS = 2_000_000  # in one response's array, to keep memory flat
MOST_REPEATS = 20  # of each draw


def repeats_of(surface: Surface, shots: int) -> int:
    """Return how often each draw is used, so that many shots still fit into memory."""
    draws, cavities = surface.cavity.shape
    return int(np.clip(MOST_NUMBERS // max(1, draws * shots * cavities), 1, MOST_REPEATS))


def new_latent(
    surface: Surface, settings: Array, group: Whole, lot: int | None, rng: np.random.Generator
) -> Array:
    """Draw the latent readings of new shots.

    Parameters
    ----------
    surface : Surface
    settings : ndarray, shape (n, k)
        Natural units.
    group : ndarray of int, shape (n,)
        New temperature groups; shots with the same number share one.
    lot : int or None
        Number of the lot; None for the worst of those shot.
    rng : numpy.random.Generator

    Returns
    -------
    ndarray, shape (repeats, draws, n, cavities)
    """
    draws, cavities = surface.cavity.shape
    repeats = repeats_of(surface, len(settings))
    numbers, which = np.unique(group, return_inverse=True)
    if lot is None:
        offset = surface.lot.min(axis=1) if surface.above else surface.lot.max(axis=1)
    else:
        offset = surface.lot[:, lot]
    groups = rng.standard_normal((repeats, draws, numbers.size)) * surface.group_sd[:, None]
    shots = rng.standard_normal((repeats, draws, len(settings))) * surface.shot_sd[:, None]
    shared = surface.latent(settings).T + offset[:, None] + groups[..., which] + shots
    rest = rng.standard_normal((repeats, draws, len(settings), cavities))
    rest *= surface.rest_sd[:, None, None]
    rest += surface.offsets(settings).transpose(1, 0, 2)
    rest += shared[..., None]
    return rest


def new_good(
    surfaces: Surfaces, settings: Array, group: Whole, lot: str, rng: np.random.Generator
) -> Flags:
    """Draw which of new shots are good, shape (repeats x draws, n).

    Parameters
    ----------
    surfaces : Surfaces
    settings, group
        As for `new_latent`.
    lot : str
        The lot they are shot from; the worst of those shot before stands for one never shot.
    rng : numpy.random.Generator
    """
    good: Flags | None = None
    for surface in surfaces.each:
        latent = new_latent(surface, settings, group, lot_number(surfaces, lot), rng)
        fine = latent >= surface.limit if surface.above else latent < surface.limit
        repeats = min(len(latent), len(good) if good is not None else len(latent))
        now = np.asarray(fine[:repeats].all(axis=-1))
        good = now if good is None else np.asarray(good[:repeats] & now)
    assert good is not None  # fill is always there
    return np.asarray(good.reshape(-1, len(settings)))


def lot_number(surfaces: Surfaces, lot: str) -> int | None:
    """Return the number of a lot among those shot; None for one never shot."""
    return surfaces.lots.index(lot) if lot in surfaces.lots else None
