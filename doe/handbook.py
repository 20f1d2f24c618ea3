"""What is known about mold and press turned into pressures, forces, times and grams.

Each function is one handbook formula, with its source and what it leaves out. None is a promise:
they tell whether a plan is reasonable before anything is shot.
"""

from collections.abc import Iterable
from math import pi


def area_ratio(driving_diameter_mm: float, plunger_diameter_mm: float) -> float:
    """Return melt pressure over gauge pressure of a press with a driving cylinder.

    ``ratio = (D / d)**2``: areas, not diameters. Losses by friction are left out, so that the
    melt sees somewhat less.

    Source: "Understanding intensification ratio", Plastics Technology,
    https://www.ptonline.com/columns/understanding-intensification-ratio

    Raises
    ------
    ValueError
        If a diameter is not above zero.

    Examples
    --------
    >>> from shotwindow.doe.handbook import area_ratio
    >>> round(area_ratio(80, 25), 2)
    10.24
    """
    _positive(driving_diameter_mm=driving_diameter_mm, plunger_diameter_mm=plunger_diameter_mm)
    return (driving_diameter_mm / plunger_diameter_mm) ** 2


def melt_pressure(gauge_pressure: float, area_ratio: float) -> float:
    """Return the pressure at the plunger's face, in the unit of the gauge pressure.

    ``p_melt = p_gauge * A_driving / A_plunger``. Same source and caution as `area_ratio`; the
    cavity sees less still, by the loss in nozzle, runner and gate.

    Raises
    ------
    ValueError
        If the pressure is negative or the ratio not above zero.

    Examples
    --------
    >>> from shotwindow.doe.handbook import melt_pressure
    >>> melt_pressure(800, 10)
    8000
    """
    _positive(area_ratio=area_ratio)
    _not_negative(gauge_pressure=gauge_pressure)
    return gauge_pressure * area_ratio


def plunger_pressure_MPa(force_kN: float, plunger_diameter_mm: float) -> float:
    """Return the pressure at the face of a plunger that is pushed by hand, screw or lever.

    ``p = F / (pi d**2 / 4)``; for a lever, F is the hand's force times the leverage. Friction is
    left out.

    Raises
    ------
    ValueError
        If the force is negative or the diameter not above zero.

    Examples
    --------
    >>> from shotwindow.doe.handbook import plunger_pressure_MPa
    >>> round(plunger_pressure_MPa(2, 20), 3)
    6.366
    """
    _positive(plunger_diameter_mm=plunger_diameter_mm)
    _not_negative(force_kN=force_kN)
    return force_kN * 1e3 / (pi * plunger_diameter_mm**2 / 4)


def clamp_force_kN(projected_area_cm2: float, pressure_MPa: float) -> float:
    """Return the force that opens the mold, which the clamp must exceed.

    ``F = A p`` over the projected area of cavities and runners. With the pressure at the plunger
    the force is an upper bound; with a mean cavity pressure it is an estimate. Very thin walls
    (flow path over 200 times the wall) break the rule.

    Source: common rule of the trade, for instance
    https://www.plasticdesign.com/resources/technical-information/clamp-tonnage/

    Raises
    ------
    ValueError
        If the area is not above zero or the pressure negative.

    Examples
    --------
    >>> from shotwindow.doe.handbook import clamp_force_kN
    >>> clamp_force_kN(50, 30)
    150.0
    """
    _positive(projected_area_cm2=projected_area_cm2)
    _not_negative(pressure_MPa=pressure_MPa)
    return projected_area_cm2 * pressure_MPa / 10  # 1 cm2 x 1 MPa = 100 N


