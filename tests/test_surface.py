"""Surfaces of whole studies, graded ones against a published ordered probit."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from shotwindow.doe.factors import Factor
from shotwindow.doe.readings import Readings
from shotwindow.models.laplace import given
from shotwindow.models.posterior import Density, Observed
from shotwindow.models.responses import FAR, Latent, responses
from shotwindow.models.scales import Prior, warp
from shotwindow.models.surface import fit_surfaces, group_freedom

WINE = Path(__file__).parent / "reference" / "censored" / "wine.csv"

PRESSURE = Factor("pressure", "bar", 3.0, 5.0, 0.1, (0.0, 7.0), 0.05)
MELT = Factor("melt_temperature", "degC", 205.0, 235.0, 5.0, (190.0, 250.0), 2.0, soak_min=10.0)


def _readings(settings: np.ndarray, group: list[int], **changes: object) -> Readings:
    """Invented readings: fill rises with the mean coded setting, flash begins above it."""
    factors = (PRESSURE, MELT)
    height = warp(factors, settings).mean(axis=1)[:, None]
    percent = 100 + 15 * height
    full = percent >= 100
    width = np.maximum(0.1 + 0.4 * height, 0.0)
    seen = width >= 0.02
    plain = Readings(
        factors=factors,
        shot=np.arange(len(settings)),
        group=np.array(group),
        lot=np.array([""] * len(settings)),
        block=np.array(["1"] * len(settings)),
        settings=settings,
        actual=(),
        partly_actual=(),
        fill_low=np.where(full, 100.0, percent - 1.0),
        fill_high=np.where(full, np.inf, percent + 1.0),
        flash_low=np.where(seen, width - 0.01, -np.inf),
        flash_high=np.where(seen, width + 0.01, 0.02),
        flash_grade=None,
        other=None,
        reasons=(),
        fill_good=100.0,
        flash_good=0.1,
    )
    return replace(plain, **changes)  # type: ignore[arg-type] # names of its own fields


SETTINGS = np.array([[p, t] for t in (205.0, 220.0, 235.0, 220.0) for p in (3.0, 4.0, 5.0)])
GROUPS = [1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4]


def test_given__wine_of_randall_1989__ordered_probit_as_published() -> None:
    """Randall, Applied Statistics 38 (1989), data as in R package ordinal (wine).

    Coefficients at the published cut points; unit scatter, limit of the lowest grade at zero.
    """
    with open(WINE, encoding="utf-8") as file:
        heads = file.readline().strip().replace('"', "").split(",")
        rows = [line.strip().replace('"', "").split(",") for line in file if line.strip()]
    table = {h: np.array([row[i] for row in rows]) for i, h in enumerate(heads)}
    grade = table["rating"].astype(int) - 1
    design = np.column_stack(
        [np.ones(grade.size), table["temp"] == "warm", table["contact"] == "yes"]
    ).astype(float)
    limits = Latent(np.zeros(1), np.zeros(1), grade[:, None], cuts=4, good=0).limits
    steps = np.vstack([limits, np.zeros(3)])
    each = np.arange(grade.size)
    what = Density(
        Observed(
            design=design,
            low=np.where(grade > 0, 0.0, -np.inf),
            high=np.where(grade < 4, 0.0, np.inf),
            low_gaps=np.where((grade > 0)[:, None], steps[grade - 1], 0.0),
            high_gaps=np.where((grade < 4)[:, None], steps[grade], 0.0),
            cavity=0 * each, lot=0 * each, group=0 * each, shot=each,
            cavities=1, lots=1, groups=0, shots=grade.size,
        ),
        Prior(
            intercept_mean=0.0, intercept_sd=1e6, mean=np.zeros(2), sd=np.ones(2), effect=1e6,
            effect_spread=1.0, scatter=1.0, scatter_spread=1.0, cavity_sd=1.0, lot_sd=1.0,
        ),
    )  # fmt: skip
    cuts = np.array([-0.7732627, 0.7360215, 2.0446805, 2.9413450])
    scales = np.concatenate([[0.0, np.log(1e6)], np.log(np.diff(cuts))])[:, None]
    found = given(what, scales, np.zeros((1, 3)), steps=60)
    assert found.rest[0] == pytest.approx([0.7732627, 1.4993746, 0.8677435], abs=2e-6)
    fit = what.likelihood(what.rows @ found.rest.T, np.diff(cuts)[:, None], np.ones(1))
    assert fit.log_probability.sum() == pytest.approx(-85.76114836, abs=1e-6)
    # and the published cut points are where the likelihood is highest
    slope = what.data.low_gaps.T @ fit.low + what.data.high_gaps.T @ fit.high
    assert np.abs(slope).max() < 1e-4


def test_fit_surfaces__clear_effects__found() -> None:
    surfaces = fit_surfaces(_readings(SETTINGS, GROUPS), seed=1)
    assert surfaces.converged
    names = surfaces.fill.terms.names
    for surface in surfaces.each:
        for factor in ("pressure", "melt_temperature"):
            assert np.quantile(surface.coefficients[:, names.index(factor)], 0.05) > 0
    middle = np.array([[np.sqrt(15.0), 220.0]])  # coded zero: just full, flash just at its limit
    assert np.median(surfaces.fill.latent(middle)) == pytest.approx(0.0, abs=0.03)
    assert np.median(surfaces.flash.latent(middle)) == pytest.approx(np.sqrt(0.1), abs=0.06)


def test_fit_surfaces__same_seed__same_draws() -> None:
    one, two = (fit_surfaces(_readings(SETTINGS, GROUPS), seed=3) for _ in range(2))
    assert np.array_equal(one.flash.coefficients, two.flash.coefficients)


def test_fit_surfaces__a_reject_reason__third_surface() -> None:
    burned = SETTINGS[:, 1] > 230
    surfaces = fit_surfaces(_readings(SETTINGS, GROUPS, other=burned, reasons=("burn",)))
    assert surfaces.other is not None and surfaces.other.limit == 0.0
    hot = surfaces.other.terms.names.index("melt_temperature")
    assert surfaces.other.coefficients[:, hot].mean() > 0


def test_fit_surfaces__no_slow_factor__no_group_scatter() -> None:
    readings = _readings(SETTINGS, [1] * 12)
    quick = replace(readings, factors=(PRESSURE, replace(MELT, soak_min=None)))
    surfaces = fit_surfaces(quick)
    assert surfaces.group_freedom == 0
    assert np.all(surfaces.fill.group_sd == 0)


@pytest.mark.parametrize(
    ("melts", "freedom"),
    [([205, 220, 235, 220], 2), ([205, 220, 235], 1), ([205, 220], 0), ([220, 220, 220], 2)],
)
def test_group_freedom__groups_less_a_straight_line(melts: list[float], freedom: int) -> None:
    settings = np.array([[p, t] for t in melts for p in (3.0, 5.0)])
    group = [g for g in range(len(melts)) for _ in range(2)]
    assert group_freedom(_readings(settings, group)) == freedom


def test_responses__very_wide_flash__only_known_to_be_heavy() -> None:
    readings = _readings(SETTINGS, GROUPS)
    assert readings.flash_low is not None
    wide = readings.flash_low.copy()
    wide[0, 0] = 10.0
    fill, flash = responses(replace(readings, flash_low=wide, flash_high=wide + 0.02))
    assert flash.latent.low[0, 0] == pytest.approx(np.sqrt(FAR * 0.1))
    assert np.isposinf(flash.latent.high[0, 0])
