"""Pictures of the page: each has words and numbers, and shares no name with another."""

import re
from dataclasses import replace

import pytest
from invented_shots import findings, planned

from shotwindow.reports.cavity_figure import cavity_exhibit, cavity_figure, cavity_fills
from shotwindow.reports.dials import dial_pictures, dial_table
from shotwindow.reports.effect_figure import effect_exhibit
from shotwindow.reports.findings import Findings
from shotwindow.reports.gallery import exhibits
from shotwindow.reports.page_pictures import drawn, shown


def _failed(name: str) -> Findings:
    found = findings(name)
    poor = replace(found.surfaces.fill.diagnostics, effective=3.0)
    fill = replace(found.surfaces.fill, diagnostics=poor)
    return replace(found, surfaces=replace(found.surfaces, fill=fill), window=None, setpoint=None)


def test_drawn__two_of_a_kind__no_name_twice_and_none_dangling() -> None:
    figure = cavity_figure(findings("cube"))
    one, two = (drawn(figure, name, "words").svg for name in ("a", "b"))
    names = re.findall(r'\bid="([^"]+)"', one + two)
    assert len(names) == len(set(names)) > 10
    used = re.findall(r'(?:href="#|url\(#)([^")]+)', one + two)
    assert used and set(used) <= set(names)
    assert one.startswith("<svg viewBox=") and "<?xml" not in one


def test_dial_pictures__one_a_factor__none_where_the_window_is_a_ruler() -> None:
    assert len(dial_pictures(findings("map"))) == 2
    assert dial_pictures(findings("dial")) == () and dial_pictures(_failed("map")) == ()
    table = dial_table(findings("map"))
    assert [row[0] for row in table.rows] == ["pressure (bar gauge)", "melt temperature (degC)"]


def test_effect_exhibit__numbers__a_row_for_each_response_and_setting() -> None:
    made = effect_exhibit(findings("map"))
    assert made is not None
    assert "fill and flash" in made.alt and len(made.table.rows) == 4
    assert all(len(row) == len(made.table.heads) == 6 for row in made.table.rows)
    assert effect_exhibit(_failed("map")) is None


def test_cavity_exhibit__least_cavity__is_named() -> None:
    made = cavity_exhibit(findings("cube"))
    assert made is not None
    fills = cavity_fills(findings("cube"))
    assert fills[1].ahead.middle < fills[0].ahead.middle
    assert "Cavity 2 fills least" in made.alt and len(made.table.rows) == 2


def test_cavity_exhibit__one_cavity_or_no_fit__none() -> None:
    assert cavity_exhibit(findings("map")) is None
    assert cavity_exhibit(_failed("cube")) is None


@pytest.mark.parametrize("name", ["cube", "dial", "graded", "sink"])
def test_exhibits__all_of_a_study__whole_tables_words_and_names_of_their_own(name: str) -> None:
    made = [
        exhibit for each in exhibits(findings(name), planned(name)).values() for exhibit in each
    ]
    assert len({exhibit.name for exhibit in made}) == len(made)
    for exhibit in made:
        assert len(exhibit.alt) > 60 and exhibit.said and exhibit.title
        assert exhibit.table.rows, exhibit.name
        assert {len(row) for row in exhibit.table.rows} == {len(exhibit.table.heads)}
        on_page = shown(exhibit)
        assert on_page.picture.svg.startswith("<svg viewBox=") and on_page.table == exhibit.table
