import pytest
from sheets import EYE, plan

from shotwindow.doe.errors import StudyError
from shotwindow.doe.plan_file import planned_sheet
from shotwindow.doe.saving import checked_values
from shotwindow.doe.study import parse_study

STUDY = parse_study(EYE)
SHEET = planned_sheet(STUDY, plan())


def test_checked_values__only_what_changes_in_its_shortest_form() -> None:
    typed = {3: {"fill (%)": "96,0 %", "flash (mm)": " none ", "note": "", "other": "No"}}
    found = checked_values(STUDY, SHEET, typed, sure=False)
    assert found == {3: {"fill (%)": "96", "flash (mm)": "0"}}


def test_checked_values__several_shots__every_problem() -> None:
    typed = {3: {"fill (%)": "much"}, 4: {"status": "void"}}
    with pytest.raises(StudyError) as caught:
        checked_values(STUDY, SHEET, typed, sure=False)
    assert [problem.place for problem in caught.value.problems] == [
        'shot 3, "fill (%)"',
        'shot 3, "flash (mm)"',
        'shot 4, "note"',
    ]
