import csv
from pathlib import Path

import numpy as np
import pytest

from shotwindow.models.melt import (
    KELVIN,
    POLYPROPYLENE,
    POLYSTYRENE,
    CarreauArrhenius,
    CrossWlf,
    PowerLaw,
)

TABLE = Path(__file__).parent / "reference" / "practice_press" / "cross_wlf.csv"
MELTS = {"polystyrene": POLYSTYRENE, "polypropylene": POLYPROPYLENE}


def rows() -> list[tuple[str, float, float, float]]:
    with TABLE.open(newline="") as file:
        return [
            (r["melt"], float(r["kelvin"]), float(r["rate_1_s"]), float(r["viscosity_pa_s"]))
            for r in csv.DictReader(file)
        ]


@pytest.mark.parametrize(("name", "kelvin", "rate", "viscosity"), rows())
def test_cross_wlf__worked_values(name: str, kelvin: float, rate: float, viscosity: float) -> None:
    melt: CrossWlf = MELTS[name]
    scale = melt.rate_scale(kelvin - KELVIN)
    if rate == 0.0:
        assert melt.stress_scale / scale == pytest.approx(viscosity, rel=2e-6)
        return
    # The stress eta x rate at the wall of a slit must give the flow whose Weissenberg-Rabinowitsch
    # wall rate, 2 (2 + slope) v / h, is that rate.
    speed, slope = melt.curve.slit.at(np.log(np.array([viscosity * rate]) / melt.stress_scale))
    assert 2 * (2 + slope[0]) * np.exp(speed[0]) * scale == pytest.approx(rate, rel=4e-3)


def test_cross_wlf__grade__thicker_by_as_much() -> None:
    twice = CrossWlf(0.3, 3e4, 1e12, 260.0, 26.0, 51.6, grade=2.0)
    once = CrossWlf(0.3, 3e4, 1e12, 260.0, 26.0, 51.6)
    assert twice.rate_scale(210.0) == pytest.approx(once.rate_scale(210.0) / 2)


def test_power_law__heat__thins_as_stated() -> None:
    # tau = m g^n with m falling by exp(-0.01 x 10): at the same stress g rises by exp(0.1 / n).
    melt = PowerLaw(0.4, 6e3, 0.01, 200.0)
    assert melt.rate_scale(210.0) / melt.rate_scale(200.0) == pytest.approx(np.exp(0.1 / 0.4))


def test_carreau__heat__arrhenius() -> None:
    # 50 kJ/mol from 200 to 220 degC: exp(50000 / 8.314463 (1 / 473.15 - 1 / 493.15)) = 1.67439
    melt = CarreauArrhenius(0.4, 2000.0, 0.1, 5e4, 200.0)
    assert melt.rate_scale(220.0) / melt.rate_scale(200.0) == pytest.approx(1.67439, rel=1e-5)
    assert melt.stress_scale == pytest.approx(20_000.0)


@pytest.mark.parametrize(
    "melt",
    [POLYPROPYLENE, PowerLaw(0.4, 6e3, 0.01, 200.0), CarreauArrhenius(0.4, 2e3, 0.1, 5e4, 200.0)],
)
def test_every_law__hotter__flows_faster(melt: CrossWlf | PowerLaw | CarreauArrhenius) -> None:
    scales = melt.rate_scale(np.linspace(150.0, 300.0, 31))
    assert (np.diff(scales) > 0).all()
