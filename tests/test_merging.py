import pytest
from sheets import EYE, MASS, plan, table

from shotwindow.doe.history import Sheet, with_values
from shotwindow.doe.merging import Merge, merge
from shotwindow.doe.plan_file import planned_sheet
from shotwindow.doe.study import parse_study
from shotwindow.doe.tables import read_table

Cells = dict[str, str]


def sheet_of(text: str = EYE, recorded: dict[int, Cells] | None = None) -> Sheet:
    return with_values(planned_sheet(parse_study(text), plan()), recorded or {})


def merged(
    rows: list[Cells],
    recorded: dict[int, Cells] | None = None,
    *,
    text: str = EYE,
    whole: bool = False,
    separator: str = ",",
) -> Merge:
    data = table(rows, separator)
    return merge(
        parse_study(text), sheet_of(text, recorded), read_table("mine.csv", data), whole=whole
    )


def filled(shot: int, fill: str = "96", flash: str = "0", **more: str) -> Cells:
    return {"shot": str(shot), "fill (%)": fill, "flash (mm)": flash, **more}


def whole_sheet(recorded: dict[int, Cells], changed: dict[int, Cells]) -> list[Cells]:
    """The run sheet as a spreadsheet holds it, with some cells changed."""
    sheet = sheet_of(EYE, recorded)
    return [
        {**{name: cells.get(name, "") for name in sheet.columns}, **changed.get(shot, {})}
        for shot, cells in sheet.cells.items()
    ]


DONE = {3: {"fill (%)": "96", "flash (mm)": "0", "status": "ok"}}


def test_merge__results__shortest_text_of_each_changed_cell() -> None:
    found = merged([filled(4, "96,50 %", "none"), filled(3)], separator=";")
    assert found.refused == ()
    assert found.values == {
        4: {"fill (%)": "96.5", "flash (mm)": "0"},
        3: {"fill (%)": "96", "flash (mm)": "0"},
    }


def test_merge__empty_cell_of_results__changes_nothing() -> None:
    assert merged([filled(3, "", "")], DONE).values == {}
    assert merged([filled(3, "95", "")], DONE).values == {3: {"fill (%)": "95"}}


def test_merge__every_wrong_cell__all_at_once_with_row_and_column() -> None:
    rows = [filled(3, "much"), filled(4, "96", ""), filled(5, "1,250", "0"), filled(99), filled(6)]
    found = merged([*rows, filled(6), filled(7, "0.9", "-1")], separator=";")
    assert [(p.place, p.found) for p in found.refused] == [
        ('mine.csv, row 5, "shot" (A5)', "99"),
        ('mine.csv, row 7, "shot" (A7)', "shot 6 again (also in row 6)"),
        ('mine.csv, row 2, "fill (%)" (B2)', '"much"'),
        ('mine.csv, row 3, "flash (mm)" (C3)', "an empty cell"),
        ('mine.csv, row 4, "fill (%)" (B4)', "1,250"),
        ('mine.csv, row 8, "fill (%)" (B8)', "0.9"),
        ('mine.csv, row 8, "flash (mm)" (C8)', "-1"),
    ]
    assert list(found.values) == [6]


def test_merge__planned_cell_differs__named_and_nothing_taken_of_the_row() -> None:
    changed = {"pressure (bar)": "4.2", "kind": "Optimal", "melt temperature (degC)": "210.0"}
    found = merged([filled(4, **changed)])
    assert [str(problem) for problem in found.refused] == [
        'mine.csv, row 2, "pressure (bar)" (D2): found 4.2; expected 4 as planned; put the planned '
        'value back; what was really set belongs under "actual pressure (bar)"'
    ]
    assert found.values == {}


def test_merge__other_lot__is_taken() -> None:
    assert merged([filled(4, lot="B 77")]).values[4]["lot"] == "B 77"


def test_merge__unquoted_decimal_comma__stray_cell_named() -> None:
    data = b"shot,fill (%),flash (mm)\r\n3,96,0,04\r\n"
    found = merge(parse_study(EYE), sheet_of(), read_table("mine.csv", data), whole=False)
    assert "needs quotes" in str(found.refused[0])
    assert "(D2)" in found.refused[0].place


def test_merge__run_sheet_itself__emptied_cell_is_a_change() -> None:
    recorded = {3: {**DONE[3], "note": "cold"}}
    rows = whole_sheet(recorded, {3: {"note": "", "status": ""}})
    assert merged(rows, recorded, whole=True).values == {3: {"note": "", "status": ""}}


def test_merge__run_sheet_without_a_reading__named() -> None:
    found = merged(whole_sheet(DONE, {3: {"fill (%)": ""}}), DONE, whole=True)
    assert [problem.place for problem in found.refused] == ['mine.csv, row 4, "fill (%)" (J4)']


def test_merge__old_copy_saved_over_the_run_sheet__shots_put_back_and_notes_taken() -> None:
    old_row = {"fill (%)": "", "flash (mm)": "", "status": "", "note": "quiet"}
    rows = whole_sheet(DONE, {3: old_row, 4: {"note": "mind the gate"}})
    found = merged(rows, DONE, whole=True)
    assert found.put_back == (3,)
    assert found.values == {3: {"note": "quiet"}, 4: {"note": "mind the gate"}}


def test_merge__rows_sorted_and_columns_moved__no_change() -> None:
    rows = [dict(reversed(row.items())) for row in reversed(whole_sheet(DONE, {}))]
    found = merged(rows, DONE, whole=True, separator=";")
    assert (found.values, found.problems, found.refused) == ({}, (), ())


def test_merge__run_sheet_lost_a_row__said() -> None:
    rows = [row for row in whole_sheet({}, {}) if row["shot"] != "5"]
    assert "no row for shot 5" in str(merged(rows, whole=True).problems[0])


def test_merge__own_column__kept() -> None:
    found = merged([filled(3, photo="a.jpg")])
    assert found.columns[-1] == "photo"
    assert found.values[3]["photo"] == "a.jpg"


def test_merge__total_mass_in_place_of_each__columns_change() -> None:
    row = {"shot": "3", "mass (g)": "5.9", "short cavities": "2", "flash (mm)": "0"}
    found = merged([row], text=MASS)
    assert (found.problems, found.refused) == ((), ())
    assert "mass 1 (g)" not in found.columns
    assert found.values[3] == {"mass (g)": "5.9", "short cavities": "2", "flash (mm)": "0"}


def test_merge__total_mass_after_each__shots_without_it_named() -> None:
    recorded = {4: {"mass 1 (g)": "1.9", "mass 2 (g)": "3.9", "flash (mm)": "0", "status": "ok"}}
    row = {"shot": "3", "mass (g)": "5.9", "short cavities": "2", "flash (mm)": "0"}
    found = merged([row], recorded, text=MASS)
    assert {problem.place for problem in found.problems} == {
        'shot 4, "mass (g)"',
        'shot 4, "short cavities"',
    }


@pytest.mark.parametrize(("fill", "asked"), [("4.09", 1), ("4.0", 0)])
def test_merge__questions__of_changed_readings_only(fill: str, asked: int) -> None:
    heavy = {"mass 1 (g)": "2.1", "mass 2 (g)": "3.9", "flash (mm)": "0", "status": "ok"}
    row = {"shot": "4", "mass 1 (g)": "1.9", "mass 2 (g)": fill, "flash (mm)": "0"}
    found = merged([row, {"shot": "3"} | heavy], {3: heavy}, text=MASS)
    assert len(found.questions) == asked
