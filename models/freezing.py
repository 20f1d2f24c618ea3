"""Melt and mold temperature -> how fast the frozen layer on the walls closes a slit.

A slit of gap h is closed at ``h^2`` times the *seal time*; until then the frozen layers on its two
walls together take up a share of the gap that rises from zero to one.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erfinv

Array = NDArray[np.float64]

# The one-term series starts at 4/pi instead of 1, so a melt hardly above its no-flow temperature
# would never be closed by the formula; it is closed long before any flow here matters.
_COLDEST = 0.9


@dataclass(frozen=True)
class SlabFreezing:
    """Conduction out of a slab whose surface drops to the mold's temperature at once.

    The gap is closed when its middle has cooled to the no-flow temperature: ``h^2 / (pi^2 a)
    ln(4/pi (Tm - Tw) / (Tn - Tw))``, the first term of the series for a slab (Carslaw and Jaeger,
    *Conduction of Heat in Solids*, from memory; http://routsis.blog/2010/07/calculating_cooling_time/).

    Attributes
    ----------
    diffusivity : float
        Thermal diffusivity a, m2/s.
    no_flow : float
        Temperature Tn below which the melt stands, degC.
    """

    diffusivity: float
    no_flow: float

    def _theta(self, melt: ArrayLike, mold: ArrayLike) -> Array:
        mold = np.asarray(mold, dtype=np.float64)
        theta = (self.no_flow - mold) / np.maximum(np.asarray(melt) - mold, 1e-9)
        # 1e-6: a mold hotter than the no-flow temperature hardly freezes anything
        clipped: Array = np.clip(theta, 1e-6, _COLDEST)
        return clipped

    def seal_time(self, melt: ArrayLike, mold: ArrayLike) -> Array:
        """Return the seal time of a gap of 1 m in s/m2, temperatures in degC.

        Examples
        --------
        >>> from shotwindow.models.freezing import SlabFreezing
        >>> polypropylene = SlabFreezing(diffusivity=0.096e-6, no_flow=90.0)
        >>> round(0.002**2 * float(polypropylene.seal_time(230.0, 40.0)), 4)
        6.6558
        """
        theta = self._theta(melt, mold)
        seal: Array = np.log(4.0 / np.pi / theta) / (np.pi**2 * self.diffusivity)
        return seal

    def open_share(self, melt: ArrayLike, mold: ArrayLike, root: ArrayLike) -> Array:
        """Return the share of the gap still open, 0 to 1, at a root of age: sqrt(t / seal time).

        Early on each layer grows as ``2 sqrt(a t) erfinv(theta)``, near the end the opening closes
        as ``sqrt(1 - root^2)``. Both limits are exact; the polynomial that joins them is ours,
        within 0.01 of the full series while theta, the no-flow temperature as a share of the way
        from mold to melt, is below 0.75.
        """
        theta = self._theta(melt, mold)
        fourier = np.log(4.0 / np.pi / theta) / np.pi**2
        early = 4.0 * erfinv(theta) * np.sqrt(fourier)
        late = np.sqrt(8.0 * fourier)
        root = np.clip(root, 0.0, 1.0)
        joined = 1.0 - early * root + (late - 1.0 + early) * root**2
        share: Array = np.sqrt(1.0 - root**2) * joined
        return share


@dataclass(frozen=True)
class StefanFreezing:
    """A front that freezes inward as the square root of time, with heat of fusion.

    Each layer is ``sqrt(2 a (Tf - Tw) t / (heat + Tm - Tf))`` thick: the quasi-steady solution of
    Stefan's problem (Carslaw and Jaeger, from memory) with the superheat of the melt added to the
    heat of fusion.

    Attributes
    ----------
    diffusivity : float
        Thermal diffusivity a of the frozen layer, m2/s.
    no_flow : float
        Freezing temperature Tf, degC.
    heat : float
        Heat of fusion over specific heat, K.
    """

    diffusivity: float
    no_flow: float
    heat: float

    def seal_time(self, melt: ArrayLike, mold: ArrayLike) -> Array:
        """Return the seal time of a gap of 1 m in s/m2, temperatures in degC.

        Examples
        --------
        >>> from shotwindow.models.freezing import StefanFreezing
        >>> round(0.002**2 * float(StefanFreezing(1e-7, 120.0, 80.0).seal_time(220.0, 40.0)), 4)
        11.25
        """
        superheat = np.maximum(np.asarray(melt, dtype=np.float64) - self.no_flow, 0.0)
        below = np.maximum(self.no_flow - np.asarray(mold), 1e-3)
        return (self.heat + superheat) / (8.0 * self.diffusivity * below)

    def open_share(self, melt: ArrayLike, mold: ArrayLike, root: ArrayLike) -> Array:
        """Return the share of the gap still open, 0 to 1, at a root of age: sqrt(t / seal time).

        The temperatures are not needed: in seal times every melt closes alike.
        """
        return 1.0 - np.clip(np.asarray(root, dtype=np.float64), 0.0, 1.0)


Freezing = SlabFreezing | StefanFreezing
