"""A name -> an invented press that is always the same: forgiving, narrow, unbalanced, and so on.

Two molds of our own: a plant label in polypropylene with four cavities, weighed, and a clip for
seed trays in polyethylene with two cavities, whose flash is graded. All constants are invented
unless a source is named.
"""

from dataclasses import dataclass, replace

import numpy as np

from shotwindow.doe.factors import Factor
from shotwindow.models.filling import MoldShape
from shotwindow.models.flashing import Clamp, GapFlash, OrificeFlash, PassingPacking, RisingPacking
from shotwindow.models.freezing import SlabFreezing, StefanFreezing
from shotwindow.models.melt import POLYPROPYLENE, CarreauArrhenius
from shotwindow.models.placing import Places, with_edges
from shotwindow.models.press import Density, Press, Scatter

_SCATTER = Scatter(
    melt_group=1.2,
    mold_group=1.2,
    melt_shot=0.5,
    mold_shot=0.5,
    pressure=0.008,
    time=0.02,
    charge=0.02,
    fill=0.005,
    flash=0.08,
    lot=0.06,
)
_LABEL_FACTORS = (
    Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05),
    Factor("melt_temperature", "degC", 205.0, 235.0, 1.0, (190.0, 250.0), 0.5, "gauge", 15.0, 25.0),
    Factor("mold_temperature", "degC", 30.0, 50.0, 1.0, (20.0, 70.0), 0.5, "gauge", 10.0, 20.0),
    Factor("injection_time", "s", 3.0, 8.0, 0.5, (1.0, 12.0), 0.25),
)
_LABEL_MOLD = MoldShape(
    manifold_length=(0.02, 0.0, 0.0, 0.0),
    manifold_radius=0.0035,
    runner_length=(0.018, 0.020, 0.019, 0.018),
    runner_radius=(0.002,) * 4,
    gate_length=(0.001,) * 4,
    gate_width=(0.006,) * 4,
    gate_gap=(0.0022, 0.0022, 0.0021, 0.0022),
    length=(0.070,) * 4,
    width=(0.014,) * 4,
    gap=(0.00240, 0.00239, 0.00241, 0.00240),
)
_LABEL = Press(
    name="plant label",
    family="A",
    factors=_LABEL_FACTORS,
    gains=(0.0, 0.0, 0.0, 0.0),
    held=(4.0, 220.0, 40.0, 5.5),
    area_ratio=12.0,
    friction=0.2e6,
    charge_loss=0.2,
    melt=POLYPROPYLENE,
    # Diffusivity: k / (rho cp) of polypropylene, Crawford, Plastics Engineering, table 1.8.
    freezing=SlabFreezing(diffusivity=1.1e-7, no_flow=135.0),
    mold=_LABEL_MOLD,
    packing=RisingPacking(time=1.0, at=220.0),
    clamp=Clamp(np.inf, np.inf),
    # The least vent depth of polypropylene, 0.0005 in (tests/reference/molding/vent_depths.csv).
    flash=GapFlash(vent=0.0127e-3, clearance=(7e-6, 8e-6, 7e-6, 7.5e-6), give=(1e-12,) * 4),
    starving=0.15,
    moisture=0.3,
    burn_from=262.0,
    mold_rise=4.0,
    scatter=_SCATTER,
    full_mass_g=(2.10, 2.11, 2.09, 2.10),
    density=Density(gain=2e-9, loss=6e-4, packed=1e6, at=220.0),
    flash_limits_mm=(0.02, 0.1, 0.5),
    flash_good_mm=0.1,
)
_CLIP = Press(
    name="seed-tray clip",
    family="B",
    factors=(
        Factor("pressure", "psi", 40.0, 80.0, 1.0, (0.0, 100.0), 0.5),
        Factor(
            "melt_temperature", "degF", 370.0, 420.0, 5.0, (340.0, 450.0), 2.5, "gauge", 12.0, 20.0
        ),
        Factor("injection_time", "s", 3.0, 9.0, 0.5, (1.0, 15.0), 0.25),
    ),
    gains=(0.0, 0.0, 0.0),
    held=(4.0, 200.0, 35.0, 6.0),
    area_ratio=10.5,
    friction=0.15e6,
    charge_loss=0.25,
    melt=CarreauArrhenius(n=0.45, eta0=2000.0, lag=0.1, energy=4.0e4, t_ref=200.0),
    # Diffusivity as printed for high-density polyethylene in Crawford, Plastics Engineering, table
    # 1.8; k / (rho cp) of the same row gives 1.20e-7.
    freezing=StefanFreezing(diffusivity=1.57e-7, no_flow=118.0, heat=70.0),
    mold=MoldShape(
        manifold_length=(0.02, 0.012),
        manifold_radius=0.003,
        runner_length=(0.012, 0.012),
        runner_radius=(0.002, 0.002),
        gate_length=(0.001, 0.001),
        gate_width=(0.005, 0.005),
        gate_gap=(0.0021, 0.0021),
        length=(0.062, 0.062),
        width=(0.015, 0.015),
        gap=(0.0025, 0.0025),
    ),
    packing=PassingPacking(),
    clamp=Clamp(np.inf, np.inf),
    flash=OrificeFlash(lift=(1.0e5, 1.1e5), slot=2e-5, spread=1.0, melt_at=200.0, mold_at=35.0),
    starving=0.1,
    moisture=0.2,
    burn_from=260.0,
    mold_rise=3.0,
    scatter=_SCATTER,
    full_mass_g=(2.15, 2.15),
    density=Density(gain=2e-9, loss=7e-4, packed=0.4e6, at=200.0),
    flash_limits_mm=(0.02, 0.1, 0.5),
    flash_good_mm=0.1,
)


