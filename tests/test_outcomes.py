from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor, natural_settings
from shotwindow.models.outcomes import Deviations, conditions, outcomes, true_latent
from shotwindow.models.presets import preset
from shotwindow.models.press import Press
from shotwindow.models.presses import random_press

Array = NDArray[np.float64]


def with_factors(press: Press, *factors: Factor, gains: tuple[float, ...] | None = None) -> Press:
    return replace(press, factors=factors, gains=gains or (0.0,) * len(factors))


def first_cavity(part: Any) -> Any:
    """Return a frozen record with the first entry alone of everything that has one a cavity."""
    values = {field.name: getattr(part, field.name) for field in fields(part)}
    return type(part)(**{k: v[:1] if isinstance(v, tuple) else v for k, v in values.items()})


def test_melt_pressure__area_ratio__published_example() -> None:
    # 800 psi on the gauge at a ratio of 10 are 8000 psi (551.6 bar) in the melt, worked at
    # https://www.ptonline.com/columns/understanding-intensification-ratio.
    gauge = Factor("pressure", "psi", 700.0, 900.0, 10.0, (0.0, 1000.0), 5.0)
    press = replace(with_factors(preset("narrow"), gauge), area_ratio=10.0, friction=0.0)
    shots = conditions(press, np.array([[800.0]]), Deviations.none(1))
    assert shots.pressure[0] == pytest.approx(551.6e5, rel=1e-4)


def test_units__the_same_settings__the_same_shots() -> None:
    press = preset("forgiving")
    limits = (0.0, 1000.0)
    other = with_factors(
        press,
        Factor("melt_temperature", "degF", 400.0, 450.0, 1.0, limits, 0.5),
        Factor("pressure", "kPa", 300.0, 500.0, 1.0, limits, 0.5),
        Factor("injection_time", "min", 0.05, 0.1, 0.01, limits, 0.005),
        Factor("mold_temperature", "degF", 90.0, 120.0, 1.0, limits, 0.5),
    )
    ours = true_latent(press, [[4.2, 225.0, 35.0, 6.0]])
    theirs = true_latent(other, [[437.0, 420.0, 0.1, 95.0]])
    for a, b in zip(ours, theirs, strict=True):
        np.testing.assert_allclose(a, b, rtol=1e-12)


def test_held__factor_left_out__takes_the_held_value() -> None:
    press = preset("forgiving")
    pressure_alone = with_factors(press, press.factors[0])
    np.testing.assert_allclose(
        true_latent(pressure_alone, [[4.2]]), true_latent(press, [[4.2, *press.held[1:]]])
    )


@pytest.mark.parametrize(
    ("acts_as", "gain", "field", "factor"),
    [
        ("pressure", 0.2, "pressure", np.exp(0.2)),
        ("time", 0.3, "time", np.exp(0.3)),
        (None, 0.1, "thickness", np.exp(0.1)),
    ],
)
def test_factor_of_own_name__acts_by_its_role(
    acts_as: str | None, gain: float, field: str, factor: float
) -> None:
    own = Factor("lever", "kN", 1.0, 2.0, 0.1, (0.0, 3.0), 0.05, acts_as=acts_as)
    press = replace(with_factors(preset("narrow"), own, gains=(gain,)), friction=0.0)
    shots = conditions(press, np.array([[1.5], [2.0]]), Deviations.none(2))
    values = getattr(shots, field)
    assert values[1] / values[0] == pytest.approx(factor)


def test_factor_of_own_name__temperature__adds_degrees() -> None:
    own = Factor("nozzle", "degC", 200.0, 220.0, 1.0, (0.0, 300.0), 0.5, acts_as="temperature")
    press = with_factors(preset("narrow"), own, gains=(9.0,))
    shots = conditions(press, np.array([[210.0], [220.0]]), Deviations.none(2))
    assert shots.melt[1] - shots.melt[0] == pytest.approx(9.0)


