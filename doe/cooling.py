"""A wall's thickness and three temperatures turned into the time that it cools in the mold.

A slab or a rod of one temperature, `melt`, touches steel of another, `mold`, at once and for good.
Its excess over the mold, as a share of the first excess, falls with the Fourier number. The time
is found where that share reaches ``(eject - mold) / (melt - mold)``. All terms of the series are
kept: handbooks print the first, which is right only once the part is well cooled.

Caution: shrinkage lifts the part off the steel and slows cooling, and tables of diffusivity differ
by a factor of two and more between sources. Say which value was taken.

Source: the first term as printed at http://routsis.blog/2010/07/calculating_cooling_time/; the
further terms are the textbook's for sudden cooling, from memory, and are tested against a
numerical solution of the heat equation.
"""

from collections.abc import Callable
from math import log

import numpy as np
from numpy.typing import NDArray

_TERMS = 400  # enough from a Fourier number of 1e-4 up; the answer lies far above


def slab_cooling_s(
    thickness_mm: float,
    diffusivity_mm2_s: float,
    *,
    melt: float,
    mold: float,
    eject: float,
    mean: bool = False,
) -> float:
    """Return the seconds until a flat wall's midplane, or its mean, is at the ejection temperature.

    Midplane: ``4/pi * sum (-1)**n / (2n+1) * exp(-((2n+1) pi)**2 Fo)``; mean:
    ``8/pi**2 * sum 1 / (2n+1)**2 * exp(...)``, with ``Fo = diffusivity * t / thickness**2``.

    Parameters
    ----------
    thickness_mm : float
    diffusivity_mm2_s : float
    melt, mold, eject : float
        In degC.
    mean : bool, optional
        Cool the mean over the thickness rather than the midplane to `eject`.

    Raises
    ------
    ValueError
        If a size is not above zero, or not ``mold < eject < melt``.

    Examples
    --------
    >>> from shotwindow.doe.cooling import slab_cooling_s
    >>> round(slab_cooling_s(2, 0.17, melt=230, mold=50, eject=90), 4)
    4.1617
    """
    odd = 2 * np.arange(_TERMS, dtype=np.float64) + 1
    rates = np.square(odd * np.pi)
    alternating = np.where(np.arange(_TERMS) % 2, -1.0, 1.0)
    weights = 8 / rates if mean else 4 / np.pi * alternating / odd
    fourier = _fourier(weights, rates, _share(melt, mold, eject))
    return fourier * _scale(thickness_mm, diffusivity_mm2_s)


def rod_cooling_s(
    diameter_mm: float,
    diffusivity_mm2_s: float,
    *,
    melt: float,
    mold: float,
    eject: float,
    mean: bool = False,
) -> float:
    """Return the seconds until a round rod's axis, or its mean, is at the ejection temperature.

    Axis: ``sum 2 / (j_n J1(j_n)) * exp(-4 j_n**2 Fo)``; mean: ``sum 4 / j_n**2 * exp(...)``, with
    ``Fo = diffusivity * t / diameter**2`` and j_n the zeros of the Bessel function J0.

    Parameters and errors are those of `slab_cooling_s`.

    Examples
    --------
    >>> from shotwindow.doe.cooling import rod_cooling_s
    >>> round(rod_cooling_s(4, 0.096, melt=230, mold=40, eject=90), 2)
    13.01
    """
    from scipy.special import j1, jn_zeros

    zeros: NDArray[np.float64] = jn_zeros(0, _TERMS)
    weights = 4 / zeros**2 if mean else 2 / (zeros * j1(zeros))
    fourier = _fourier(weights, 4 * zeros**2, _share(melt, mold, eject))
    return fourier * _scale(diameter_mm, diffusivity_mm2_s)


def _share(melt: float, mold: float, eject: float) -> float:
    if not mold < eject < melt:
        raise ValueError(
            f"expected mold < eject < melt, but got {mold:g}, {eject:g} and {melt:g} degC"
        )
    return (eject - mold) / (melt - mold)


def _scale(size_mm: float, diffusivity_mm2_s: float) -> float:
    if not (size_mm > 0 and diffusivity_mm2_s > 0):
        raise ValueError(
            f"size and diffusivity must be above 0, but got {size_mm:g} mm and "
            f"{diffusivity_mm2_s:g} mm2/s"
        )
    return size_mm**2 / diffusivity_mm2_s


def _fourier(weights: NDArray[np.float64], rates: NDArray[np.float64], share: float) -> float:
    """Return where the series falls to a share, by halving an interval that holds it."""

    def excess(fourier: float) -> float:
        return float(weights @ np.exp(-rates * fourier)) - share

    # Beyond the first term's own answer nothing is left: the other terms only fall faster.
    above = max(log(max(float(weights[0]), 1.0) / share), 0.0) / float(rates[0])
    return _halved(excess, 0.0, above)


def _halved(falling: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if falling(middle) > 0 else (low, middle)
    return high
