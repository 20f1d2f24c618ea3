"""A study -> window and setpoint over as few of its marks as give the same answers.

Shares of a window need few marks a factor. A setpoint may need more: where they would make it
better, the window is looked for once more, with all marks of the factors concerned.
"""

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import snap_settings
from shotwindow.doe.readings import Readings
from shotwindow.doe.study import Study
from shotwindow.models.goodness import Goodness
from shotwindow.models.held_chances import HeldSearch
from shotwindow.models.setpoint import SAME, Setpoint, best_mark, find_setpoint
from shotwindow.models.thinning import MOST_MARKS, sways, thinned
from shotwindow.models.window import Region, Window, find_window

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

AROUND = 6  # marks to either side at which something better is looked for


def find_both(
    study: Study, readings: Readings, goodness: Goodness, region: Region
) -> tuple[Window, Setpoint | None]:
    """Find the window of a study and the setpoint in it, over all marks or enough of them."""
    sway, whole = sways(goodness.surfaces), frozenset[int]()
    while True:
        few = thinned(study, sway=sway, whole=whole)
        window = find_window(few, readings, goodness)
        setpoint = find_setpoint(window, goodness, prefer=study.prefer)
        if whole or not (whole := left_out(study, window, goodness, region, setpoint)):
            return window, setpoint


def left_out(
    whole: Study, window: Window, goodness: Goodness, region: Region, setpoint: Setpoint | None
) -> frozenset[int]:
    """Return the factors of which all marks should be kept for the sake of the setpoint.

    From the setpoint one factor after the other, or two at once, are moved to marks beside it, as
    long as that helps: where both edges are near, a second factor has to make good what the first
    one does. Without a setpoint the mark with the most good shots is moved, until there are enough.

    Parameters
    ----------
    whole : Study
        With all its marks.
    window : Window
        Over the marks that were kept.
    goodness : Goodness
    region : Region
    setpoint : Setpoint or None
        As found in that window.

    Returns
    -------
    frozenset of int
        Empty where all marks were kept, and where the setpoint would become no better than what is
        taken as equal.
    """
    start = best_mark(window) if setpoint is None else setpoint.mark
    if start is None or window.factors == whole.factors:
        return frozenset()
    here = np.array(window.settings_of_mark(start))
    if setpoint is None:
        best, enough = float(window.probability_good[start]), window.good_from
    else:
        best, enough = setpoint.probability_held, setpoint.probability_held + SAME
    while True:
        settings = _beside(whole, window, here)
        settings = settings[whole.allowed(settings) & region.holds(settings)]
        found = _best(settings, goodness, whole, best, held=setpoint is not None)
        if found is None:
            break
        here, best = found
    out = _out(window, here[None])[0] if best >= enough else ()
    return frozenset(np.flatnonzero(out).tolist())


def _best(
    settings: Array, goodness: Goodness, whole: Study, least: float, *, held: bool
) -> tuple[Array, float] | None:
    """Return the best of settings (n, k) and its chance; None where none is better."""
    best = None
    if not held:
        chances = goodness.probability_good(settings)
        if chances.size and chances.max() > least:
            best = settings[int(chances.argmax())], float(chances.max())
        return best
    asked = HeldSearch(goodness, whole.factors, least)
    for rows, worst in asked.among(settings):
        if worst.max() > asked.least:
            best = settings[rows[int(worst.argmax())]], float(worst.max())
            asked.least = best[1]
    return best


def _beside(whole: Study, window: Window, here: Array) -> Array:
    """Settings (n, k) with one or two factors moved to marks that lie next to where they are.

    None for whose sake more marks would have to be kept than a window can be looked for at.
    """
    moves = [
        (j, float(mark))
        for j, own in enumerate(whole.factors)
        for mark in own.marks
        if abs(mark - here[j]) < (AROUND + 0.5) * own.step
    ]
    pairs = [(one, other) for one, other in combinations(moves, 2) if one[0] < other[0]]
    settings = np.tile(here, (len(pairs), 1))
    for row, pair in zip(settings, pairs, strict=True):
        for j, mark in pair:  # one of them may well be where it is
            row[j] = mark
    own, kept = (np.array([f.count for f in study.factors]) for study in (whole, window))
    counts = np.where(_out(window, settings), own, kept)
    return np.asarray(settings[counts.prod(axis=1, dtype=float) <= MOST_MARKS])


def _out(window: Window, settings: Array) -> Flags:
    """Which of settings (n, k) are at marks that were left out."""
    off = np.abs(snap_settings(window.factors, settings) - settings)
    return np.asarray(off > 1e-6 * np.array([f.step for f in window.factors]))
