"""Settings and chance -> shots of a simulated press, one by one or as a whole run in order."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.seeds import generator
from shotwindow.models.outcomes import (
    Deviations,
    Outcome,
    actual_settings,
    checked_settings,
    conditions,
    outcomes,
)
from shotwindow.models.press import Press

Array = NDArray[np.float64]

_FLASH_THICKNESS = 3e-5  # m, of the fin that is weighed with the part (invented)
_ROOM = 22.0  # degC
# What is left of a change after its soak, and of what is left after one more shot (invented).
_AFTER_SOAK = np.array([0.15, 0.12])  # melt, mold
_COOLING_IS_SLOWER = 1.5
_AFTER_START_UP = np.array([0.02, 0.05])
_AFTER_SHOT = np.array([0.45, 0.5])


@dataclass(frozen=True)
class Shots:
    """What really happened in n shots, whatever anybody reads or writes.

    Attributes
    ----------
    fill : ndarray, shape (n, C)
        Percent of each cavity, 100 where full.
    mass : ndarray, shape (n, C)
        Of each part with its flash, g.
    flash : ndarray, shape (n, C)
        Width, mm.
    rejects : ndarray of int, shape (n,)
        Zero, or one more than the place of the fault in `shotwindow.models.press.REASONS`.
    settings : ndarray, shape (n, k)
        What a perfect gauge would have shown, in the units of the factors.
    """

    fill: Array
    mass: Array
    flash: Array
    rejects: NDArray[np.intp]
    settings: Array


@dataclass(frozen=True)
class _Chance:
    """Standard normal numbers for n shots: group (n, 2), lot (n,), shot (n, 5), cavity (n, 2, C).

    `fault` (n, 2) is exponential.
    """

    group: Array
    lot: Array
    shot: Array
    cavity: Array
    fault: Array


def shoot(
    press: Press,
    settings: ArrayLike,
    *,
    group: ArrayLike,
    lot: Sequence[str | int] | None = None,
    rng: np.random.Generator,
) -> Shots:
    """Make shots at thermal balance.

    Parameters
    ----------
    press : Press
    settings : array-like, shape (n, k)
        In the units of the press's factors.
    group : array-like of int, shape (n,)
        Temperature group of each shot; shots of one group share its offsets.
    lot : sequence of str or int, length n, optional
        Lot of material; the first is the usual one, each other flows a little otherwise.
    rng : numpy.random.Generator

    Examples
    --------
    >>> from shotwindow.doe.seeds import generator
    >>> from shotwindow.models.presets import preset
    >>> from shotwindow.models.shooting import shoot
    >>> shots = shoot(preset("narrow"), [[50.0], [62.0]], group=[1, 1], rng=generator(1, "shots"))
    >>> (shots.fill[:, 0] < 100).tolist()
    [True, False]
    """
    settings = checked_settings(press, settings)
    n = len(settings)
    ids, of_group = np.unique(np.asarray(group), return_inverse=True)
    of_lot = [0] * n if lot is None else list(lot)
    lots = list(dict.fromkeys(of_lot))
    flows = {x: rng.standard_normal() if x != lots[0] else 0.0 for x in lots}
    chance = _Chance(
        group=rng.standard_normal((len(ids), 2))[of_group],
        lot=np.array([flows[x] for x in of_lot]),
        shot=rng.standard_normal((n, 5)),
        cavity=rng.standard_normal((n, 2, press.cavities)),
        fault=rng.standard_exponential((n, 2)),
    )
    return _shots(press, settings, chance, np.zeros((n, 2)))


def shoot_rows(
    press: Press,
    settings: ArrayLike,
    groups: Sequence[int],
    *,
    seed: int,
    lots: Sequence[str] | None = None,
) -> Shots:
    """Make the shots of a run sheet in running order, warm-up shots among them.

    After each change of group the barrel and the mold have not quite arrived, and a mold that
    stood idle lacks the heat of the shots: it all fades from shot to shot. The first rows are the
    same however many follow.

    Parameters
    ----------
    press : Press
    settings : array-like, shape (n, k)
        Every shot that is made, in order.
    groups : sequence of int, length n
        Temperature group of each.
    seed : int
    lots : sequence of str, length n, optional
        Lot of material of each; the first is the usual one.

    Examples
    --------
    >>> from shotwindow.models.presets import preset
    >>> from shotwindow.models.shooting import shoot_rows
    >>> shots = shoot_rows(preset("narrow"), [[58.0]] * 3, [1, 1, 1], seed=4)
    >>> bool(shots.fill[0, 0] < shots.fill[2, 0])  # the first shot went into a cold mold
    True
    """
    settings = checked_settings(press, settings)
    n = len(settings)
    names = ["" for _ in groups] if lots is None else list(lots)
    usual = names[0] if names else ""
    offsets = {g: generator(seed, "group", int(g)).standard_normal(2) for g in set(groups)}
    flows = {x: generator(seed, "lot", x).standard_normal() for x in set(names)} | {usual: 0.0}
    chance = _Chance(
        group=np.array([offsets[g] for g in groups]).reshape(n, 2),
        lot=np.array([flows[name] for name in names]),
        shot=generator(seed, "shots").standard_normal((n, 5)),
        cavity=generator(seed, "cavities").standard_normal((n, 2, press.cavities)),
        fault=generator(seed, "faults").standard_exponential((n, 2)),
    )
    return _shots(press, settings, chance, _lags(press, settings, groups))


def _lags(press: Press, settings: Array, groups: Sequence[int]) -> Array:
    """Return how far melt and mold are from thermal balance in each shot of a run, (n, 2) degC."""
    shots = conditions(press, settings, Deviations.none(len(settings)))
    targets = np.stack([shots.melt, shots.mold], axis=1)
    lags = np.zeros_like(targets)
    state = np.full(2, _ROOM)
    for i, target in enumerate(targets):
        change = target - state
        if i == 0:
            lags[i] = -_AFTER_START_UP * change
        elif groups[i] != groups[i - 1]:
            lags[i] = -_AFTER_SOAK * change * np.where(change < 0, _COOLING_IS_SLOWER, 1.0)
        else:
            lags[i] = _AFTER_SHOT * lags[i - 1]
        if i == 0 or groups[i] != groups[i - 1]:
            lags[i, 1] -= press.mold_rise
        state = target + lags[i]
    return lags


def _shots(press: Press, settings: Array, chance: _Chance, lags: Array) -> Shots:
    sd = press.scatter
    deviations = Deviations(
        pressure=sd.pressure * chance.shot[:, 0],
        melt=sd.melt_group * chance.group[:, 0] + sd.melt_shot * chance.shot[:, 1] + lags[:, 0],
        mold=sd.mold_group * chance.group[:, 1] + sd.mold_shot * chance.shot[:, 2] + lags[:, 1],
        time=sd.time * chance.shot[:, 3],
        charge=sd.charge * chance.shot[:, 4],
        thickness=sd.lot * chance.lot,
    )
    outcome = outcomes(press, settings, deviations)
    potential = outcome.potential.T * np.exp(sd.fill * chance.cavity[:, 0])
    flash = outcome.width.T * np.exp(sd.flash * chance.cavity[:, 1])
    fill = np.minimum(potential, 100.0)
    melt = conditions(press, settings, deviations).melt
    faulty = chance.fault < outcome.hazard.T  # the chance of none is exp(-hazard)
    return Shots(
        fill=fill,
        mass=_masses(press, fill, flash, outcome, melt),
        flash=flash,
        rejects=np.where(faulty.any(axis=1), 1 + faulty.argmax(axis=1), 0),
        settings=actual_settings(press, settings, deviations),
    )


def _masses(press: Press, fill: Array, flash: Array, outcome: Outcome, melt: Array) -> Array:
    """Return the mass of each part with its flash, (n, C) g."""
    full, density, mold = np.array(press.full_mass_g), press.density, press.mold
    packed = density.gain * (outcome.pressure.T - density.packed)
    dense = 1.0 + packed - density.loss * (melt - density.at)[:, None]
    rim = 2.0 * (np.array(mold.length) + np.array(mold.width)) * _FLASH_THICKNESS
    fin = flash / 1e3 * rim / (mold.area * np.array(mold.gap))
    masses: Array = full * (fill / 100.0 * dense + fin)
    return masses
