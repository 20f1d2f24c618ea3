"""A trial -> what textbook methods make of the same readings: least squares, a Gaussian process.

Both take one number a shot for each response, as is usual: the fill of the emptiest cavity, 100
where it is full, and the widest flash, 0 where none is seen.
"""

import warnings
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from benchmarks.trials import Flags, Found, Trial, line_through, stretch
from numpy.typing import NDArray
from scipy.special import ndtr, stdtr

from shotwindow.doe.factors import coded_settings
from shotwindow.doe.readings import Readings
from shotwindow.doe.terms import model_terms
from shotwindow.models.window import LIKELY, SURE, settings_at

Array = NDArray[np.float64]

AT_ONCE = 16_384  # settings
SAME = 0.005  # chances this close are taken as equal
Z_GOOD = 1.2816  # nine in ten of a normal distribution lie below


class Belief(NamedTuple):
    """What a method holds of settings (n, k): (n,) each."""

    stated: Array  # chance of a good shot
    likely: Flags
    sure: Flags


Believe = Callable[[Array], Belief]


def raw(readings: Readings) -> tuple[Array, Array]:
    """Return fill in percent and flash in mm of every shot, as written down, (n,) each."""
    low, high = readings.fill_low, readings.fill_high
    with np.errstate(invalid="ignore"):  # both ends open
        fill = np.where(np.isinf(low), high, 0.5 * (low + high))
    fill = np.where(np.isinf(high), 100.0, fill)
    assert readings.flash_low is not None and readings.flash_high is not None  # widths
    seen = np.isfinite(readings.flash_low)
    flash = np.where(seen, 0.5 * (readings.flash_low + readings.flash_high), 0.0)
    return fill.min(axis=1), flash.max(axis=1)


def least_squares(trial: Trial) -> Found:
    """Fit the polynomial of the plan, a full quadratic from 16 shots on, by least squares.

    The window is where predicted fill and flash are within their limits; the setpoint is the mark
    in its middle.
    """
    import statsmodels.api as sm

    study, readings = trial.study, trial.readings
    terms = model_terms(trial.plan.model, study.names)
    matrix = terms.matrix(coded_settings(study.factors, readings.settings))
    fits = [sm.OLS(response, matrix).fit() for response in raw(readings)]
    limits = (readings.fill_good, readings.flash_good)

    def believe(settings: Array) -> Belief:
        rows = terms.matrix(coded_settings(study.factors, settings))
        stated, sure, likely = np.ones(len(rows)), np.ones(len(rows)), np.ones(len(rows), bool)
        for fit, limit, sign in zip(fits, limits, (1.0, -1.0), strict=True):
            room = sign * (rows @ fit.params - limit)
            scale = max(float(fit.scale), 1e-12)
            mean = scale * np.einsum("ij,jk,ik->i", rows, fit.normalized_cov_params, rows)
            stated *= stdtr(fit.df_resid, room / np.sqrt(mean + scale))
            sure *= stdtr(fit.df_resid, room / np.sqrt(mean))
            likely &= room >= 0
        return Belief(stated, likely, likely & (sure >= SURE))

    return found(trial, believe, _window)


def gaussian_process(trial: Trial) -> Found:
    """Fit a Gaussian process (Matern 5/2, a length for each factor) to each response.

    The window is where a shot is more likely good than not: with the chance that a study asks for,
    0.9, it finds less than half as much. The setpoint is the mark with the highest chance, the
    middle one where several are as good.
    """
    factors, readings = trial.study.factors, trial.readings
    coded = coded_settings(factors, readings.settings)
    fits = [_process(coded, response, trial.seed) for response in raw(readings)]
    limits = (readings.fill_good, readings.flash_good)

    def believe(settings: Array) -> Belief:
        at = coded_settings(factors, settings)
        stated, sure = np.ones(len(at)), np.ones(len(at))
        for fit, limit, sign in zip(fits, limits, (1.0, -1.0), strict=True):
            mean, deviation = fit.predict(at)
            room = sign * (mean - limit)
            latent = np.sqrt(np.maximum(deviation**2 - fit.noise**2, 1e-12))
            stated *= ndtr(room / deviation)
            sure *= ndtr((room - Z_GOOD * fit.noise) / latent)
        return Belief(stated, stated >= LIKELY, sure >= SURE)

    return found(trial, believe, _most_chance)


class _Process(NamedTuple):
    predict: Callable[[Array], tuple[Array, Array]]  # mean and deviation of a new shot
    noise: float  # standard deviation from shot to shot


def _process(coded: Array, response: Array, seed: int) -> _Process:
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import ConstantKernel, Matern, WhiteKernel

    spread = float(response.std()) or 1.0
    lengths = np.full(coded.shape[1], 2.0)
    smooth = ConstantKernel(1.0, (0.05, 100.0)) * Matern(lengths, (0.3, 20.0), nu=2.5)
    process = GaussianProcessRegressor(
        smooth + WhiteKernel(0.05, (1e-4, 1.0)), n_restarts_optimizer=4, random_state=seed
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a length at its bound means: no effect
        process.fit(coded, (response - response.mean()) / spread)

    def predict(at: Array) -> tuple[Array, Array]:
        mean, deviation = process.predict(at, return_std=True)
        return response.mean() + spread * mean, spread * deviation

    return _Process(predict, spread * float(np.sqrt(process.kernel_.k2.noise_level)))


def _window(belief: Belief) -> Flags:
    return belief.likely


def _most_chance(belief: Belief) -> Flags:
    if not belief.likely.any():
        return belief.likely
    near = belief.stated >= belief.stated[belief.likely].max() - SAME
    return np.asarray(belief.likely & near)


def found(trial: Trial, believe: Believe, candidates: Callable[[Belief], Flags]) -> Found:
    """Return window, setpoint and ends of a method that holds a belief about every setting."""
    factors = trial.study.factors
    count = int(np.prod([factor.count for factor in factors]))
    parts = [
        believe(settings_at(factors, np.arange(i, min(i + AT_ONCE, count))))
        for i in range(0, count, AT_ONCE)
    ]
    every = Belief(*(np.concatenate(column) for column in zip(*parts, strict=True)))
    chosen = np.flatnonzero(candidates(every))
    setpoint = None
    ends = {}
    if chosen.size:
        settings = settings_at(factors, chosen)
        coded = coded_settings(factors, settings)
        middle = int(((coded - coded.mean(axis=0)) ** 2).sum(axis=1).argmin())
        setpoint = tuple(float(value) for value in settings[middle])
        for axis, factor in enumerate(factors):
            line = line_through(trial.study, setpoint, axis)
            start = int(np.abs(line[:, axis] - setpoint[axis]).argmin())
            first, last = stretch(believe(line).likely, start)
            ends[factor.name] = (float(line[first, axis]), float(line[last, axis]))
    at = trial.flat
    return Found(every.likely[at], every.sure[at], every.stated[at], setpoint, ends, trial.plan)
