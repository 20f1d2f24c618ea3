"""Small posterior densities that several tests share."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from shotwindow.models.given_scales import rest_prior
from shotwindow.models.posterior import Density, Observed
from shotwindow.models.scales import Prior

Array = NDArray[np.float64]
Whole = NDArray[np.intp]


def prior(terms: int, **changes: float) -> Prior:
    """Unit normal coefficients with fixed scales, unless changed."""
    values = {
        "intercept_mean": 0.0, "intercept_sd": 1.0, "effect": 1.0, "effect_spread": 1e-7,
        "scatter": 0.5, "scatter_spread": 1e-7, "cavity_sd": 0.4, "lot_sd": 0.3,
        "group_ratio": 0.8, "cavity_ratio": 0.6, "ratio_spread": 1e-7,
    } | changes  # fmt: skip
    return Prior(mean=np.zeros(terms - 1), sd=np.ones(terms - 1), second=None, **values)


def bending(what: Prior, last: int) -> Prior:
    """Take the last terms for those of second order."""
    return replace(what, second=np.arange(what.mean.size) >= what.mean.size - last)


def density(
    design: Array,
    low: Array,
    high: Array,
    what: Prior,
    *,
    group: Whole | None = None,
    lot: Whole | None = None,
) -> Density:
    """Readings (shots, cavities) of the design (shots, terms)."""
    shots, cavities = low.shape
    shot, cavity = (a.ravel() for a in np.indices(low.shape))
    none = np.zeros((shot.size, 0))
    groups = np.zeros(shots, np.intp) if group is None else group
    lots = np.zeros(shots, np.intp) if lot is None else lot
    return Density(
        Observed(
            design=design[shot], low=low.ravel(), high=high.ravel(), low_gaps=none, high_gaps=none,
            cavity=cavity, lot=lots[shot], group=groups[shot], shot=shot, cavities=cavities,
            lots=int(lots.max()) + 1, groups=0 if group is None else int(groups.max()) + 1,
            shots=shots,
        ),
        what,
    )  # fmt: skip


def most_probable(what: Density, scales: Array) -> Array:
    """Rest of the parameters where the density is highest for one column of scales, by scipy."""
    (mean,), (precision,) = rest_prior(what, scales)
    log, rows = what.logs(scales), what.rows
    ends, sd = what.ends(log), np.exp(log["scatter"] + log["cavity_ratio"])

    def value(rest: Array) -> float:
        fit = what.likelihood(rows @ rest[:, None], ends, sd)
        return float(0.5 * (precision * (rest - mean) ** 2).sum() - fit.log_probability.sum())

    def slope(rest: Array) -> Array:
        fit = what.likelihood(rows @ rest[:, None], ends, sd)
        return np.asarray(precision * (rest - mean) - fit.eta[:, 0] @ rows)

    def second(rest: Array) -> Array:
        fit = what.likelihood(rows @ rest[:, None], ends, sd)
        weight = fit.eta**2 - fit.log_sigma / sd**2
        return np.asarray(rows.T @ (weight * rows) + np.diag(precision))

    best = minimize(
        value, mean, jac=slope, hess=second, method="trust-exact", options={"gtol": 1e-8}
    )
    return np.asarray(best.x)
