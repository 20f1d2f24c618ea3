"""Settings of one study as they are set in another."""

import pytest

from shotwindow.doe.common_factors import match_factors
from shotwindow.doe.errors import StudyError
from shotwindow.doe.study import Study, parse_study

PRESSURE = '[factors.pressure]\nunit = "{}"\nlow = 1\nhigh = 90\nstep = 1\nlimits = [0, 900]\n'
MELT = '[factors.melt_temperature]\nunit = "{}"\nlow = 100\nhigh = 480\nstep = 1\n'


def _study(ratio: str, *tables: str) -> Study:
    return parse_study(f"[press]\n{ratio}\n" + "".join(tables))


def test_match__units_and_order__converted() -> None:
    a = _study("", PRESSURE.format("bar"), MELT.format("degC"))
    b = _study("", MELT.format("degF"), PRESSURE.format("psi"))
    match = match_factors(a, b)
    # 1 bar = 14.5038 psi (NIST SP 811, appendix B.8); 220 degC = 428 degF
    assert match.there([[10.0, 220.0]])[0] == pytest.approx([428.0, 145.038], rel=1e-5)
    assert match.by_gauge == ("pressure",) and match.by_melt == ()


def test_match__both_area_ratios__same_pressure_on_the_melt() -> None:
    a = _study("area_ratio = 12.0", PRESSURE.format("bar"))
    b = _study("area_ratio = 10.0", PRESSURE.format("bar"))
    assert match_factors(a, b).there([[5.0]]).tolist() == [[6.0]]  # 60 bar on the melt
    assert match_factors(a, b).by_melt == ("pressure",)


def test_match__melt_pressure_beside_gauge__needs_the_ratio_of_the_gauge() -> None:
    melt = _study("", PRESSURE.format("bar") + 'reads = "melt"\n')
    gauge = _study("area_ratio = 12.0", PRESSURE.format("bar"))
    assert match_factors(gauge, melt).there([[5.0]]).tolist() == [[60.0]]
    with pytest.raises(StudyError, match="area_ratio"):
        match_factors(_study("", PRESSURE.format("bar")), melt)


def test_match__other_factors__one_clear_message() -> None:
    with pytest.raises(StudyError, match="the same factors in both studies") as caught:
        match_factors(
            _study("", PRESSURE.format("bar")),
            _study("", PRESSURE.format("bar"), MELT.format("degC")),
        )
    assert len(caught.value.problems) == 1