@dataclass(frozen=True)
class _Recipe:
    press: Press
    places: Places


def _label(name: str, mold: MoldShape, places: Places) -> _Recipe:
    return _Recipe(replace(_LABEL, name=f"plant label, {name}", mold=mold), places)


_RECIPES = {
    "forgiving": _label(
        "four even cavities", _LABEL_MOLD, Places((-0.6, 0, 0, 0), (0.6, 0, 0, 0), 1.1, 2e-5)
    ),
    # Common practice, no source: on a small air-driven press good parts may come from 60 to 65 psi
    # on the gauge only.
    "narrow": _Recipe(
        replace(
            _LABEL,
            name="plant label, one cavity",
            factors=(Factor("pressure", "psi", 50.0, 75.0, 1.0, (0.0, 100.0), 0.5),),
            gains=(0.0,),
            mold=MoldShape(
                manifold_length=(0.02,),
                manifold_radius=0.0035,
                runner_length=(0.018,),
                runner_radius=(0.002,),
                gate_length=(0.001,),
                gate_width=(0.006,),
                gate_gap=(0.0022,),
                length=(0.070,),
                width=(0.014,),
                gap=(0.0024,),
            ),
            flash=GapFlash(vent=0.0127e-3, clearance=(7e-6,), give=(1e-12,)),
            full_mass_g=(2.10,),
        ),
        Places((-0.36,), (0.36,), 0.97, 8e-5),
    ),
    "unbalanced": _label(
        "one cavity thin",
        replace(
            _LABEL_MOLD,
            runner_length=(0.018, 0.020, 0.019, 0.034),
            gap=(0.00240, 0.00239, 0.00241, 0.00232),
        ),
        Places((-0.2, 0, 0, 0), (0.3, 0, 0, 0), 1.1, 2e-5),
    ),
    "impossible": _label(
        "one cavity blocked",
        replace(
            _LABEL_MOLD,
            runner_length=(0.018, 0.020, 0.019, 0.060),
            gap=(0.00245, 0.00239, 0.00241, 0.00210),
        ),
        Places((0.6, 0, 0, 0), (-0.1, 0, 0, 0), 1.1, 2e-5),
    ),
    "clip": _Recipe(_CLIP, Places((-0.5, 0, 0), (0.3, 0, 0), 1.2, 2e-5)),
}
#: Names that `preset` knows.
PRESETS = tuple(_RECIPES)


def preset(name: str) -> Press:
    """Return one of the invented presses.

    Parameters
    ----------
    name : str
        "forgiving" (plant label, four cavities, four factors), "narrow" (one cavity, pressure
        alone, 60 to 65 psi), "unbalanced" (one cavity fills last), "impossible" (one cavity
        flashes before another is full), "clip" (seed-tray clip, two cavities, three factors).

    Raises
    ------
    ValueError
        If there is no press of this name.

    Examples
    --------
    >>> from shotwindow.models.presets import preset
    >>> preset("forgiving").cavities
    4
    """
    if name not in _RECIPES:
        raise ValueError(f"no press {name!r}; there are {', '.join(PRESETS)}")
    press = with_edges(_RECIPES[name].press, _RECIPES[name].places)
    assert press is not None  # the recipes are fixed, and a test makes each of them
    return press
