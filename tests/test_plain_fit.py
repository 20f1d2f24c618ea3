"""Least squares with this study's numbers, against numpy's own and the readings as they stand."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings, recorded, study
from scipy.stats import t

from shotwindow.doe.factors import coded_settings
from shotwindow.reports.changes import usual_change
from shotwindow.reports.findings import find
from shotwindow.reports.plain_fit import (
    plain_crossing,
    plain_effect,
    plain_fit,
    worst_readings,
)


def test_worst_readings__as_written_on_the_sheet() -> None:
    found = findings("cube")
    rows = {row.shot: row for row in found.rows}
    fill, flash = (worst_readings(found.readings, r) for r in ("fill", "flash"))
    for shot, seen, width in zip(found.readings.shot.tolist(), fill, flash, strict=True):
        row = rows[shot]
        assert seen == pytest.approx(min(row.fill))  # type: ignore[type-var]
        assert width == pytest.approx(row.flash[0] or 0.0)


def test_worst_readings__no_part__has_no_flash() -> None:
    rows = list(recorded("dial"))
    rows[3] = replace(rows[3], fill=(None,), flash=(None,), status="no part")
    found = find(study("dial"), tuple(rows))
    at = found.readings.shot.tolist().index(rows[3].shot)
    assert worst_readings(found.readings, "fill")[at] == 50.0
    assert np.isnan(worst_readings(found.readings, "flash")[at])
    plain = plain_fit(found, "flash")
    assert plain is not None and len(plain.fit.response) == len(found.readings.shot) - 1


def test_plain_fit__coefficients__are_those_of_numpy() -> None:
    found = findings("dial")
    plain = plain_fit(found, "fill")
    assert plain is not None and plain.model == "quadratic"
    coded = coded_settings(found.study.factors, found.readings.settings)[:, 0]
    matrix = np.column_stack([np.ones(len(coded)), coded, coded**2])
    expected = np.linalg.lstsq(matrix, worst_readings(found.readings, "fill"), rcond=None)[0]
    assert plain.fit.coefficients == pytest.approx(expected)


def test_plain_effect__one_group__is_the_textbook_interval() -> None:
    found = findings("dial")
    plain, factor = plain_fit(found, "fill"), found.study.factors[0]
    assert plain is not None and plain.fit.covariance is not None
    effect = plain_effect(found, plain, 0)
    step = usual_change(factor) / ((factor.high - factor.low) / 2)
    margin = t.ppf(0.95, plain.fit.df) * np.sqrt(plain.fit.covariance[1, 1]) * step
    assert effect is not None
    assert effect.middle == pytest.approx(plain.fit.coefficients[1] * step)
    assert effect.high - effect.middle == pytest.approx(margin)


def test_plain_effect__slow_setting__is_judged_by_groups() -> None:
    found = findings("map")
    plain = plain_fit(found, "fill")
    assert plain is not None and plain.grouped.slow[plain.terms.names.index("melt_temperature")]
    effect = plain_effect(found, plain, 1)
    if effect is not None:  # few groups: wide, or not told at all
        fast = plain_effect(found, plain, 0)
        assert fast is not None and effect.high - effect.low > 0


def test_plain_fit__few_shots__smaller_model_or_none() -> None:
    rows = [row for row in recorded("avoid") if row.shot in (2, 3, 5, 6, 9)]
    found = find(study("avoid"), tuple(rows))
    plain = plain_fit(found, "fill")
    assert plain is not None and plain.model != "quadratic" and plain.fit.df >= 1
    assert plain_fit(find(study("avoid"), tuple(rows[:2])), "fill") is None


def test_plain_fit__repeats__lack_of_fit_is_tested() -> None:
    repeated, single = (plain_fit(findings(name), "fill") for name in ("dial", "avoid"))
    assert repeated is not None and repeated.anova.lack_of_fit is not None
    assert single is not None and single.anova.lack_of_fit is None


def test_plain_crossing__fill__lies_above_ours_since_100_is_no_reading() -> None:
    """The known bias: full parts hold the fitted surface down."""
    from shotwindow.reports.crossings import crossing

    found = findings("dial")
    plain = plain_fit(found, "fill")
    assert plain is not None
    theirs, ours = plain_crossing(found, plain, 0), crossing(found, found.surfaces.fill, 0).middle
    assert theirs is None or theirs > ours
