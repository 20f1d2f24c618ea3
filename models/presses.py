"""A family and a seed, and perhaps a study -> a random simulated press to practice on.

Presses are drawn again and again from their seed until between a twentieth and nearly half of the
marks in the planned ranges are good and both edges lie in them.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.factors import Factor
from shotwindow.doe.quantities import convert
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import FlashScale, Study
from shotwindow.models.families import FAMILIES, Frame, draw_press
from shotwindow.models.outcomes import true_latent
from shotwindow.models.press import STANDARD, Press
from shotwindow.models.truth import probability_good

Array = NDArray[np.float64]

#: Share of the marks in the planned ranges that are good on a random press.
GOOD_SHARES = (0.05, 0.45)
_GOOD_FROM = 0.9
_TRIES = 60
_LOOKED_AT = 300
_EDGE_SHARE = 0.08  # of the marks at least are short, and at least as many flash
_LIMITS_MM = (0.02, 0.1, 0.5)
_AREA_RATIO = 12.0  # where nobody told
_HELD = (4.0, 220.0, 40.0, 5.0)


def random_press(family: str, seed: int, *, factors: int | None = None) -> Press:
    """Return the random press of a family and a seed, over one to four factors.

    Raises
    ------
    ValueError
        If the family is not "A" or "B", or the number of factors not 1 to 4.

    Examples
    --------
    >>> from shotwindow.models.presses import random_press
    >>> press = random_press("A", 1, factors=2)
    >>> [factor.name for factor in press.factors]
    ['pressure', 'melt_temperature']
    """
    if factors is not None and not 1 <= factors <= len(STANDARD):
        raise ValueError(f"a random press has 1 to 4 factors, not {factors}")
    rng = generator(seed, "random press", family)
    k = int(rng.choice(4, p=(0.1, 0.2, 0.2, 0.5))) + 1 if factors is None else factors
    return _until_straddled(lambda: random_frame(k, rng), family, rng)


def press_for(study: Study, family: str, seed: int) -> Press:
    """Return a random press that takes the factors, cavities and limits of a study.

    Its window lies within the study's ranges; it is not the user's press.

    Raises
    ------
    ValueError
        If the family is not "A" or "B".
    Unanswerable
        If no press has a window within these ranges, for instance without any pressure.
    """
    rng = generator(seed, "press for study", family)
    return _until_straddled(lambda: _study_frame(study, rng), family, rng)


def random_frame(factors: int, rng: np.random.Generator) -> Frame:
    """Draw factor tables, cavities and masses for a random press over so many factors."""
    area_ratio = round(rng.uniform(8.0, 15.0), 1)
    gauge = float(np.exp(rng.uniform(np.log(30.0), np.log(90.0)))) / area_ratio  # bar
    held = (gauge, rng.uniform(200.0, 240.0), rng.uniform(30.0, 60.0), rng.uniform(3.0, 7.0))
    names = list(STANDARD)[:factors]
    if factors == 3 and rng.random() < 0.5:
        names[2] = "injection_time"
    centers = dict(zip(STANDARD, held, strict=True))
    cavities = int(rng.choice([1, 2, 3, 4], p=(0.4, 0.25, 0.1, 0.25)))
    return Frame(
        factors=tuple(_random_table(name, centers[name], rng) for name in names),
        held=held,
        area_ratio=area_ratio,
        full_mass_g=(round(rng.uniform(1.5, 6.0), 2),) * cavities,
        flash_limits_mm=_LIMITS_MM,
        flash_good_mm=_LIMITS_MM[1],
    )


def _random_table(name: str, center: float, rng: np.random.Generator) -> Factor:
    if name == "pressure":
        return _table(name, "bar", center, center * rng.uniform(0.2, 0.35), 0.1)
    if name == "melt_temperature":
        return _table(name, "degC", center, rng.uniform(8.0, 16.0), 1.0, soaks=(15.0, 25.0))
    if name == "mold_temperature":
        return _table(name, "degC", center, rng.uniform(8.0, 15.0), 1.0, soaks=(10.0, 20.0))
    return _table(name, "s", center, center * rng.uniform(0.3, 0.5), 0.5)


def _table(
    name: str,
    unit: str,
    center: float,
    half: float,
    step: float,
    *,
    soaks: tuple[float, float] | tuple[None, None] = (None, None),
) -> Factor:
    """Return a factor about a center; its limits lie half a range beyond both ends."""
    middle = round(center / step)
    reach = max(round(half / step), 2)
    low, high, beyond = (
        round(marks * step, 6) for marks in (middle - reach, middle + reach, reach)
    )
    limits = (max(low - beyond / 2.0, 0.0), high + beyond / 2.0)
    return Factor(name, unit, low, high, step, limits, step / 2.0, "gauge", *soaks)


def _study_frame(study: Study, rng: np.random.Generator) -> Frame:
    held = dict(zip(STANDARD, _HELD, strict=True))
    for thing in study.held:
        if thing.name in held and isinstance(thing.value, float):
            held[thing.name] = convert(thing.value, thing.unit, STANDARD[thing.name])
    pressure, melt, mold, time = held.values()
    reads_melt = any(factor.reads == "melt" for factor in study.factors)
    mass = round(rng.uniform(1.5, 6.0), 2)
    limits, good = _flash_limits(study.flash)
    return Frame(
        factors=study.factors,
        held=(pressure, melt, mold, time),
        area_ratio=1.0 if reads_melt else study.press.area_ratio or _AREA_RATIO,
        full_mass_g=study.mold.full_mass_g or (mass,) * study.cavities,
        flash_limits_mm=limits,
        flash_good_mm=good,
    )


def _flash_limits(flash: FlashScale) -> tuple[tuple[float, float, float], float]:
    """Return the widths at which grades begin and that of a good part, mm."""
    if flash.measured == "grade":
        return _LIMITS_MM, _LIMITS_MM[min(round(flash.good), 2)]
    seen, good = (convert(width, flash.unit, "mm") for width in (flash.seen_from, flash.good))
    return (min(seen, good / 2.0), good, 5.0 * good), good


def _until_straddled(
    draw_frame: Callable[[], Frame], family: str, rng: np.random.Generator
) -> Press:
    """Draw presses until one has both edges and a window of the wanted size within its ranges."""
    if family not in FAMILIES:
        raise ValueError(f"family must be one of {FAMILIES}, but {family!r} was given")
    nearest: tuple[float, Press] | None = None
    for _ in range(_TRIES):
        press = draw_press(draw_frame(), family, rng)
        if press is None:
            continue
        away = _away(press, rng)
        if away == 0.0:
            return press
        if nearest is None or away < nearest[0]:
            nearest = (away, press)
    if nearest is None:
        raise Unanswerable("no simulated press of this family has a window within these ranges")
    return nearest[1]


def _away(press: Press, rng: np.random.Generator) -> float:
    """Return how far the shares of good, short and flashed marks are from what is wanted."""
    marks = some_marks(press, _LOOKED_AT, rng)
    good = float(np.mean(probability_good(press, marks, draws=32) >= _GOOD_FROM))
    fill, flash = true_latent(press, marks)
    edges = [(fill < 100.0).any(axis=1).mean(), (flash > press.flash_good_mm).any(axis=1).mean()]
    low, high = GOOD_SHARES
    return float(max(low - good, good - high, _EDGE_SHARE - min(edges), 0.0))


def some_marks(press: Press, most: int, rng: np.random.Generator) -> Array:
    """Return all marks of the planned ranges, or so many of them drawn at random, (n, k)."""
    marks = [factor.marks for factor in press.factors]
    if np.prod([len(m) for m in marks]) <= most:
        return np.stack([g.ravel() for g in np.meshgrid(*marks, indexing="ij")], axis=1)
    return np.stack([rng.choice(m, most) for m in marks], axis=1)
