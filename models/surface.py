"""Readings -> the surfaces of fill, flash and other rejects, as draws from their posterior."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.readings import Readings
from shotwindow.doe.seeds import generator
from shotwindow.doe.terms import Terms
from shotwindow.models.cavity_slopes import draw_shaped
from shotwindow.models.posterior import Density
from shotwindow.models.responses import Response, observed, responses
from shotwindow.models.scales import Prior, following_fill, warp
from shotwindow.models.trust import Diagnostics

Array = NDArray[np.float64]

DRAWS = 400


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
    slope : ndarray, shape (draws, cavities, k) or (draws, cavities, 0)
        What a cavity has of its own in the first-order terms; of no factors where none has.
    own_slopes : float
        Chance that cavities have slopes of their own; 0 where the readings gave no reason to try.
    lot : ndarray, shape (draws, lots)
    shot_sd, rest_sd, group_sd : ndarray, shape (draws,)
        Scatter from shot to shot, between the cavities of a shot, and from group to group.
    grade_limits : ndarray, shape (draws, limits), or None
        Latent values that part the grades; None where the response is not graded.
    power : ndarray, shape (draws,)
        Power of a flash width on the latent scale; ones where no width was measured.
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
    slope: Array
    own_slopes: float
    lot: Array
    shot_sd: Array
    rest_sd: Array
    group_sd: Array
    grade_limits: Array | None
    power: Array
    prior: Prior
    diagnostics: Diagnostics

    def design(self, settings: Array) -> Array:
        """Terms of the surface at settings (..., k) in natural units, shape (..., p)."""
        return self.terms.matrix(warp(self.factors, settings))

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
        return np.asarray(self.design(settings) @ self.coefficients.T)

    def offsets(self, settings: Array) -> Array:
        """How far each cavity lies above the surface.

        Parameters
        ----------
        settings : ndarray, shape (n, k)
            Natural units.

        Returns
        -------
        ndarray, shape (n or 1, draws, cavities)
            One row for all settings where cavities run in parallel.
        """
        if not self.slope.shape[2]:
            return self.cavity[None]
        own = np.einsum("nk,dck->ndc", warp(self.factors, settings), self.slope)
        return np.asarray(self.cavity + own)

    def worst(self, settings: Array) -> Array:
        """How far the worst cavity lies above the surface, (n or 1, draws); see `offsets`."""
        each = self.offsets(settings)
        return np.asarray(each.min(axis=-1) if self.above else each.max(axis=-1))

    def of_draws(self, rows: NDArray[np.intp]) -> "Surface":
        """Return the same for some of the draws only."""
        each = ("coefficients", "cavity", "slope", "lot", "shot_sd", "rest_sd", "group_sd", "power")
        some = {name: getattr(self, name)[rows] for name in each}
        limits = None if self.grade_limits is None else self.grade_limits[rows]
        return replace(self, grade_limits=limits, **some)


@dataclass(frozen=True)
class Suspect:
    """A reading that may be a slip of the pen.

    Parameters
    ----------
    response : str
        "fill", "flash" or "other".
    shot : int
        Its number on the run sheet.
    column : int
        From zero, among those that were read: a cavity, or the worst of all.
    chance : float
        That it is a slip; it counts in the surfaces by what is left of it.
    low : bool
        Whether it lies below what the other readings foretell.
    """

    response: str
    shot: int
    column: int
    chance: float
    low: bool


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
    suspects : tuple of Suspect
        Readings that may be slips of the pen, those of fill first.
    """

    fill: Surface
    flash: Surface
    other: Surface | None
    lots: tuple[str, ...]
    groups: int
    group_freedom: int
    suspects: tuple[Suspect, ...] = ()

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


def _fit(
    readings: Readings, response: Response, *, seed: int, draws: int, simulated: bool
) -> tuple[Surface, tuple[Suspect, ...]]:
    data = observed(readings, response.terms, response.latent)
    density, rng = Density(data, response.prior), generator(seed, "surface", response.name)
    any_reading = response.any_reading[data.shot, data.cavity]
    settings = 0 if simulated else len(readings.factors)
    drawn = draw_shaped(
        density, any_reading, rng, settings=settings, draws=draws, doubting=not simulated
    )
    suspects = tuple(
        Suspect(
            response.name,
            int(readings.shot[data.shot[slip.row]]),
            int(data.cavity[slip.row]),
            slip.chance,
            slip.low,
        )
        for slip in drawn.slips
    )
    named = drawn.named
    surface = Surface(
        response=response.name,
        factors=readings.factors,
        terms=response.terms,
        limit=response.limit,
        above=response.name == "fill",
        coefficients=named["surface"],
        cavity=named["cavity"],
        slope=named["slope"],
        own_slopes=drawn.own_slopes,
        lot=named["lot"],
        shot_sd=named["shot_sd"],
        rest_sd=named["rest_sd"],
        group_sd=named["group_sd"],
        grade_limits=named["gaps"] @ response.latent.limits.T if response.latent.cuts else None,
        power=named["power"],
        prior=response.prior,
        diagnostics=drawn.diagnostics,
    )
    return surface, suspects


def fit_surfaces(
    readings: Readings,
    *,
    seed: int = 1,
    signs: bool = True,
    draws: int = DRAWS,
    simulated: bool = False,
) -> Surfaces:
    """Fit all surfaces of a study.

    Parameters
    ----------
    readings : Readings
        At least one fitted shot.
    seed : int
        Seed of the draws.
    signs : bool
        Whether more pressure, heat or time is taken to fill and to flash more, softly, and the
        effects on flash to be in proportion to those on fill.
    draws : int
        How many draws of each surface to keep.
    simulated : bool
        Whether a simulated press made the readings: then neither slips of the pen nor cavities with
        slopes of their own are looked for, since there are none.

    Returns
    -------
    Surfaces
        With ``converged`` false where the draws may not be used.
    """
    fill, *others = responses(readings, signs=signs)
    fitted = [_fit(readings, fill, seed=seed, draws=draws, simulated=simulated)]
    for response in others:
        if signs and response.name == "flash":
            known = fitted[0][0].coefficients
            prior = following_fill(
                response.prior, response.terms, known.mean(axis=0), known.std(axis=0)
            )
            response = replace(response, prior=prior)
        fitted.append(_fit(readings, response, seed=seed, draws=draws, simulated=simulated))
    return Surfaces(
        fill=fitted[0][0],
        flash=fitted[1][0],
        other=fitted[2][0] if len(fitted) > 2 else None,
        lots=tuple(str(lot) for lot in np.unique(readings.lot)),
        groups=int(np.unique(readings.group).size),
        group_freedom=group_freedom(readings),
        suspects=tuple(suspect for _, suspects in fitted for suspect in suspects),
    )