def residence_min(inventory_g: float, shot_g: float, cycle_min: float) -> float:
    """Return how long the melt stays hot on its way through the barrel, its dwell.

    ``t = inventory / shot * cycle``: plug flow. Melt in dead corners stays longer, and every
    pause adds its full length.

    Source: https://www.ptonline.com/articles/\
important-factors-and-approaches-to-estimating-residence-time-in-injection-molding

    Raises
    ------
    ValueError
        If a value is not above zero, or one shot is more than the barrel holds.

    Examples
    --------
    >>> from shotwindow.doe.handbook import residence_min
    >>> residence_min(30, 8, 0.75)
    2.8125
    """
    _positive(inventory_g=inventory_g, shot_g=shot_g, cycle_min=cycle_min)
    if shot_g > inventory_g:
        raise ValueError(f"a shot of {shot_g:g} g is more than the barrel's {inventory_g:g} g")
    return inventory_g / shot_g * cycle_min


def shot_mass_g(volume_cm3: float, melt_density_g_cm3: float) -> float:
    """Return the mass of one shot from its volume, runners included, and the melt's density.

    ``m = V * rho``. Take the density of the melt, not of the part: hot plastic is lighter.

    Raises
    ------
    ValueError
        If a value is not above zero.

    Examples
    --------
    >>> from shotwindow.doe.handbook import shot_mass_g
    >>> round(shot_mass_g(12, 0.74), 2)
    8.88
    """
    _positive(volume_cm3=volume_cm3, melt_density_g_cm3=melt_density_g_cm3)
    return volume_cm3 * melt_density_g_cm3


def pellets_g(shots: int, shot_g: float, purges: int = 0, barrel_g: float = 0.0) -> float:
    """Return the pellets that a day of shots takes.

    ``m = shots * shot + (1 + purges) * barrel``: the barrel is filled once, and again after each
    purge. Spills are not in it; a tenth more is common practice, no source.

    Raises
    ------
    ValueError
        If a number is negative or the mass of a shot not above zero.

    Examples
    --------
    >>> from shotwindow.doe.handbook import pellets_g
    >>> pellets_g(20, 8.5, purges=4, barrel_g=40)
    370.0
    """
    _positive(shot_g=shot_g)
    _not_negative(shots=shots, purges=purges, barrel_g=barrel_g)
    return shots * shot_g + (1 + purges) * barrel_g


def imbalance_percent(
    masses_g: Iterable[float], full_mass_g: Iterable[float] | None = None
) -> float:
    """Return how unevenly the cavities fill, from the parts of one short shot.

    ``(heaviest - lightest) / heaviest * 100``; 3 to 5 is the usual target. With the full masses
    the shares of a full part are compared, so that cavities may differ in size, and a shot that
    tells nothing is refused: a cavity that is full hides how much earlier it filled.

    Source: a troubleshooting handbook's section 12.7, "Injection Molding Advanced Troubleshooting
    Guide", p. 107.

    Parameters
    ----------
    masses_g : iterable of float
        One mass for each of two or more cavities.
    full_mass_g : iterable of float, optional
        The full, flash-free part of each.

    Raises
    ------
    ValueError
        If there are fewer than two cavities, a mass is negative, all are zero, the numbers of
        masses differ, or a cavity is at least 99 percent full.

    Examples
    --------
    >>> from shotwindow.doe.handbook import imbalance_percent
    >>> round(imbalance_percent([1.90, 2.00, 1.95, 1.96]), 1)
    5.0
    """
    shares = list(masses_g)
    for mass in shares:
        _not_negative(mass=mass)
    if len(shares) < 2 or max(shares) == 0:
        raise ValueError(f"expected two or more cavities with a part, but got {shares}")
    if full_mass_g is not None:
        full = list(full_mass_g)
        if len(full) != len(shares):
            raise ValueError(f"{len(shares)} masses do not fit {len(full)} full masses")
        shares = [mass / whole for mass, whole in zip(shares, full, strict=True)]
        if max(shares) >= 0.99:
            raise ValueError(
                f"the fullest cavity is {max(shares):.1%} full, expected less than 99%: "
                "shoot at lower pressure until every cavity is short"
            )
    return (max(shares) - min(shares)) / max(shares) * 100


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0:
            raise ValueError(f"{name} must be above 0, but {value!r} was given")


def _not_negative(**values: float) -> None:
    for name, value in values.items():
        if not value >= 0:
            raise ValueError(f"{name} must not be negative, but {value!r} was given")
