"""Notes that a spreadsheet would run as formulas are kept as text, and come back as typed."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.doe.cell_text import as_typed, held_as_text
from shotwindow.doe.history import Sheet, render
from shotwindow.doe.tables import read_table

#: What a spreadsheet runs; the list of the OWASP page "CSV injection" (from memory).
STARTS = ("=", "+", "-", "@")


@given(st.text(alphabet="'=+-@1.e a", max_size=8))
def test_held_as_text__any_text__comes_back(text: str) -> None:
    assert as_typed(held_as_text(text)) == text


@pytest.mark.parametrize("start", STARTS)
def test_render__note_that_a_spreadsheet_would_run__is_text_and_read_back(start: str) -> None:
    note = f"{start}HYPERLINK(1)"
    data = render(Sheet(("shot", "note"), {7: {"shot": "7", "note": note}}))
    cells = list(csv.reader(io.StringIO(data.decode())))[1]
    assert not cells[1].startswith(STARTS)
    assert read_table("runs.csv", data).rows[0][1].text == note


@pytest.mark.parametrize("number", ["-0.5", "+3", "-1,250", "-2e-3", "-95 %"])
def test_held_as_text__numbers__stay(number: str) -> None:
    assert held_as_text(number) == number
