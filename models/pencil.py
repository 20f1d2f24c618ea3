"""Shots -> what somebody at the press writes down: by eye or balance, in steps, with slips."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.quantities import convert
from shotwindow.doe.study import FillScale, FlashScale
from shotwindow.models.press import Press
from shotwindow.models.shooting import Shots

Array = NDArray[np.float64]

# How well people and balances judge; all invented.
_EYE_SD = 1.5  # percent points of a short part
_GAP_SEEN = 0.3  # percent points: a part that lacks less looks full
_WIDTH_SD = 0.08  # relative
_NO_PART = 25.0  # percent: less than this in every cavity and no part comes out
SLIP_RATE = 0.01


@dataclass(frozen=True)
class Written:
    """What was written down for n shots; None where that is not asked for.

    Attributes
    ----------
    fill : ndarray, shape (n, C), or None
        Percent by eye, never above 100.
    mass : ndarray, shape (n, C), or None
        g.
    full : ndarray of bool, shape (n, C), or None
        Full or short, as seen; for weighed parts too, where flash hides it from the balance.
    flash : ndarray, shape (n, C)
        Width in the unit asked for, or grade 0 to 3.
    no_part : ndarray of bool, shape (n,)
        Nothing came out that could be judged; the other fields say nothing there.
    slips : ndarray of bool, shape (n,)
        A slip of the pen was made in this row.
    """

    fill: Array | None
    mass: Array | None
    full: NDArray[np.bool_] | None
    flash: Array
    no_part: NDArray[np.bool_]
    slips: NDArray[np.bool_]


def read(
    press: Press,
    shots: Shots,
    fill: FillScale,
    flash: FlashScale,
    *,
    rng: np.random.Generator,
    slip_rate: float = SLIP_RATE,
) -> Written:
    """Judge shots and write them down.

    Parameters
    ----------
    press : Press
        Gives the widths at which the grades part.
    shots : Shots
    fill, flash : FillScale, FlashScale
        How fill and flash are judged, as in the study.
    rng : numpy.random.Generator
    slip_rate : float, optional
        Share of rows with a slip of the pen: a reading ten steps off, or full and short mixed up.

    Examples
    --------
    >>> from shotwindow.doe.seeds import generator
    >>> from shotwindow.doe.study import FillScale, FlashScale
    >>> from shotwindow.models.pencil import read
    >>> from shotwindow.models.presets import preset
    >>> from shotwindow.models.shooting import shoot
    >>> press, rng = preset("narrow"), generator(1, "shots")
    >>> shots = shoot(press, [[50.0], [62.0]], group=[1, 1], rng=rng)
    >>> eye, width = FillScale("eye", 2.0, 100.0), FlashScale("width", "mm", 0.02, 0.02, 0.1)
    >>> written = read(press, shots, eye, width, rng=rng, slip_rate=0.0)
    >>> written.fill[1].tolist()
    [100.0]
    """
    full = shots.fill >= 100.0 - _GAP_SEEN
    written = Written(
        fill=_by_eye(shots.fill, full, fill.step, rng) if fill.measured == "eye" else None,
        mass=_weighed(shots.mass, fill.step, rng) if fill.measured == "mass" else None,
        full=full if fill.measured != "eye" else None,
        flash=_flash(press, shots.flash, flash, rng),
        no_part=shots.fill.max(axis=1) < _NO_PART,
        slips=rng.random(len(full)) < slip_rate,
    )
    return _with_slips(written, fill.step, rng)


def _by_eye(
    percent: Array, full: NDArray[np.bool_], step: float, rng: np.random.Generator
) -> Array:
    # Whoever sees a gap does not write 100.
    seen = _rounded(percent + _EYE_SD * rng.standard_normal(percent.shape), step)
    most = step * (np.ceil(100.0 / step) - 1.0)
    return np.where(full, 100.0, np.clip(seen, 0.0, most))


def _weighed(mass: Array, step: float, rng: np.random.Generator) -> Array:
    return np.maximum(_rounded(mass + 0.5 * step * rng.standard_normal(mass.shape), step), 0.0)


def _flash(press: Press, width: Array, scale: FlashScale, rng: np.random.Generator) -> Array:
    judged = width * np.exp(_WIDTH_SD * rng.standard_normal(width.shape))
    if scale.measured == "grade":
        return np.digitize(judged, press.flash_limits_mm).astype(np.float64)
    in_unit = judged * convert(1.0, "mm", scale.unit)
    return np.where(in_unit < scale.seen_from, 0.0, _rounded(in_unit, scale.step))


def _rounded(values: Array, step: float) -> Array:
    # Ten decimals rub out the dust of the multiplication: 2.1 g, not 2.1000000000000001 g.
    rounded: Array = np.round(step * np.round(values / step), 10)
    return rounded


def _with_slips(written: Written, step: float, rng: np.random.Generator) -> Written:
    rows = np.flatnonzero(written.slips)
    cavity = rng.integers(0, written.flash.shape[1], len(rows))
    away = np.where(rng.random(len(rows)) < 0.5, -10.0, 10.0) * step
    if written.mass is not None:
        mass = written.mass.copy()
        mass[rows, cavity] = np.maximum(_rounded(mass[rows, cavity] + away, step), 0.0)
        return replace(written, mass=mass)
    if written.full is not None:
        full = written.full.copy()
        full[rows, cavity] ^= True
        return replace(written, full=full)
    assert written.fill is not None
    fill = written.fill.copy()
    fill[rows, cavity] = np.clip(_rounded(fill[rows, cavity] + away, step), 0.0, 100.0)
    return replace(written, fill=fill)
