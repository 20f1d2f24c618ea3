"""Fitted shots -> how far the answer hangs on the prior, and where prior and shots are in conflict.

Each effect is told by both priors, beside least squares, which is the data alone. A conflict is an
effect that lies far out in what the molding prior expects to be seen: the prior-predictive check
of Box (1980) and of Evans and Moshonov (2006), both from memory. Its measure is the distance of the
effect under the weak prior from the one that the molding prior expects, in standard deviations of
both together. What is expected is relative to the size of all effects on the response, since that
size is learned from the shots: the check asks for the direction of an effect and its share in the
whole, so that a mold on which every setting does much is no conflict.

On 20 simulated presses of each family, four settings, plans of 12 and of 20 shots, whose settings
all act as the molding prior expects, none of 640 effects was called a conflict. With the pressure
written down the wrong way round in all shots its effect on fill was named in 80 studies of 80, and
one of 560 other effects with it (tests/benchmarks/conflicts.py). Two is taken from the
textbook and was not tuned; flash has no conflict there, since it follows fill.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.surface import Surface
from shotwindow.reports.changes import Change, changes, middle_of, seen, step_of
from shotwindow.reports.fitted import Fitted
from shotwindow.reports.priors import MOLDING, PRIORS, WEAK, other_prior

Array = NDArray[np.float64]

FAR = 2.0  # standard deviations from which an effect is in conflict with the prior


@dataclass(frozen=True)
class Conflict:
    """An effect that is not what the molding prior expects.

    Attributes
    ----------
    molding, weak : Change
        The effect by either prior.
    expected : float
        What the molding prior expects, in the unit of the changes.
    distance : float
        From what is expected to the effect under the weak prior, in standard deviations.
    pulled : bool
        Whether the molding prior moves the effect by more than the standard deviation that it has
        under the weak one: the answer then hangs on the prior.
    """

    molding: Change
    weak: Change
    expected: float
    distance: float
    pulled: bool


def by_prior(found: Fitted, response: str) -> dict[str, Surface]:
    """Return a surface as fitted with each prior, as far as it was, and converged."""
    both = {found.prior: found.surfaces, other_prior(found.prior): found.beside}
    told = [(prior, both[prior]) for prior in PRIORS]
    each = {
        prior: next(s for s in surfaces.each if s.response == response)
        for prior, surfaces in told
        if surfaces is not None
    }
    return {prior: surface for prior, surface in each.items() if surface.diagnostics.converged}


def effects_by_prior(found: Fitted) -> dict[str, dict[str, tuple[Change, ...]]]:
    """Return what each setting does, response by response and prior by prior."""
    return {
        s.response: {p: changes(found, fit) for p, fit in by_prior(found, s.response).items()}
        for s in found.surfaces.each
    }


def conflicts(found: Fitted, response: str) -> tuple[Conflict, ...]:
    """Return the effects on a response that the molding prior did not expect, the farthest first.

    None are told where a fit did not converge.
    """
    both = by_prior(found, response)
    if len(both) < len(PRIORS):
        return ()
    molding, weak = both[MOLDING], both[WEAK]
    far, expected = distances(molding, weak)
    told = []
    for j in np.argsort(-np.abs(far)):
        if abs(far[j]) <= FAR:
            break
        own, other = (surface.coefficients[:, 1 + j] for surface in (molding, weak))
        told.append(
            Conflict(
                molding=changes(found, molding)[j],
                weak=changes(found, weak)[j],
                expected=_expected(found, molding, int(j), float(expected[j])),
                distance=float(abs(far[j])),
                pulled=bool(abs(own.mean() - other.mean()) > other.std()),
            )
        )
    return tuple(told)


def distances(molding: Surface, weak: Surface) -> tuple[Array, Array]:
    """Return how far each first-order effect lies from what the molding prior expects.

    Parameters
    ----------
    molding, weak : Surface
        The same response, fitted with either prior.

    Returns
    -------
    far : ndarray, shape (k,)
        In standard deviations of prior and weak fit together, with the sign of the difference;
        zero where the prior expects no direction.
    expected : ndarray, shape (k,)
        Coefficients that the molding prior expects, in latent units.
    """
    k = len(molding.factors)
    mean, sd = molding.prior.mean[:k], molding.prior.sd[:k]
    effects = weak.coefficients[:, 1 : k + 1]
    # the size that the prior would need for effects as large as these are, all together
    size = np.sqrt((effects**2).sum(axis=1) / (mean**2 + sd**2).sum())[:, None]
    off = effects - size * mean
    far = off.mean(axis=0) / np.sqrt(off.var(axis=0) + (size**2).mean() * sd**2)
    return np.where(mean == 0.0, 0.0, far), np.median(size * mean, axis=0)


def _expected(found: Fitted, surface: Surface, j: int, coefficient: float) -> float:
    """Return a coefficient as an effect in the middle of the study, as `changes` tells it."""
    row = np.zeros_like(surface.coefficients)
    row[:, 1 + j] = coefficient
    alone = replace(surface, coefficients=row)
    return float(np.median(seen(found, surface, step_of(alone, middle_of(found), j))))
