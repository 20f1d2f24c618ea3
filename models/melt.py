"""Viscosity laws of a melt -> the scales of stress and rate of its flow at a temperature.

Every law here is a *reduced* curve shifted by temperature: with the rate counted in units of
``rate_scale(T)`` and the stress in units of ``stress_scale``, one curve serves all temperatures.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.models.flow_curves import FlowCurve, flow_curve

Array = NDArray[np.float64]

KELVIN = 273.15
GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA


@dataclass(frozen=True)
class CrossWlf:
    """Cross law with the Williams-Landel-Ferry shift: ``eta = eta0 / (1 + (eta0 g / tau)^(1-n))``.

    ``eta0 = grade d1 exp(-a1 (T - d2) / (a2 + T - d2))``, T and d2 in kelvin. Textbook law; the
    constants of the two melts below are from memory of open literature.

    Attributes
    ----------
    n : float
        Power-law index at high rates.
    tau : float
        Stress at which thinning sets in, Pa.
    d1, d2, a1, a2 : float
        Pa s, K, -, K.
    grade : float
        How many times thicker than the base grade at low rates.
    """

    n: float
    tau: float
    d1: float
    d2: float
    a1: float
    a2: float
    grade: float = 1.0

    @property
    def stress_scale(self) -> float:
        """Unit of stress of the reduced curve, Pa."""
        return self.tau

    @cached_property
    def curve(self) -> FlowCurve:
        """Flow through slits and tubes in reduced units."""
        return flow_curve("cross", self.n)

    def rate_scale(self, temperature: ArrayLike) -> Array:
        """Unit of rate of the reduced curve at a temperature in degC, 1/s."""
        # One kelvin above d2 the melt is a solid for every purpose; below it the law has a pole.
        above = np.maximum(np.asarray(temperature, dtype=np.float64) + KELVIN - self.d2, 1.0)
        return self.tau / (self.grade * self.d1) * np.exp(self.a1 * above / (self.a2 + above))


@dataclass(frozen=True)
class PowerLaw:
    """Ostwald-de Waele law ``eta = m g^(n-1)`` with ``m = m_ref exp(-slope (T - t_ref))``.

    Attributes
    ----------
    n : float
        Power-law index; 1 is a Newtonian melt.
    m_ref : float
        Consistency at t_ref, Pa s^n.
    slope : float
        Relative loss of consistency with temperature, 1/K.
    t_ref : float
        degC.
    grade : float
        How many times slower than the base grade at the same stress.
    """

    n: float
    m_ref: float
    slope: float
    t_ref: float
    grade: float = 1.0

    @property
    def stress_scale(self) -> float:
        """Unit of stress of the reduced curve, Pa."""
        return self.m_ref

    @cached_property
    def curve(self) -> FlowCurve:
        """Flow through slits and tubes in reduced units."""
        return flow_curve("power", self.n)

    def rate_scale(self, temperature: ArrayLike) -> Array:
        """Unit of rate of the reduced curve at a temperature in degC, 1/s."""
        above = np.asarray(temperature, dtype=np.float64) - self.t_ref
        return np.exp(self.slope / self.n * above) / self.grade


@dataclass(frozen=True)
class CarreauArrhenius:
    """Carreau law ``eta = eta0 a (1 + (lag a g)^2)^((n-1)/2)`` with an Arrhenius shift a(T).

    ``a = grade exp(energy / R (1/T - 1/t_ref))``, temperatures in kelvin.

    Attributes
    ----------
    n : float
        Power-law index at high rates.
    eta0 : float
        Zero-shear viscosity at t_ref, Pa s.
    lag : float
        Time constant at t_ref, s.
    energy : float
        Activation energy, J/mol.
    t_ref : float
        degC.
    grade : float
        How many times thicker than the base grade at low rates.
    """

    n: float
    eta0: float
    lag: float
    energy: float
    t_ref: float
    grade: float = 1.0

    @property
    def stress_scale(self) -> float:
        """Unit of stress of the reduced curve, Pa."""
        return self.eta0 / self.lag

    @cached_property
    def curve(self) -> FlowCurve:
        """Flow through slits and tubes in reduced units."""
        return flow_curve("carreau", self.n)

    def rate_scale(self, temperature: ArrayLike) -> Array:
        """Unit of rate of the reduced curve at a temperature in degC, 1/s."""
        inverse = 1.0 / (np.asarray(temperature, dtype=np.float64) + KELVIN)
        reach = self.energy / GAS_CONSTANT * (inverse - 1.0 / (self.t_ref + KELVIN))
        return np.exp(-reach) / (self.lag * self.grade)


Melt = CrossWlf | PowerLaw | CarreauArrhenius

# Constants from memory of open literature; the arithmetic, not the grade, is what is checked.
POLYPROPYLENE = CrossWlf(n=0.2751, tau=24_200.0, d1=4.66e12, d2=263.15, a1=26.12, a2=51.6)
POLYSTYRENE = CrossWlf(n=0.252, tau=30_800.0, d1=4.76e10, d2=373.15, a1=25.74, a2=61.06)
