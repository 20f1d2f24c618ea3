from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets import EYE, GRADES, MASS

from shotwindow.doe.columns import standard_layout
from shotwindow.doe.headings import layout_of
from shotwindow.doe.history import Sheet, render
from shotwindow.doe.rows import Checked, Row, check_row, place_of, row_cells
from shotwindow.doe.study import parse_study
from shotwindow.doe.tables import Cell, read_table

PLANNED = {
    "shot": "3",
    "block": "1",
    "group": "1",
    "kind": "optimal",
    "pressure (bar)": "4.3",
    "melt temperature (degC)": "210",
}
TOTAL = (*PLANNED, "mass (g)", "short cavities", "flash (mm)", "status")


def checked(text: str, cells: dict[str, str], names: tuple[str, ...] = ()) -> Checked:
    study = parse_study(text)
    layout = layout_of(study, names, "runs.csv") if names else standard_layout(study)
    placed = {name: Cell(typed, 2, 1) for name, typed in {**PLANNED, **cells}.items()}
    return check_row(study, layout, placed, partial(place_of, 3))


def places(found: Checked) -> list[str]:
    return [problem.place for problem in found.problems]


def test_check_row__complete__ok_without_a_status() -> None:
    row = checked(EYE, {"fill (%)": "96", "flash (mm)": "0,04"}).row
    assert row is not None
    assert (row.settings, row.fill, row.flash, row.outcome) == (
        (4.3, 210.0),
        (96.0,),
        (0.04,),
        "ok",
    )
    assert row.is_fitted


def test_check_row__empty__open() -> None:
    row = checked(EYE, {}).row
    assert row is not None
    assert row.outcome == "open"
    assert not row.is_fitted


@pytest.mark.parametrize(
    ("cells", "named"),
    [
        ({"fill (%)": "96"}, ["flash (mm)"]),
        ({"flash (mm)": "0"}, ["fill (%)"]),
        ({"other": "sink"}, ["fill (%)", "flash (mm)"]),
        ({"status": "ok"}, ["fill (%)", "flash (mm)"]),
        ({"status": "void"}, ["note"]),
        ({"status": "void", "fill (%)": "96"}, ["note"]),
        ({"status": "no part", "flash (mm)": "0"}, ["flash (mm)"]),
        ({"status": "skipped", "fill (%)": "96", "flash (mm)": "0"}, ["fill (%)", "flash (mm)"]),
        ({"fill (%)": "much", "status": "fine"}, ["fill (%)", "flash (mm)", "status"]),
        ({"fill (%)": "much"}, ["fill (%)", "flash (mm)"]),
    ],
)  # fmt: skip
def test_check_row__each_wrong_cell__named(cells: dict[str, str], named: list[str]) -> None:
    assert sorted(places(checked(EYE, cells))) == [f'shot 3, "{name}"' for name in named]


@pytest.mark.parametrize(
    ("cells", "outcome", "fitted"),
    [
        ({"status": "void", "note": "no charge"}, "void", False),
        ({"status": "void", "note": "no charge", "fill (%)": "96"}, "void", False),
        ({"status": "no part"}, "no part", True),
        ({"status": "skipped"}, "skipped", False),
        ({"kind": "warm-up", "status": "ok"}, "ok", False),
        ({"kind": "warm-up", "fill (%)": "96", "flash (mm)": "0"}, "ok", False),
        ({"kind": "warm-up", "fill (%)": "96"}, "ok", False),
    ],
)
def test_check_row__each_status(cells: dict[str, str], outcome: str, fitted: bool) -> None:
    row = checked(EYE, cells).row
    assert row is not None
    assert (row.outcome, row.is_fitted) == (outcome, fitted)


def test_check_row__total_mass__needs_the_short_cavities() -> None:
    found = checked(MASS, {"mass (g)": "5.9", "flash (mm)": "0"}, TOTAL)
    assert places(found) == ['shot 3, "short cavities"']
    row = checked(MASS, {"mass (g)": "5.9", "flash (mm)": "0", "short cavities": "none"}, TOTAL).row
    assert row is not None
    assert row.short_cavities == ()


@pytest.mark.parametrize(
    ("mass", "flash", "asked"),
    [("2.04", "0", 0), ("2.05", "0", 1), ("2.05", "0.12", 0), ("full", "0", 0)],
    ids=["at-102", "above", "explained-by-flash", "word"],
)
def test_check_row__heavier_than_full__a_question(mass: str, flash: str, asked: int) -> None:
    found = checked(MASS, {"mass 1 (g)": mass, "mass 2 (g)": "3.9", "flash (mm)": flash})
    assert found.row is not None
    assert len(found.questions) == asked
    assert all("flash, or a wrong full mass" in str(question) for question in found.questions)


words = st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")), max_size=12).map(
    str.strip
)
numbers = st.integers(1, 150_000)


@given(
    shot=st.integers(1, 400),
    marks=st.tuples(st.integers(0, 20), st.integers(0, 30)),
    actual=st.tuples(st.none() | st.integers(2900, 5100), st.none() | st.integers(2000, 2400)),
    read=st.tuples(*[st.sampled_from(["full", "short"]) | st.integers(1, 2999)] * 2),
    remarks=st.tuples(words, words, words),
    short=st.none() | st.sets(st.integers(1, 2)),
)  # fmt: skip
def test_row_cells__written_and_read_back__the_same_row(
    shot: int,
    marks: tuple[int, int],
    actual: tuple[int | None, int | None],
    read: tuple[str | int, str | int],
    remarks: tuple[str, str, str],
    short: set[int] | None,
) -> None:
    study = parse_study(MASS)
    names = [*standard_layout(study).names, "short cavities", "photo"]
    layout = layout_of(study, names, "runs.csv")
    row = Row(
        shot=shot,
        block=remarks[0],
        lot=remarks[1],
        group=2,
        kind="optimal",
        settings=(float(study.factors[0].marks[marks[0]]), float(study.factors[1].marks[marks[1]])),
        actual=(
            None if actual[0] is None else actual[0] / 1000,
            None if actual[1] is None else actual[1] / 10,
        ),
        fill=tuple(value if isinstance(value, str) else value / 1000 for value in read),
        flash=(shot / 1000,),
        short_cavities=None if short is None else tuple(sorted(short)),
        other="sink",
        status="ok",
        note=remarks[2],
        extra=(remarks[1],),
    )
    data = render(Sheet(layout.names, {shot: row_cells(study, layout, row)}))
    for separated in (data, data.decode().encode("utf-8-sig")):
        table = read_table("runs.csv", separated)
        cells = dict(zip(layout.names, table.rows[0], strict=False))
        assert check_row(study, layout, cells, str).row == row


def test_row_cells__grades__whole_numbers() -> None:
    row = checked(GRADES, {"fill (%)": "96", "flash (grade)": "2"}).row
    assert row is not None
    study = parse_study(GRADES)
    assert row_cells(study, standard_layout(study), row)["flash (grade)"] == "2"
