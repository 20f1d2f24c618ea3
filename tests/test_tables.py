import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.doe.errors import StudyError
from shotwindow.doe.tables import Table, column_letters, read_table


def texts(table: Table) -> list[list[str]]:
    return [[cell.text for cell in row] for row in table.rows]


@pytest.mark.parametrize("separator", [";", ",", "\t"])
@pytest.mark.parametrize("lead", [b"", b"\xef\xbb\xbf"], ids=["plain", "byte-order-mark"])
def test_read_table__each_separator__same_cells(separator: str, lead: bytes) -> None:
    text = "shot;fill (%);note\r\n1;0,85;a\r\n" if separator == ";" else "shot,fill (%),note\n"
    if separator != ";":
        text += '1,"0,85",a\n'
    data = lead + (text if separator == ";" else text.replace(",", separator, 2)).encode()
    if separator == "\t":
        data = lead + b"shot\tfill (%)\tnote\r\n1\t0,85\ta\r\n"
    table = read_table("runs.csv", data)
    assert [cell.text for cell in table.header] == ["shot", "fill (%)", "note"]
    assert texts(table) == [["1", "0,85", "a"]]


def test_read_table__decimal_comma_in_semicolons__not_split() -> None:
    # A general reader takes this for the columns "shot;fill" and gives 85 for it without a word.
    assert texts(read_table("runs.csv", b"shot;fill (%)\n1;0,85\n")) == [["1", "0,85"]]


def test_read_table__sep_line__obeyed_and_not_counted() -> None:
    table = read_table("runs.csv", b"sep=;\r\nshot;fill (%)\r\n1;96\r\n")
    assert table.header[0].row == 1
    assert table.rows[0][1].row == 2


def test_read_table__blank_rows__counted_as_a_spreadsheet_counts() -> None:
    data = b"shot,fill (%)\r\n\r\n1,96\r\n,\r\n , \r\n2,97\r\n"
    rows = read_table("runs.csv", data).rows
    assert [row[0].row for row in rows] == [3, 6]


def test_read_table__quoted_line_break__one_row() -> None:
    data = b'shot,note,fill (%)\r\n1,"cold\r\nslow",96\r\n2,,97\r\n'
    table = read_table("runs.csv", data)
    assert texts(table) == [["1", "cold\nslow", "96"], ["2", "", "97"]]
    assert table.rows[1][0].row == 3


def test_read_table__title_above_the_header__passed_over() -> None:
    table = read_table("runs.csv", b"Invented lid,,\r\n\r\nShot,fill (%)\r\n1,96\r\n")
    assert [cell.text for cell in table.header] == ["Shot", "fill (%)"]
    assert table.rows[0][0].row == 4


@pytest.mark.parametrize(
    ("data", "text"),
    [
        ("shot,note\r\n1,für\r\n".encode("cp1252"), "für"),
        ("shot\tnote\r\n1\tfür\r\n".encode("utf-16"), "für"),
        ("shot,note\r\n1,für\u00a0\r\n".encode(), "für"),
    ],
    ids=["code-page", "utf-16", "no-break-space"],
)
def test_read_table__other_encodings__read(data: bytes, text: str) -> None:
    assert texts(read_table("runs.csv", data)) == [["1", text]]


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "nothing in it"),
        (b"\r\n,,\r\n", "nothing in it"),
        (b"\xd0\xcf\x11\xe0rest", "old .xls"),
        (b"PK\x03\x04rest", "cannot be read as a spreadsheet"),
        (b"shot\x00\x00fill\x00", "no text"),
        (b'shot,note\n1,"open\n', "not well quoted"),
    ],
    ids=["empty", "blank", "xls", "broken-xlsx", "binary", "quotes"],
)
def test_read_table__no_table__says_what_it_is(data: bytes, found: str) -> None:
    with pytest.raises(StudyError, match=found) as caught:
        read_table("mine.csv", data)
    assert caught.value.problems[0].place.startswith("mine.csv")


def test_place__names_row_column_and_cell() -> None:
    table = read_table("runs.csv", b"shot,fill (%)\n1,96\n")
    assert table.place(2, "fill (%)", 2) == 'runs.csv, row 2, "fill (%)" (B2)'
    assert column_letters(703) == "AAA"


cell_text = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=8).map(
    lambda text: text.strip()
)


@given(
    rows=st.lists(st.lists(cell_text, min_size=3, max_size=3), max_size=5),
    separator=st.sampled_from(";,\t"),
    mark=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_read_table__whatever_a_spreadsheet_writes__read_back(
    rows: list[list[str]], separator: str, mark: str
) -> None:
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=separator, lineterminator="\r\n")
    writer.writerows([["shot", "fill (%)", "note"], *rows])
    found = read_table("runs.csv", text.getvalue().encode(mark))
    padded = [row + [""] * (3 - len(row)) for row in texts(found)]
    assert padded == [row for row in rows if any(row)]
    assert [row[0].row for row in found.rows] == [n for n, r in enumerate(rows, 2) if any(r)]