def test_wrong_shape__says_both() -> None:
    with pytest.raises(ValueError, match=r"\(2, 2\), expected \(n, 4\)"):
        true_latent(preset("forgiving"), [[4.0, 220.0], [4.0, 220.0]])


@pytest.mark.parametrize("name", ["forgiving", "narrow", "clip"])
def test_pressure__short_then_full_then_flash(name: str) -> None:
    # Common practice, no source: more injection pressure takes a mold from underfill through full
    # parts to flash.
    press = preset(name)
    codes = np.zeros((60, len(press.factors)))
    codes[:, 0] = np.linspace(-1.0, 1.0, 60)
    fill, flash = true_latent(press, natural_settings(press.factors, codes))
    short, flashed = (fill < 100).any(axis=1), (flash > press.flash_good_mm).any(axis=1)
    order = np.where(short, 0, np.where(flashed, 2, 1))
    assert (np.diff(order) >= 0).all()
    assert set(order) == {0, 1, 2}


@pytest.mark.parametrize("family", ["A", "B"])
@pytest.mark.parametrize("seed", range(4))
def test_more__fills_and_flashes_not_less(family: str, seed: int) -> None:
    # With one cavity: down to the error of the steps in time, one part in 2000 of fill and of
    # two thousandths of a millimeter of flash.
    press = random_press(family, seed, factors=4)
    rng = np.random.default_rng(seed)
    mold, flash = first_cavity(press.mold), first_cavity(press.flash)
    press = replace(press, mold=mold, flash=flash, full_mass_g=press.full_mass_g[:1])
    low = rng.uniform(-1.0, 1.0, (200, 4))
    for j in range(4):
        high = low.copy()
        high[:, j] += rng.uniform(0.01, 0.5, 200)
        less, more = (true_latent(press, natural_settings(press.factors, c)) for c in (low, high))
        assert (more[0] >= less[0] * (1 - 5e-4)).all()
        assert (more[1] >= less[1] - 2e-3).all()


def test_starving__flash_of_one__leaves_the_other_short() -> None:
    press = replace(preset("impossible"), starving=0.0)
    setting = [[5.0, 240.0, 50.0, 10.0]]
    fed, flash = true_latent(press, setting)
    starved, _ = true_latent(replace(press, starving=0.2), setting)
    worst = int(np.argmax(flash[0]))
    last = int(np.argmin(fed[0]))
    assert flash[0, worst] > 2 * press.flash_good_mm and last != worst
    assert starved[0, last] < 0.98 * fed[0, last]
    # the cavity that flashes loses less than those that it starves
    assert starved[0, worst] / fed[0, worst] > starved[0, last] / fed[0, last]


def test_hazards__moisture_and_heat() -> None:
    press = replace(preset("forgiving"), moisture=1.5, burn_from=240.0)
    settings = np.array([[4.0, 220.0, 40.0, 5.0], [4.0, 240.0, 40.0, 5.0]])
    splay, burn = outcomes(press, settings, Deviations.none(2)).hazard
    assert splay[0] == pytest.approx(0.5) and splay[1] > splay[0]
    assert burn[1] == pytest.approx(1.0) and burn[0] < 0.01
    dry = replace(press, moisture=1.0, burn_from=np.inf)
    assert outcomes(dry, settings, Deviations.none(2)).hazard.max() == 0.0


def test_chunks__many_settings__as_one_by_one() -> None:
    press = preset("clip")
    rng = np.random.default_rng(2)
    settings = natural_settings(press.factors, rng.uniform(-1, 1, (5000, 3)))
    fill, flash = true_latent(press, settings)
    for i in (0, 2047, 2048, 4999):
        one_fill, one_flash = true_latent(press, settings[i : i + 1])
        np.testing.assert_allclose(fill[i], one_fill[0], rtol=1e-12)
        np.testing.assert_allclose(flash[i], one_flash[0], rtol=1e-9)


def test_no_settings__no_rows() -> None:
    fill, flash = true_latent(preset("forgiving"), np.empty((0, 4)))
    assert fill.shape == flash.shape == (0, 4)
