"""The run sheet, line by line: only what changes is marked, and every wait has its line."""

from dataclasses import replace

import pytest
from invented_shots import planned, recorded, study

from shotwindow.doe.columns import standard_layout
from shotwindow.doe.plan_file import planned_sheet
from shotwindow.doe.records import rows_of
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study
from shotwindow.reports.sheet import GroupLine, RunSheet, ShotLine, facts, reading_rules, run_sheet


def _rows(name: str) -> tuple[Row, ...]:
    return rows_of(study(name), planned_sheet(study(name), planned(name)))


def _sheet(name: str, rows: tuple[Row, ...] | None = None, made: Study | None = None) -> RunSheet:
    made = made or study(name)
    return run_sheet(made, standard_layout(made), rows or _rows(name), ("Hot.",))


def test_run_sheet__settings__marked_where_they_differ_from_the_line_above() -> None:
    rows, lines = _rows("map"), _sheet("map").shots
    assert all(setting.changed for setting in lines[0].settings)
    for before, row, line in zip(rows, rows[1:], lines[1:], strict=False):
        expected = [a != b for a, b in zip(row.settings, before.settings, strict=True)]
        assert [setting.changed for setting in line.settings] == expected
    assert [line.shot for line in lines] == [row.shot for row in rows]


def test_run_sheet__shots_of_an_optimal_plan__not_called_optimal_on_paper() -> None:
    rows = [r if r.kind == "warm-up" else replace(r, kind="optimal") for r in _rows("map")]
    assert {line.kind for line in _sheet("map", tuple(rows)).shots} == {"warm-up", "planned"}


def test_run_sheet__each_group__has_its_soak_and_warm_up_line() -> None:
    lines = _sheet("map").lines
    groups = [line for line in lines if isinstance(line, GroupLine)]
    assert len(groups) == 4
    assert groups[0].text == (
        "Group 1: heat up to melt temperature 205 degC, 20 min; then 1 warm-up shot to throw away."
    )
    assert "melt temperature from 205 to 215 degC; soak " in groups[1].text
    assert isinstance(lines[0], GroupLine) and isinstance(lines[1], ShotLine)
    assert lines[1].is_warm_up and lines[1].readings == ("-", "-")


def test_run_sheet__recorded_shots__are_filled_in() -> None:
    rows = recorded("cube")
    lines = _sheet("cube", rows).shots
    for row, line in zip(rows, lines, strict=True):
        if row.kind != "warm-up":
            assert [float(text) for text in line.readings] == pytest.approx([*row.fill, *row.flash])


def test_run_sheet__void_and_notes__are_told() -> None:
    rows = list(recorded("dial"))
    rows[2] = replace(rows[2], status="void", note="door open", other="")
    assert _sheet("dial", tuple(rows)).shots[2].note == "void; door open"


def test_run_sheet__many_cavities__share_one_wide_cell() -> None:
    made = study("cube")
    many = replace(made, mold=replace(made.mold, cavities=16))
    sheet = _sheet("cube", recorded("cube"), many)
    assert sheet.reading_heads == ("fill 1 (%) to 16", "flash (mm)")
    assert all(len(line.readings) == 2 for line in sheet.shots)


def test_run_sheet__heads__are_those_of_runs_csv_with_where_pressure_is_read() -> None:
    sheet = _sheet("cube")
    assert sheet.setting_heads[0] == "pressure (bar gauge)"
    assert sheet.reading_heads == ("fill 1 (%)", "fill 2 (%)", "flash (mm)")


def test_facts__nothing_told__is_left_to_fill_in() -> None:
    told = dict(facts(study("map")))
    assert told["melt pressure"] == "12 times the gauge pressure"
    assert told["lot"] == "" and told["dried"] == ""
    dried = replace(study("map").material, dried_degC=80.0, dried_h=4.0)
    assert dict(facts(replace(study("map"), material=dried)))["dried"] == "80 degC for 4 h"


@pytest.mark.parametrize(
    ("name", "grade", "told"),
    [
        ("polypropylene", "H10", "polypropylene, grade H10"),
        ("polypropylene", "", "polypropylene"),
        ("", "H10", "grade H10"),
        ("", "", ""),
    ],
)
def test_facts__material__its_grade_is_called_one(name: str, grade: str, told: str) -> None:
    material = replace(study("map").material, name=name, grade=grade)
    assert dict(facts(replace(study("map"), material=material)))["material"] == told


def test_facts__mold_without_a_name__its_cavities_alone() -> None:
    made = study("map")
    assert dict(facts(replace(made, mold=replace(made.mold, name="", cavities=2))))["mold"] == (
        "2 cavities"
    )


def test_reading_rules__each_way_of_reading__has_its_own() -> None:
    by_eye, width, spoiled = reading_rules(study("map"))
    assert "steps of 2" in by_eye and "0.1 mm" in width and "void" in spoiled
    made = study("map")
    weighed = replace(made, fill=replace(made.fill, measured="mass", step=0.01))
    assert "weigh each part to 0.01 g" in reading_rules(weighed)[0]
    assert "3 heavy" in reading_rules(study("graded"))[1]
