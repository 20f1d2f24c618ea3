"""The set-up sheet: what hangs at the press says what was found, and "confirmed" only where so."""

from dataclasses import replace

import pytest
from invented_shots import findings

from shotwindow.doe.attempts import Attempt
from shotwindow.doe.errors import Unanswerable
from shotwindow.models.judgement import CANNOT_TELL, CONFIRMED, NOT_CONFIRMED, Judgement
from shotwindow.reports.attempt_verdicts import Judged
from shotwindow.reports.findings import Findings
from shotwindow.reports.notes import notes
from shotwindow.reports.set_up import set_up
from shotwindow.reports.set_up_words import confirmation
from shotwindow.reports.sheet import reading_rules


def judged(found: Findings, answer: str, moved: float = 0.0) -> Judged:
    assert found.setpoint is not None
    place = tuple(value + moved for value in found.setpoint.settings)
    attempt = Attempt(2, 0.95, 0.9, 0, 2, place, (), (), 0.8, 1, "molding", "")
    judgement = Judgement(answer, 45, 0, 3, 0.953, 0.86, 0, 0, 1.0, (), 2, (0, 0))
    return Judged(attempt, judgement, found, None, ())


def test_confirmation__confirmed_at_this_setpoint__says_so_and_why() -> None:
    status, proof = confirmation(findings("map"), judged(findings("map"), CONFIRMED))
    assert status == "CONFIRMED"
    assert "attempt 2" in proof and "45 shots" in proof and "95 % good or more with 90 %" in proof
    assert "2 temperature groups" in proof and "86 % over other groups" in proof


@pytest.mark.parametrize("answer", [NOT_CONFIRMED, CANNOT_TELL])
def test_confirmation__any_other_answer__not_confirmed(answer: str) -> None:
    status, proof = confirmation(findings("map"), judged(findings("map"), answer))
    assert status == "NOT CONFIRMED" and answer in proof and "3 still to be made" in proof


def test_confirmation__setpoint_moved_since__not_confirmed() -> None:
    status, proof = confirmation(findings("map"), judged(findings("map"), CONFIRMED, moved=0.1))
    assert status == "NOT CONFIRMED" and "another setpoint" in proof


def test_confirmation__never_tried__not_confirmed() -> None:
    assert confirmation(findings("map"), None)[0] == "NOT CONFIRMED"


def test_set_up__settings__value_range_hold_and_both_margins() -> None:
    found = findings("map")
    assert found.setpoint is not None and found.ranges is not None
    sheet = set_up(found, None, ("Hot.",))
    pressure, melt = sheet.settings
    value = found.setpoint.settings[0]
    assert pressure.value == f"{value:g} bar gauge"
    assert pressure.beside == f"about {12 * value:.3g} bar melt"  # the press multiplies by 12
    marks = found.study.factors[0].marks
    assert f"{marks[found.ranges.low[0]]:g} to {marks[found.ranges.high[0]]:g}" in pressure.span
    assert pressure.held == "+/-0.05 bar"
    assert pressure.down.startswith("short: ") and pressure.up.startswith("flash: ")
    assert melt.beside == "" and melt.value.endswith("degC")


def test_set_up__pressure_read_on_the_melt__gauge_beside_it() -> None:
    found = findings("map")
    factors = (replace(found.study.factors[0], reads="melt"), *found.study.factors[1:])
    sheet = set_up(replace(found, study=replace(found.study, factors=factors)), None, ())
    assert found.setpoint is not None
    assert sheet.settings[0].beside == f"about {found.setpoint.settings[0] / 12:.3g} bar gauge"


def test_set_up__start_and_criteria__as_in_the_study() -> None:
    sheet = set_up(findings("map"), None, ("Hot.",))
    start = " ".join(sheet.starting)
    assert "soak 15 min up, 25 min down" in start and "warm-up shot" in start
    assert "full by eye" in sheet.good[0] and "0.1 mm at most" in sheet.good[1]
    seen = replace(findings("map").readings, reasons=("sink", "burn"))
    rejected = set_up(replace(findings("map"), readings=seen), None, ())
    assert rejected.good[2] == "No sink or burn."
    assert sheet.cautions == ("Hot.",) and "f" * 64 in sheet.data
    assert set(notes(findings("map"))) <= set(sheet.minding)


def test_set_up__weighed_parts__least_mass_of_each_cavity() -> None:
    found = findings("map")
    fill = replace(found.study.fill, measured="mass", step=0.01, full_from=98.0)
    mold = replace(found.study.mold, cavities=2, full_mass_g=(2.0, 3.0))
    weighed = replace(found, study=replace(found.study, fill=fill, mold=mold))
    assert "98 %" in set_up(weighed, None, ()).good[0]
    assert "(1.96, 2.94 g)" in set_up(weighed, None, ()).good[0]


@pytest.mark.parametrize(("good", "words"), [(0, "none"), (1, "witness line within the limit")])
def test_set_up__graded_flash__the_grade_in_words_as_the_run_sheet_has_them(
    good: int, words: str
) -> None:
    found = findings("graded")
    flash = replace(found.study.flash, good=float(good))
    study = replace(found.study, flash=flash)
    told = set_up(replace(found, study=study), None, ()).good[1]
    assert told == f"Flash: grade {good} ({words}) at most."
    assert f"{good} {words}," in reading_rules(study)[1]


def test_set_up__no_setpoint__unanswerable() -> None:
    assert findings("short").setpoint is None
    with pytest.raises(Unanswerable, match="No set-up sheet without a setpoint. No setting"):
        set_up(findings("short"), None, ())


def test_set_up__no_ranges__keep_to_the_mark() -> None:
    sheet = set_up(replace(findings("map"), ranges=None), None, ())
    assert sheet.settings[0].span == "none: keep to the mark"
    assert sheet.ranges.startswith("No range")


@pytest.mark.parametrize(("name", "window"), [("coarse", "sure"), ("between", "likely")])
def test_set_up__narrower_than_the_gauge_can_hold__warned_with_what_the_ranges_are(
    name: str, window: str
) -> None:
    found = findings(name)
    assert found.narrow is not None and found.narrow.probability_held < 0.9
    warning = set_up(found, None, ()).warning
    assert warning.startswith("The press cannot hold this setpoint: with pressure held to +/-2.5 ")
    assert f"can fall to {found.narrow.probability_held:.2f}, below 0.9." in warning
    assert f"The ranges below are those of the {window} window, for settings exactly" in warning
    assert set_up(replace(found, ranges=None), None, ()).warning.endswith("There are no ranges.")


def test_set_up__a_setpoint_that_is_held__no_warning() -> None:
    assert set_up(findings("map"), None, ()).warning == ""
