"""Readings -> the surfaces of fill, flash and other rejects, as draws from their posterior."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.readings import Readings
from shotwindow.doe.seeds import generator
from shotwindow.doe.terms import Terms, first_order, full_quadratic
from shotwindow.models.drawing import Diagnostics, draw
from shotwindow.models.posterior import Density, Observed
from shotwindow.models.scales import (
    Prior,
    fill_latent,
    fill_prior,
    flash_latent,
    flash_prior,
    grade_prior,
    warp,
)

Array = NDArray[np.float64]

GRADE_LIMITS = 3  # between the grades 0, 1, 2 and 3
DRAWS = 512


@dataclass(frozen=True)
class Surface:
    """One response over the settings: draws of a polynomial, of offsets and of scatter.

    Parameters
    ----------
    response : str
        "fill", "flash" or "other".
    factors : tuple of Factor, length k
    terms : Terms
        In the coded settings of :func:`shotwindow.models.scales.warp`.
    limit : float
        Latent value that parts good from bad.
    above : bool
        Whether good lies at and above the limit.
    coefficients : ndarray, shape (draws, terms)
    cavity : ndarray, shape (draws, cavities)
    lot : ndarray, shape (draws, lots)
    shot_sd, rest_sd, group_sd : ndarray, shape (draws,)
        Scatter from shot to shot, between the cavities of a shot, and from group to group.
    prior : Prior
        What was believed before the shots.
    diagnostics : Diagnostics
        Whether the draws may be used.
    """

    response: str
    factors: tuple[Factor, ...]
    terms: Terms
    limit: float
    above: bool
    coefficients: Array
    cavity: Array
    lot: Array
    shot_sd: Array
    rest_sd: Array
    group_sd: Array
    prior: Prior
    diagnostics: Diagnostics

    def latent(self, settings: Array) -> Array:
        """Latent value of the surface, without offsets and scatter.

        Parameters
        ----------
        settings : ndarray, shape (..., k)
            Natural units.

        Returns
        -------
        ndarray, shape (..., draws)
        """
        return np.asarray(self.terms.matrix(warp(self.factors, settings)) @ self.coefficients.T)


@dataclass(frozen=True)
class Surfaces:
    """All surfaces of one study; a shot is good when it is good on each.

    Parameters
    ----------
    fill, flash : Surface
    other : Surface or None
        Rejects for another reason; None when none ever occurred.
    lots : tuple of str
        Names of the lots of material that were shot.
    groups : int
        How many temperature groups were shot.
    group_freedom : int
        Degrees of freedom left for the scatter between groups: below three it is assumed, not
        measured. Zero where no setting is slow.
    """

    fill: Surface
    flash: Surface
    other: Surface | None
    lots: tuple[str, ...]
    groups: int
    group_freedom: int

    @property
    def each(self) -> tuple[Surface, ...]:
        """The surfaces there are."""
        return tuple(s for s in (self.fill, self.flash, self.other) if s is not None)

    @property
    def factors(self) -> tuple[Factor, ...]:
        """The factors of the study."""
        return self.fill.factors

    @property
    def converged(self) -> bool:
        """Whether all draws may be used."""
        return all(s.diagnostics.converged for s in self.each)


@dataclass(frozen=True)
class _Latent:
    """Readings of one response on its latent scale, each (shots, cavities); grades by number."""

    low: Array
    high: Array
    low_cut: NDArray[np.intp] | None = None
    cuts: int = 0
    good: int = 0


def observed(readings: Readings, terms: Terms, latent: _Latent) -> Observed:
    """Bring readings of one response into the rows that the density takes."""
    shots, cavities = latent.low.shape
    known = np.isfinite(latent.low) | np.isfinite(latent.high)
    if latent.low_cut is not None:
        known = latent.low_cut >= 0
    shot, cavity = np.nonzero(known)
    design = terms.matrix(warp(readings.factors, readings.settings))
    slow = any(f.is_slow for f in readings.factors)
    groups = np.unique(readings.group)
    low, high, low_gaps, high_gaps = _ends(latent, shot, cavity)
    return Observed(
        design=design[shot],
        low=low,
        high=high,
        low_gaps=low_gaps,
        high_gaps=high_gaps,
        cavity=cavity,
        lot=np.unique(readings.lot, return_inverse=True)[1][shot],
        group=np.searchsorted(groups, readings.group)[shot],
        shot=shot,
        cavities=cavities,
        lots=np.unique(readings.lot).size,
        groups=groups.size if slow else 0,
        shots=shots,
    )


def _ends(
    latent: _Latent, shot: NDArray[np.intp], cavity: NDArray[np.intp]
) -> tuple[Array, Array, Array, Array]:
    """Fixed parts and multiples of the gaps for the ends of each reading."""
    if latent.low_cut is None:
        none = np.zeros((shot.size, 0))
        return latent.low[shot, cavity], latent.high[shot, cavity], none, none
    grade = latent.low_cut[shot, cavity]
    # limit k lies at the sum of the gaps between it and the limit of a good shot, which is at zero
    steps = np.tril(np.ones((latent.cuts, latent.cuts - 1)), -1)
    limits = steps - steps[latent.good]
    ends = []
    for number, open_end in ((grade - 1, -np.inf), (grade, np.inf)):
        inside = (number >= 0) & (number < latent.cuts)
        gaps = np.where(inside[:, None], limits[np.clip(number, 0, latent.cuts - 1)], 0.0)
        ends.append((np.where(inside, 0.0, open_end), gaps))
    return ends[0][0], ends[1][0], ends[0][1], ends[1][1]


def group_freedom(readings: Readings) -> int:
    """Degrees of freedom for scatter between groups: groups less the slow settings told apart.

    A straight line in each slow factor is taken as known to be there, as in the analysis of group
    means; two groups with the same slow settings always leave one.
    """
    slow = [j for j, f in enumerate(readings.factors) if f.is_slow]
    if not slow:
        return 0
    first = [int(np.flatnonzero(readings.group == g)[0]) for g in np.unique(readings.group)]
    settings = warp(readings.factors, readings.settings)[np.ix_(first, slow)]
    distinct = len(np.unique(settings.round(9), axis=0))
    model = np.column_stack([np.ones(len(first)), settings])
    return len(first) - min(int(np.linalg.matrix_rank(model)), distinct)


@dataclass(frozen=True)
class _Response:
    """What is fitted for one response."""

    name: str
    terms: Terms
    latent: _Latent
    prior: Prior
    limit: float


def _responses(readings: Readings, signs: bool) -> tuple[_Response, ...]:
    factors = readings.factors
    names = tuple(f.name for f in factors)
    terms = full_quadratic(names)
    fill = _Response(
        "fill",
        terms,
        _Latent(fill_latent(readings.fill_low), fill_latent(readings.fill_high)),
        fill_prior(terms, factors, signs=signs),
        float(fill_latent(np.array(readings.fill_good))),
    )
    if readings.flash_grade is not None:
        grades = _graded(readings.flash_grade, GRADE_LIMITS, int(readings.flash_good))
        flash = _Response(
            "flash", terms, grades, grade_prior(terms, factors, signs=signs), limit=0.0
        )
    else:
        assert readings.flash_low is not None and readings.flash_high is not None  # widths
        flash = _Response(
            "flash",
            terms,
            _Latent(flash_latent(readings.flash_low), flash_latent(readings.flash_high)),
            flash_prior(terms, factors, readings.flash_good, signs=signs),
            float(np.sqrt(readings.flash_good)),
        )
    if readings.other is None:
        return fill, flash
    # rejects of many kinds, too few for second-order terms; which way they go is not known
    line = first_order(names)
    rejects = _graded(readings.other[:, None].astype(np.intp), 1, 0)
    other = _Response("other", line, rejects, grade_prior(line, factors, signs=False), limit=0.0)
    return fill, flash, other


def _graded(grade: NDArray[np.intp], cuts: int, good: int) -> _Latent:
    nothing = np.full(grade.shape, np.nan)
    return _Latent(nothing, nothing, grade, cuts, good)


def _fit(readings: Readings, response: _Response, *, seed: int, draws: int) -> Surface:
    density = Density(observed(readings, response.terms, response.latent), response.prior)
    drawn = draw(density, generator(seed, "surface", response.name), draws=draws)
    named = density.named(drawn.states)
    return Surface(
        response=response.name,
        factors=readings.factors,
        terms=response.terms,
        limit=response.limit,
        above=response.name == "fill",
        coefficients=named["surface"],
        cavity=named["cavity"],
        lot=named["lot"],
        shot_sd=named["shot_sd"],
        rest_sd=named["rest_sd"],
        group_sd=named["group_sd"],
        prior=response.prior,
        diagnostics=drawn.diagnostics,
    )


def fit_surfaces(
    readings: Readings, *, seed: int = 1, signs: bool = True, draws: int = DRAWS
) -> Surfaces:
    """Fit all surfaces of a study.

    Parameters
    ----------
    readings : Readings
        At least one fitted shot.
    seed : int
        Seed of the draws.
    signs : bool
        Whether more pressure, heat or time is taken to fill and to flash more, softly.
    draws : int
        How many draws of each surface to keep.

    Returns
    -------
    Surfaces
        With ``converged`` false where the draws may not be used.
    """
    fitted = [
        _fit(readings, response, seed=seed, draws=draws) for response in _responses(readings, signs)
    ]
    return Surfaces(
        fill=fitted[0],
        flash=fitted[1],
        other=fitted[2] if len(fitted) > 2 else None,
        lots=tuple(str(lot) for lot in np.unique(readings.lot)),
        groups=int(np.unique(readings.group).size),
        group_freedom=group_freedom(readings),
    )
