"""Readings of one response -> draws that allow for slips of the pen, and the readings in doubt.

One reading typed wrongly can bend a surface or hide in a scatter that is much too wide. A reading
is either right, or a slip that could have been any reading. Both are fitted, and weighed by how
well each foretells all readings and by how rare slips are; the draws are mixed accordingly, so that
a reading beyond belief is left out and one that is only odd counts in part. Only readings that the
others foretell badly are tried, one after the other. (Mixtures of this kind: Box and Tiao,
Biometrika 55, 1968, 119-129, from memory.)
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from shotwindow.models.drawing import Draws, draw
from shotwindow.models.matching import factors, left_out
from shotwindow.models.posterior import Density

Array = NDArray[np.float64]

SLIPS = 0.01  # of all readings; order of magnitude, no source
ODD = 0.02  # odds of a slip, roughly judged, from which a reading is tried
TRIED = 2  # of the oddest readings at a time
MOST = 3  # readings in doubt of one response
DOUBTED = 0.05  # chance of a slip from which a reading is named


@dataclass(frozen=True)
class Slip:
    """A reading that may be a slip.

    Parameters
    ----------
    row : int
        Its place among the readings of the density.
    chance : float
        That it is a slip, given all other readings.
    low : bool
        Whether it lies below what the others foretell.
    """

    row: int
    chance: float
    low: bool


def draw_doubting(
    density: Density,
    any_reading: Array,
    rng: np.random.Generator,
    *,
    draws: int,
    doubting: bool = True,
) -> tuple[Draws, tuple[Slip, ...]]:
    """Draw from a posterior in which some readings may be slips.

    Parameters
    ----------
    density : Density
    any_reading : ndarray, shape (readings,)
        Log probability of each reading if it were a slip.
    rng : Generator
    draws : int
        How many.
    doubting : bool
        Whether there may be slips at all: made readings have none.

    Returns
    -------
    Draws, tuple of Slip
        Their evidence is that of all readings, slips allowed for.
    """
    now, rows, left = draw(density, rng, draws=draws), np.arange(len(density.rows)), 1.0
    mixed, shares, slips = [now], [1.0], list[Slip]()
    while doubting and len(slips) < MOST:
        found = _oddest(density, any_reading, now, rng, draws)
        if found is None:
            break
        slip, less = found
        slips.append(replace(slip, row=int(rows[slip.row])))
        shares[-1] = left * (1.0 - slip.chance)
        left *= slip.chance
        mixed.append(less)
        shares.append(left)
        if slip.chance < 0.5:
            break
        keep = np.arange(len(rows)) != slip.row
        density, any_reading, rows, now = (
            without(density, keep),
            any_reading[keep],
            rows[keep],
            less,
        )
    return _mix(mixed, shares, rng, draws), tuple(slips)


def without(density: Density, keep: NDArray[np.bool_]) -> Density:
    """Return the density of some of the readings, of the same parameters."""
    by_reading = (
        "design", "low", "high", "low_gaps", "high_gaps", "cavity", "lot", "group", "shot",
    )  # fmt: skip
    some = {name: getattr(density.data, name)[keep] for name in by_reading}
    return Density(replace(density.data, **some), density.prior)


def _oddest(
    density: Density, any_reading: Array, now: Draws, rng: np.random.Generator, draws: int
) -> tuple[Slip, Draws] | None:
    """Find the reading that is most likely a slip, with the draws without it."""
    if not np.isfinite(now.log_evidence) or len(density.rows) < 3:
        return None
    odds, low = _rough_odds(density, any_reading, now)
    best: tuple[Slip, Draws] | None = None
    for row in np.argsort(-odds)[:TRIED]:
        if odds[row] < np.log(ODD):
            break
        less = draw(without(density, np.arange(len(odds)) != row), rng, draws=draws)
        better = any_reading[row] + less.log_evidence - now.log_evidence
        chance = float(expit(better + np.log(SLIPS / (1.0 - SLIPS))))
        if less.diagnostics.converged and chance > (DOUBTED if best is None else best[0].chance):
            best = Slip(int(row), chance, bool(low[row])), less
    return best


def _rough_odds(density: Density, any_reading: Array, now: Draws) -> tuple[Array, Array]:
    """Log odds of a slip for each reading at the mean scales, and whether it is low, (readings,).

    Scales that had to stretch over a slip hide it in part, so that much lower odds than even call
    for a second look.
    """
    scales = now.states[density.shared :].mean(axis=1, keepdims=True)
    log = density.logs(scales)
    middle, variance = left_out(density, scales, factors(density, scales))
    sd = np.sqrt(variance + np.exp(2.0 * (log["scatter"] + log["cavity_ratio"])))
    fit = density.likelihood(middle.T, density.ends(log), sd.T)
    odds = np.log(SLIPS) + any_reading - fit.log_probability[:, 0]
    return np.asarray(odds), np.asarray(fit.eta[:, 0] < 0)


def _mix(mixed: list[Draws], shares: list[float], rng: np.random.Generator, draws: int) -> Draws:
    """Take draws from each fit by its share, and the worst of their diagnostics."""
    if len(mixed) == 1:
        return mixed[0]
    ends = np.round(np.cumsum(shares) / np.sum(shares) * draws).astype(int)
    counts = np.diff(ends, prepend=0)
    states = [fit.states[:, :count] for fit, count in zip(mixed, counts, strict=True)]
    used = [fit.diagnostics for fit, count in zip(mixed, counts, strict=True) if count]
    worst = min(used, key=lambda told: (told.converged, told.effective))
    # evidence = that with no slip, over the chance of no slip
    evidence = mixed[0].log_evidence - float(np.log(np.maximum(shares[0], 1e-300)))
    return Draws(np.hstack(states)[:, rng.permutation(draws)], worst, evidence)
