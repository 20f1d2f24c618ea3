"""Surfaces made up for tests: straight lines in coded settings with a known spread of draws."""

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.terms import first_order
from shotwindow.models.surface import Surface, Surfaces
from shotwindow.models.trust import Diagnostics


def surface(
    name: str,
    factors: tuple[Factor, ...],
    center: list[float],
    *,
    draws: int = 200,
    spread: float = 0.02,
    scatter: float = 0.02,
) -> Surface:
    """Return a surface with one cavity whose draws spread around a straight line."""
    terms = first_order(tuple(f.name for f in factors))
    rng = np.random.default_rng(len(name) + len(factors))
    coefficients = np.array(center) + rng.normal(0, spread, (draws, len(terms)))
    ones: NDArray[np.float64] = np.ones(draws)
    return Surface(
        response=name, factors=factors, terms=terms, limit=0.0,
        above=name == "fill", coefficients=coefficients, cavity=np.zeros((draws, 1)),
        slope=np.zeros((draws, 1, 0)), own_slopes=0.0,
        lot=np.zeros((draws, 1)), shot_sd=scatter * ones, rest_sd=0 * ones, group_sd=0 * ones,
        grade_limits=None, power=0.5 * ones, prior=None,  # type: ignore[arg-type] # not used
        diagnostics=Diagnostics(300.0, 0.3, 1),
    )  # fmt: skip


def surfaces(fill: Surface, flash: Surface) -> Surfaces:
    """Return both as the surfaces of a study in one lot."""
    return Surfaces(fill, flash, None, ("L1",), 1, 0)
