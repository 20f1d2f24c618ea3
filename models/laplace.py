"""A posterior density -> the most probable scales, and the rest given scales.

Given the scales (scatters, effect size, gaps between grade limits) the rest is log-concave, so that
Newton steps find its one maximum and its curvature there. Integrating the rest out by that normal
shape leaves a density of the few scales alone, whose maximum, unlike that of all parameters
together, does not run off to vanishing scatter (Tierney and Kadane, J. Amer. Statist. Assoc. 81,
1986, 82-86; Rue, Martino and Chopin, J. R. Statist. Soc. B 71, 2009, 319-392; both from memory).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.posterior import Density

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Given:
    """The rest of the parameters given columns of scales.

    Parameters
    ----------
    rest : ndarray, shape (columns, size)
        Most probable surface, cavities, lots, group and shot effects.
    curvature : ndarray, shape (columns, size, size)
        Negative second derivatives there.
    log_marginal : ndarray, shape (columns,)
        Log density of the scales, the rest integrated out by its normal shape.
    """

    rest: Array
    curvature: Array
    log_marginal: Array


def rest_prior(density: Density, scales: Array) -> tuple[Array, Array]:
    """Mean and precision of the rest given scales, each of shape (columns, size)."""
    prior, parts, columns = density.prior, density.parts, scales.shape[1]
    mean, precision = np.zeros((columns, density.rest)), np.zeros((columns, density.rest))
    log = density.logs(scales)
    surface = parts["surface"]
    mean[:, surface.start] = prior.intercept_mean
    precision[:, surface.start] = prior.intercept_sd**-2.0
    effect = np.exp(log["effect"])[:, None]
    mean[:, surface.start + 1 : surface.stop] = effect * prior.mean
    bend = np.exp(log["bend"][:, None] * density.second)
    precision[:, surface.start + 1 : surface.stop] = 1.0 / (effect * bend * prior.sd) ** 2
    precision[:, parts["cavity"]] = prior.cavity_sd**-2.0
    precision[:, parts["slope"]] = 1.0 / (effect * prior.cavity_slope) ** 2
    precision[:, parts["lot"]] = prior.lot_sd**-2.0
    precision[:, parts["group"]] = np.exp(-2.0 * (log["scatter"] + log["group_ratio"]))[:, None]
    precision[:, parts["shot"]] = np.exp(-2.0 * log["scatter"])[:, None]
    return mean, precision


def given(density: Density, scales: Array, start: Array, *, steps: int = 25) -> Given:
    """Find the rest for every column of scales at once, by Newton steps.

    Parameters
    ----------
    density : Density
    scales : ndarray, shape (scales, columns)
        The parameters that are logarithms.
    start : ndarray, shape (columns, size)
    steps : int
        The most steps taken.
    """
    mean, precision = rest_prior(density, scales)
    log = density.logs(scales)
    ends, sd = density.ends(log), np.exp(log["scatter"] + log["cavity_ratio"])
    rows, rest = density.rows, start.copy()
    diagonal = np.arange(density.rest)

    def value(at: Array) -> Array:
        fit = density.likelihood(rows @ at.T, ends, sd)
        return np.asarray(
            fit.log_probability.sum(axis=0) - 0.5 * (precision * (at - mean) ** 2).sum(axis=1)
        )

    now, length = value(rest), np.ones(rest.shape[0])
    for _ in range(steps):
        fit = density.likelihood(rows @ rest.T, ends, sd)
        weight = np.maximum(fit.eta**2 - fit.log_sigma / sd**2, 0.0).T  # (columns, readings)
        curvature = rows.T @ (weight[:, :, None] * rows)
        curvature[:, diagonal, diagonal] += precision
        slope = fit.eta.T @ rows - precision * (rest - mean)
        step = np.linalg.solve(curvature, slope[:, :, None])[:, :, 0]
        tried = rest + length[:, None] * step
        then = value(tried)
        better = then >= now - 1e-10
        gain = np.where(better, then - now, np.inf)
        rest, now = np.where(better[:, None], tried, rest), np.where(better, then, now)
        length = np.where(better, np.minimum(1.0, 2.0 * length), 0.25 * length)
        if gain.max() < 1e-4:
            break
    away = (scales - density.log_median[:, None]) / density.log_spread[:, None]
    marginal = now - 0.5 * (away**2).sum(axis=0)
    marginal += 0.5 * np.log(precision).sum(axis=1) - 0.5 * np.linalg.slogdet(curvature)[1]
    return Given(rest, curvature, marginal)


@dataclass(frozen=True)
class Peak:
    """Most probable scales, the rest there, and a square root of the scales' covariance."""

    scales: Array
    rest: Array
    root: Array


def _stencil(size: int, step: float) -> tuple[Array, list[tuple[int, int]]]:
    """Points around zero from which slopes and second derivatives follow, shape (size, points)."""
    unit = step * np.eye(size)
    pairs = [(i, j) for i in range(size) for j in range(i)]
    crossed = [unit[i] + unit[j] for i, j in pairs] + [-unit[i] - unit[j] for i, j in pairs]
    return np.array([np.zeros(size), *unit, *(-unit), *crossed]).T, pairs


def _derivatives(values: Array, step: float, pairs: list[tuple[int, int]]) -> tuple[Array, Array]:
    size = int(np.sqrt(values.size))  # 1 + size + size**2 points
    center, up, down = values[0], values[1 : 1 + size], values[1 + size : 1 + 2 * size]
    slope = (up - down) / (2.0 * step)
    second = np.diag((up + down - 2.0 * center) / step**2)
    crossed = values[1 + 2 * size :].reshape(2, -1)
    for k, (i, j) in enumerate(pairs):
        both = crossed[0, k] + crossed[1, k] - up[i] - down[i] - up[j] - down[j] + 2.0 * center
        second[i, j] = second[j, i] = both / (2.0 * step**2)
    return slope, second


def peak(density: Density) -> Peak:
    """Newton steps on the marginal density of the scales, by differences."""
    spread, step = np.minimum(density.log_spread, 1.0), 0.1
    stencil, pairs = _stencil(spread.size, step)
    scales = density.log_median.copy()
    rest = rest_prior(density, scales[:, None])[0]
    reached = -np.inf
    for _ in range(20):
        points = scales[:, None] + spread[:, None] * stencil
        found = given(density, points, np.broadcast_to(rest, (points.shape[1], density.rest)))
        slope, second = _derivatives(found.log_marginal, step, pairs)
        roots, basis = np.linalg.eigh(-second)
        gain, reached = found.log_marginal[0] - reached, found.log_marginal[0]
        rest = found.rest[:1]
        move = basis @ ((basis.T @ slope) / np.clip(np.abs(roots), 0.3, None))
        move *= min(1.0, 1.5 / max(float(np.linalg.norm(move)), 1e-12))
        if gain < 0:  # the last step went too far: on to the best point nearby
            move = stencil[:, int(np.argmax(found.log_marginal))]
        if abs(gain) < 0.02 or np.linalg.norm(move) < 0.05:
            break
        scales = scales + spread * move
    # flatter than the prior is not possible but for rounding
    return Peak(scales, rest, spread[:, None] * basis / np.sqrt(np.clip(roots, 0.7, None)))
