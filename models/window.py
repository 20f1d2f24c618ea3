"""Surfaces -> the window of good shots over the marks, its edges and its ranges."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.readings import Readings
from shotwindow.doe.study import Study
from shotwindow.models.goodness import Goodness
from shotwindow.models.thinning import mark_weights

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

LIKELY, SURE = 0.5, 0.9  # of the chance that a setting is in the window
CHUNK = 4096  # settings taken at a time, to keep memory flat
SLICE = 256  # of these, as many as the processor's cache holds with all draws
PILOT = 64  # draws that tell clear marks from open ones: those that differ most from the others
PROBES = 512  # marks at which that is seen
ENDS = 10  # draws at either end of a mark's shares that count as differing
CLEAR = 0.002
#: Shares of good shots that are asked for beside the wanted one, where they are stricter. Above
#: NORMAL_TO an answer hangs on the far tails of the scatter, which are taken as normal.
STRICTER = (0.95, 0.98, 0.99)
NORMAL_TO = 0.95


@dataclass(frozen=True)
class Stricter:
    """What is left of the window if more shots have to be good.

    Attributes
    ----------
    good_from : float
    share_likely, share_sure : float
        Of all allowed marks.
    """

    good_from: float
    share_likely: float
    share_sure: float


@dataclass(frozen=True)
class Region:
    """Where settings have been tried; no answer is given outside.

    Parameters
    ----------
    low, high : ndarray, shape (k,)
        Ends of the settings tried, in natural units.
    center : ndarray, shape (k,)
    root : ndarray, shape (k, k)
        ``(x - center) @ root`` has the squared length of the leverage of ``x`` in a model of
        straight lines.
    reach : float
        Largest such length of a tried setting (Montgomery, Peck and Vining, Introduction to Linear
        Regression Analysis, section 3.8, hidden extrapolation; from memory).
    """

    low: Array
    high: Array
    center: Array
    root: Array
    reach: float

    def holds(self, settings: Array) -> Flags:
        """Whether each of settings (n, k) lies where shots have been made."""
        tiny = 1e-9 * (1.0 + np.abs(self.high) + np.abs(self.low))
        inside = ((settings >= self.low - tiny) & (settings <= self.high + tiny)).all(axis=1)
        length = np.sqrt((((settings - self.center) @ self.root) ** 2).sum(axis=1))
        return np.asarray(inside & (length <= self.reach * 1.001 + 1e-9))


def tried_region(readings: Readings) -> Region:
    """Find where the fitted shots lie."""
    settings = readings.settings
    center = settings.mean(axis=0)
    _, sizes, basis = np.linalg.svd(settings - center, full_matrices=False)
    strong = sizes > 1e-9 * max(float(sizes[0]), 1e-300)
    root = np.zeros((settings.shape[1], settings.shape[1]))
    root[:, : int(strong.sum())] = basis[strong].T / sizes[strong]
    reach = np.sqrt((((settings - center) @ root) ** 2).sum(axis=1)).max()
    return Region(settings.min(axis=0), settings.max(axis=0), center, root, float(reach))


@dataclass(frozen=True)
class Window:
    """Chances of every mark.

    Parameters
    ----------
    factors : tuple of Factor, length k
    good_from : float
        Share of good shots from which a setting is in the window.
    probability_good, probability_in_window : ndarray, one axis a factor, one cell a mark
        Not a number where there is no answer.
    allowed, tried : ndarray of bool, of the same shape
        Whether a mark may be set, and whether shots have been made there.
    open_edges : tuple of str
        Responses of which no fitted shot lies beyond the limit.
    stricter : tuple of Stricter
        The same for demands that are stricter than `good_from`.
    weights : tuple of ndarray, one a factor, optional
        How many marks each one stands for, where they were thinned out; else one.
    """

    factors: tuple[Factor, ...]
    good_from: float
    probability_good: Array
    probability_in_window: Array
    allowed: Flags
    tried: Flags
    open_edges: tuple[str, ...]
    stricter: tuple[Stricter, ...] = ()
    weights: tuple[Array, ...] = ()

    @cached_property
    def likely(self) -> Flags:
        """Marks more likely in the window than not; those without an answer are not."""
        return np.asarray(self.probability_in_window >= LIKELY)

    @cached_property
    def sure(self) -> Flags:
        """Marks in the window with a chance of 0.9 or more."""
        return np.asarray(self.probability_in_window >= SURE)

    @property
    def share_likely(self) -> float:
        """Likely marks as a share of all allowed ones."""
        return _share(self.likely, self.allowed, self.weights)

    @property
    def share_sure(self) -> float:
        """Sure marks as a share of all allowed ones."""
        return _share(self.sure, self.allowed, self.weights)

    def settings_of(self, flat: NDArray[np.intp]) -> Array:
        """Settings (n, k) of marks numbered as in the flattened arrays."""
        return settings_at(self.factors, flat)

    def settings_of_mark(self, mark: tuple[int, ...]) -> tuple[float, ...]:
        """Settings of one mark, numbered along each axis."""
        return tuple(float(f.marks[m]) for f, m in zip(self.factors, mark, strict=True))

    def weights_of(self, flat: NDArray[np.intp]) -> Array:
        """How many marks each of some marks, numbered as above, stands for."""
        places = np.unravel_index(flat, self.allowed.shape)
        each = [w[p] for w, p in zip(self.weights, places, strict=False)]
        return np.asarray(np.prod(each, axis=0)) if each else np.ones(flat.size)


def settings_at(factors: tuple[Factor, ...], flat: NDArray[np.intp]) -> Array:
    """Settings (n, k) in natural units of marks numbered in C order."""
    places = np.unravel_index(flat, [f.count for f in factors])
    return np.column_stack([f.marks[p] for f, p in zip(factors, places, strict=True)])


def _share(flags: Flags, of: Flags, weights: tuple[Array, ...]) -> float:
    """Flagged marks as a share of others, those that they stand for counted."""
    if not weights:
        return float(flags.sum() / max(1, of.sum()))
    some, every = flags.astype(float), of.astype(float)
    for each in weights:
        some, every = (np.tensordot(each, left, axes=(0, 0)) for left in (some, every))
    return float(some) / max(1.0, float(every))


def open_edges(readings: Readings) -> tuple[str, ...]:
    """Responses of which no fitted shot lies beyond the limit, so that their edge is unknown."""
    short = (readings.fill_high <= readings.fill_good).any()
    if readings.flash_grade is not None:
        flashed = (readings.flash_grade > readings.flash_good).any()
    else:
        assert readings.flash_low is not None  # widths
        flashed = (readings.flash_low >= readings.flash_good).any()
    return tuple(n for n, seen in (("fill", short), ("flash", flashed)) if not seen)


def find_window(study: Study, readings: Readings, goodness: Goodness) -> Window:
    """Chances of every mark of a study.

    Parameters
    ----------
    study : Study
        Its marks are asked, those of k factors on k axes.
    readings : Readings
        Outside of where they were made there is no answer.
    goodness : Goodness
        Of the surfaces that were fitted to them.

    Examples
    --------
    Invented readings of a ladder of eleven shots, from short to flashed:

    >>> from shotwindow.doe.readings import readings
    >>> from shotwindow.doe.rows import Row
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.models.goodness import goodness
    >>> from shotwindow.models.surface import fit_surfaces
    >>> from shotwindow.models.window import find_window
    >>> text = "[factors.pressure]{n}unit = 'bar'{n}low = 3{n}high = 5{n}step = 0.1"
    >>> study = parse_study(text.format(n=chr(10)))
    >>> fill = (88, 90, 94, 98, 100, 100, 100, 100, 100, 100, 100)  # percent, by eye
    >>> flash = (0, 0, 0, 0, 0, 0, 0, 0.04, 0.1, 0.2, 0.3)  # mm
    >>> seen = readings(study, [
    ...     Row(n + 1, "", "", 1, "ladder", (3 + 0.2 * n,), (None,), (fill[n],), (flash[n],))
    ...     for n in range(11)
    ... ])
    >>> window = find_window(study, seen, goodness(fit_surfaces(seen)))
    >>> window.probability_good.shape, (window.probability_good[[0, 12, 20]] > 0.5).tolist()
    ((21,), [False, True, False])
    """
    factors = study.factors
    shape = tuple(f.count for f in factors)
    region = tried_region(readings)
    count = int(np.prod(shape))
    allowed, tried = np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
    for first in range(0, count, CHUNK):
        flat = np.arange(first, min(first + CHUNK, count))
        settings = settings_at(factors, flat)
        allowed[flat], tried[flat] = study.allowed(settings), region.holds(settings)

    weights = mark_weights(factors, goodness.surfaces.factors)
    wanted = (study.good_from, *(g for g in STRICTER if g > study.good_from))
    answers = np.full((count, 2), np.nan)
    inside = np.zeros((2, len(wanted), count), dtype=bool)  # marks that are likely, and sure
    asked = np.flatnonzero(allowed & tried)
    pilot = _pilot(goodness, settings_at(factors, asked[:: max(1, asked.size // PROBES)]))
    for first in range(0, asked.size, CHUNK):
        flat = asked[first : first + CHUNK]
        chances = _chances(goodness, pilot, settings_at(factors, flat), wanted)
        answers[flat] = chances[:, :2]
        inside[:, :, flat] = chances[:, 1:].T >= np.array([LIKELY, SURE])[:, None, None]
    answers, inside = answers.reshape(*shape, 2), inside.reshape(2, len(wanted), *shape)
    allowed = allowed.reshape(shape)
    return Window(
        factors=factors,
        good_from=study.good_from,
        probability_good=answers[..., 0],
        probability_in_window=answers[..., 1],
        allowed=allowed,
        tried=tried.reshape(shape),
        open_edges=open_edges(readings),
        stricter=tuple(
            Stricter(g, *(_share(flags[number], allowed, weights) for flags in inside))
            for number, g in enumerate(wanted[1:], start=1)
        ),
        weights=weights,
    )


def _pilot(goodness: Goodness, settings: Array) -> Goodness:
    """Return the draws that most often say most, or least, at some settings (n, k).

    Where even these agree the others do too: with many factors a few draws often stand apart, which
    draws taken as they come would miss.
    """
    parts = range(0, len(settings), SLICE)
    ends = [np.zeros(0, dtype=np.intp)]
    for first in parts:
        order = np.argsort(goodness.shares(settings[first : first + SLICE]), axis=1)
        ends += [order[:, :ENDS].ravel(), order[:, -ENDS:].ravel()]
    draws = goodness.surfaces.fill.coefficients.shape[0]
    often = np.bincount(np.concatenate(ends), minlength=draws)
    return goodness.of_draws(np.sort(np.argsort(-often, kind="stable")[:PILOT]))


def _chances(
    goodness: Goodness, pilot: Goodness, settings: Array, wanted: tuple[float, ...]
) -> Array:
    """Chance of a good shot, and to reach each of the wanted shares, of settings (n, k).

    Where the draws of the pilot all say that nearly every shot is good, or none, the others are not
    asked.

    Returns
    -------
    ndarray, shape (n, 1 + wanted)
    """
    some_say = pilot.shares(settings)
    good = (some_say > max(1.0 - CLEAR, *wanted)).all(axis=1)
    bad = (some_say < CLEAR).all(axis=1)
    answers = np.column_stack([some_say.mean(axis=1), *(good for _ in wanted)])
    open_marks = np.flatnonzero(~(good | bad))
    for first in range(0, open_marks.size, SLICE):
        some = open_marks[first : first + SLICE]
        shares = goodness.shares(settings[some])
        answers[some, 0] = shares.mean(axis=1)
        for place, share in enumerate(wanted, start=1):
            reached = _counted(shares >= np.float32(share)) / shares.shape[1]
            answers[some, place] = reached
            # what is not likely for one demand is not so for a stricter one
            some, shares = some[reached >= LIKELY], shares[reached >= LIKELY]
    return answers


def _counted(flags: Flags) -> Array:
    """How many flags of each row (n, draws) are true: a product counts twice as fast as numpy."""
    ones = np.ones(flags.shape[1], dtype=np.float32)  # whole numbers, hence exact
    return np.asarray(flags.astype(np.float32) @ ones, dtype=float)
