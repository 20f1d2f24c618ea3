"""Settings turned into the pressure at the plunger, and into those that the clamp can hold."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.handbook import clamp_force_kN
from shotwindow.doe.quantities import convert, unit_kind
from shotwindow.doe.settings import column_in
from shotwindow.doe.study import Study


def melt_pressure_MPa(study: Study, settings: ArrayLike) -> NDArray[np.float64] | None:
    """Return the highest pressure at the plunger for each setting (n, k), shape (n,).

    Every factor with a unit of pressure counts, or else the held setting named pressure. A gauge
    pressure is multiplied by the area ratio; None where that or the pressure is not known.

    Examples
    --------
    >>> from shotwindow.doe.clamping import melt_pressure_MPa
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... press.area_ratio = 10.0
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.1
    ... ''')
    >>> melt_pressure_MPa(study, [[3.0], [4.0]]).tolist()
    [3.0, 4.0]
    """
    pressures = [factor for factor in study.factors if unit_kind(factor.unit) == "pressure"]
    highest = None
    for name, reads in [(f.name, f.reads) for f in pressures] or [("pressure", "gauge")]:
        ratio = 1.0 if reads == "melt" else study.press.area_ratio
        values = column_in(study, name, settings, "MPa")
        if ratio is None or values is None:
            return None
        highest = values * ratio if highest is None else np.maximum(highest, values * ratio)
    return highest


def clamp_holds(study: Study, settings: ArrayLike) -> tuple[NDArray[np.bool_], str]:
    """Return which settings the clamp can hold shut, (n,), and why others are left out.

    The force is the projected area times the full pressure at the plunger: an upper bound, since
    the cavity sees less. Where a number for it is not known every setting passes, without a
    reason.

    Parameters
    ----------
    study : Study
    settings : array_like, shape (n, k)
        In the units of the study's factors.

    Examples
    --------
    >>> from shotwindow.doe.clamping import clamp_holds
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... mold.projected_area_cm2 = 50.0
    ... press.area_ratio = 10.0
    ... press.clamp_force_kN = 20.0
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.1
    ... ''')
    >>> holds, reason = clamp_holds(study, [[3.0], [4.0], [4.2]])
    >>> holds.tolist(), reason
    ([True, True, False], 'up to 21 kN push the mold open, and the clamp holds 20 kN')
    """
    columns = np.asarray(settings, dtype=np.float64)
    pressure = melt_pressure_MPa(study, columns)
    available, area = study.press.clamp_force_kN, study.mold.projected_area_cm2
    if pressure is None or available is None or area is None:
        return np.ones(len(columns), dtype=np.bool_), ""
    needed = clamp_force_kN(area, 1.0) * pressure
    holds = needed <= available * (1 + 1e-9)
    if holds.all():
        return holds, ""
    most = f"up to {needed.max():.3g} kN push the mold open"
    return holds, f"{most}, and the clamp holds {available:.3g} kN"


def clamp_rules(study: Study) -> tuple[dict[str, tuple[str, float]], ...]:
    """Return rules, as those of [[avoid]], that keep each pressure below what the clamp can hold.

    None for a pressure whose whole range the clamp holds, or where a number for it is not known.

    Examples
    --------
    >>> from shotwindow.doe.clamping import clamp_rules
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... mold.projected_area_cm2 = 50.0
    ... press.area_ratio = 10.0
    ... press.clamp_force_kN = 20.0
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.1
    ... ''')
    >>> clamp_rules(study), study.allowed([[4.0], [4.1]]).tolist()
    (({'pressure': ('>', 4.0)},), [True, False])
    """
    available, area = study.press.clamp_force_kN, study.mold.projected_area_cm2
    if available is None or area is None:
        return ()
    most = available / clamp_force_kN(area, 1.0)  # MPa at the plunger
    rules = []
    for factor in study.factors:
        ratio = 1.0 if factor.reads == "melt" else study.press.area_ratio
        if unit_kind(factor.unit) == "pressure" and ratio is not None:
            highest = round(convert(most / ratio, "MPa", factor.unit), 9)
            if highest < factor.high:
                rules.append({factor.name: (">", highest)})
    return tuple(rules)
