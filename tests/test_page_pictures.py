"""Pictures of the page: each has words and numbers, and shares no name with another."""

import re
from dataclasses import replace

from invented_shots import findings

from shotwindow.reports.cavity_figure import cavity_figure, cavity_fills
from shotwindow.reports.findings import Findings
from shotwindow.reports.page_pictures import (
    cavity_picture,
    dial_pictures,
    dial_table,
    drawn,
    effect_pictures,
)


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


def test_effect_pictures__numbers__a_row_for_each_response_and_setting() -> None:
    made = effect_pictures(findings("map"))
    assert made is not None
    picture, table = made
    assert "fill and flash" in picture.alt and len(table.rows) == 4
    assert all(len(row) == len(table.heads) == 5 for row in table.rows)
    assert effect_pictures(_failed("map")) is None


def test_cavity_picture__least_cavity__is_named() -> None:
    made = cavity_picture(findings("cube"))
    assert made is not None
    fills = cavity_fills(findings("cube"))
    assert fills[1].ahead.middle < fills[0].ahead.middle
    assert "Cavity 2 fills least" in made[0].alt and len(made[1].rows) == 2


def test_cavity_picture__one_cavity_or_no_fit__none() -> None:
    assert cavity_picture(findings("map")) is None
    assert cavity_picture(_failed("cube")) is None
