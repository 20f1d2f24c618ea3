"""Surfaces of whole studies, graded ones against a published ordered probit."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from densities import most_probable

from shotwindow.doe.factors import Factor
from shotwindow.doe.readings import Readings
from shotwindow.doe.seeds import generator
from shotwindow.models.drawing import draw
from shotwindow.models.posterior import Density, Observed
from shotwindow.models.responses import FAR, Latent, responses
from shotwindow.models.scales import Prior, warp
from shotwindow.models.surface import fit_surfaces, group_freedom

WINE = Path(__file__).parent / "reference" / "censored" / "wine.csv"
HOUSING = WINE.parent / "housing.csv"
ENDOMETRIAL = WINE.parent / "endometrial.csv"

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


def _graded(design: np.ndarray, grade: np.ndarray, cuts: int) -> Density:
    """Grades of single shots under a prior so wide that the likelihood alone decides."""
    limits = Latent(np.zeros(1), np.zeros(1), grade[:, None], cuts=cuts, good=0).limits
    steps = np.vstack([limits, np.zeros(cuts - 1)])
    each, terms = np.arange(grade.size), design.shape[1] - 1
    return Density(
        Observed(
            design=design,
            low=np.where(grade > 0, 0.0, -np.inf),
            high=np.where(grade < cuts, 0.0, np.inf),
            low_gaps=np.where((grade > 0)[:, None], steps[grade - 1], 0.0),
            high_gaps=np.where((grade < cuts)[:, None], steps[grade], 0.0),
            cavity=0 * each, lot=0 * each, group=0 * each, shot=each,
            cavities=1, lots=1, groups=0, shots=grade.size,
        ),
        Prior(
            intercept_mean=0.0, intercept_sd=1e6, mean=np.zeros(terms), sd=np.ones(terms),
            effect=1e6, effect_spread=1.0, scatter=1.0, scatter_spread=1.0, cavity_sd=1.0,
            lot_sd=1.0,
        ),
    )  # fmt: skip


def _table(file: Path) -> dict[str, np.ndarray]:
    heads, *rows = (
        line.replace('"', "").split(",")
        for line in file.read_text(encoding="utf-8").splitlines()
        if line.strip()
    )
    return {head: np.array([row[i] for row in rows]) for i, head in enumerate(heads)}


def _at_published(what: Density, cuts: list[float]) -> tuple[np.ndarray, float, float]:
    """Coefficients at the published cut points, log likelihood, and its slope in the cuts."""
    gaps = np.diff(np.array(cuts))
    scales = np.concatenate([[0.0, np.log(1e6)], np.log(gaps)])[:, None]
    rest = most_probable(what, scales)
    fit = what.likelihood(what.rows @ rest[:, None], what.ends(what.logs(scales)), np.ones(1))
    slope = what.data.low_gaps.T @ fit.low + what.data.high_gaps.T @ fit.high
    return rest, float(fit.log_probability.sum()), float(np.abs(slope).max())


def test_likelihood__wine_of_randall_1989__ordered_probit_as_published() -> None:
    """Randall, Applied Statistics 38 (1989), data as in R package ordinal (wine).

    Coefficients at the published cut points; unit scatter, limit of the lowest grade at zero.
    """
    table = _table(WINE)
    grade = table["rating"].astype(int) - 1
    design = np.column_stack(
        [np.ones(grade.size), table["temp"] == "warm", table["contact"] == "yes"]
    ).astype(float)
    rest, likelihood, slope = _at_published(
        _graded(design, grade, 4), [-0.7732627, 0.7360215, 2.0446805, 2.9413450]
    )
    assert rest == pytest.approx([0.7732627, 1.4993746, 0.8677435], abs=2e-6)
    assert likelihood == pytest.approx(-85.76114836, abs=1e-6)
    assert slope < 1e-4  # the published cut points are where the likelihood is highest


def test_likelihood__housing_of_madsen_1976__ordered_probit_as_published() -> None:
    """Copenhagen housing (Madsen, Scand. J. Statist. 3 (1976) 97-106), data of R package MASS.

    Ordered probit of Venables and Ripley's package: satisfaction by influence, type and contact,
    1681 tenants. The limit of the lowest grade is at zero here, so that the intercept is the
    first cut point with its sign turned.
    """
    table = _table(HOUSING)
    times = table["Freq"].astype(int)
    grade = np.array([("Low", "Medium", "High").index(word) for word in table["Sat"]])
    columns = [np.ones(grade.size)]
    for head, words in (
        ("Infl", ("Medium", "High")),
        ("Type", ("Apartment", "Atrium", "Terrace")),
        ("Cont", ("High",)),
    ):
        columns += [(table[head] == word).astype(float) for word in words]
    design = np.column_stack(columns)
    rest, likelihood, slope = _at_published(
        _graded(np.repeat(design, times, axis=0), np.repeat(grade, times), 2),
        [-0.2998286, 0.4267220],
    )
    expected = [0.2998286, 0.3464227, 0.7829142, -0.3475368, -0.2178876, -0.6641736, 0.2223858]
    assert rest == pytest.approx(expected, abs=2e-5)
    assert -2.0 * likelihood == pytest.approx(3479.688843, abs=1e-5)
    assert slope < 0.05  # of 1681 grades


def test_draw__separated_data__finite_beside_penalized_likelihood() -> None:
    """Endometrial cancer (Heinze and Schemper, Stat. Med. 21 (2002) 2409-2419).

    No patient with NV = 1 has the better grade: maximum likelihood runs off, while Firth's
    penalty gives profile intervals of .61 to 7.85 for NV and -4.37 to -1.23 for EH (logits;
    recomputed from the paper's data). Ours must stay finite and inside them; a logit is about
    1.7 times the probit that is fitted here.
    """
    table = _table(ENDOMETRIAL)
    plain = np.column_stack([table[head].astype(float) for head in ("NV", "PI", "EH")])
    design = np.column_stack([np.ones(len(plain)), plain[:, 0], plain[:, 1] / 10.0, plain[:, 2]])
    what = _graded(design, table["HG"].astype(int), 1)
    soft = replace(what.prior, intercept_sd=8.0, effect=1.5, effect_spread=0.7, scatter_spread=1e-6)
    drawn = draw(replace(what, prior=soft), generator(1, "separated"), draws=800)
    assert drawn.diagnostics.converged
    logits = 1.7 * np.median(drawn.states[:4], axis=1)
    assert 0.61 < logits[1] < 7.85
    assert -0.124459 < logits[2] / 10.0 < 0.040455
    assert -4.365183 < logits[3] < -1.232721
    assert np.isfinite(drawn.states).all()


def test_fit_surfaces__clear_effects__found() -> None:
    surfaces = fit_surfaces(_readings(SETTINGS, GROUPS), seed=1)
    assert surfaces.converged
    names = surfaces.fill.terms.names
    for surface in surfaces.each:
        for factor in ("pressure", "melt_temperature"):
            assert np.quantile(surface.coefficients[:, names.index(factor)], 0.05) > 0
    middle = np.array([[np.sqrt(15.0), 220.0]])  # coded zero: just full, flash just at its limit
    assert np.median(surfaces.fill.latent(middle)) == pytest.approx(0.0, abs=0.03)
    assert np.median(surfaces.flash.latent(middle)) == pytest.approx(0.0, abs=0.3)  # of the limit


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


def test_fit_surfaces__no_slow_factor_but_two_days__days_scatter() -> None:
    readings = _readings(SETTINGS, [1] * 12)
    days = np.array(["1"] * 6 + ["2"] * 6)
    quick = replace(readings, factors=(PRESSURE, replace(MELT, soak_min=None)), block=days)
    lower = np.where(days == "2", 0.95, 1.0)[:, None]  # all of the second day is emptier
    apart = replace(quick, fill_low=lower * quick.fill_low, fill_high=lower * quick.fill_high)
    alike, other = fit_surfaces(quick), fit_surfaces(apart)
    assert np.median(other.fill.group_sd) > 1.5 * np.median(alike.fill.group_sd) > 0


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
    assert flash.latent.low[0, 0] == pytest.approx(np.log(FAR))
    assert np.isposinf(flash.latent.high[0, 0])
