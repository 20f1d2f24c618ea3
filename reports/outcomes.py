"""Readings -> what became of each shot: good, short, flashed, both, or rejected otherwise."""

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.readings import Readings

Flags = NDArray[np.bool_]

#: In the order in which legends list them.
OUTCOMES = ("good", "short", "flash", "short and flash", "other reject")


def is_short(readings: Readings) -> Flags:
    """Return which shots (n,) have a cavity that is surely not full."""
    return np.asarray((readings.fill_high <= readings.fill_good).any(axis=1))


def is_flashed(readings: Readings) -> Flags:
    """Return which shots (n,) have flash that is surely over the limit."""
    if readings.flash_grade is not None:
        return np.asarray((readings.flash_grade > readings.flash_good).any(axis=1))
    assert readings.flash_low is not None  # widths
    return np.asarray((readings.flash_low >= readings.flash_good).any(axis=1))


def outcomes(readings: Readings) -> NDArray[np.str_]:
    """Return one of `OUTCOMES` for each shot (n,)."""
    short, flashed = is_short(readings), is_flashed(readings)
    other = np.zeros(len(short), dtype=bool) if readings.other is None else readings.other
    found = np.full(len(short), "good", dtype="<U15")
    found[other] = "other reject"
    found[short] = "short"
    found[flashed] = "flash"
    found[short & flashed] = "short and flash"
    return found
