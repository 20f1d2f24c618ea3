"""No page and no sheet holds an address of somebody else's: what it says, it says in words."""

import re
from importlib.resources import files

import pytest
from invented_shots import findings, planned, recorded, study
from test_classroom import room

from shotwindow.doe.cards import read_cards
from shotwindow.doe.cautions import cautions
from shotwindow.doe.columns import standard_layout
from shotwindow.doe.study import Study, parse_study
from shotwindow.examples.lessons.contents import read_lesson
from shotwindow.reports.class_page import class_html
from shotwindow.reports.handout import handout
from shotwindow.reports.lesson import answers_html, lesson_html
from shotwindow.reports.page import report_html
from shotwindow.reports.set_up import set_up
from shotwindow.reports.set_up_files import set_up_html
from shotwindow.reports.sheet import run_sheet
from shotwindow.reports.sheet_page import sheet_html

MATERIALS = [
    card.name
    for card in read_cards("cards.csv", files("shotwindow.doe").joinpath("cards.csv").read_bytes())
]


def _of(material: str) -> Study:
    factor = '[factors.screw]\nunit = "u"\nlow = 3\nhigh = 5\nstep = 1'
    return parse_study(f'material.name = "{material}"\n{factor}')


def _pages() -> dict[str, str]:
    """Return every kind of page, each with the cautions of a material that has a source."""
    said = cautions(_of("polypropylene"))
    assert "275 degC (" in said[-1]
    made, plan, rows = study("map"), planned("map"), recorded("map")
    given = handout(made, plan, said)
    return {
        "report": report_html(findings("map"), plan, said),
        "set-up sheet": set_up_html(set_up(findings("map"), None, said)),
        "run sheet": sheet_html(run_sheet(made, standard_layout(made), rows, said)),
        "handout": lesson_html(given),
        "answers": answers_html(given),
        "lesson": lesson_html(read_lesson("failed_confirmation")),
        "class page": class_html(room(told=True), said),
    }


def _outside(text: str) -> list[str]:
    """Return the addresses in a text; a namespace of XML is a name, which nothing asks for."""
    without = re.sub(r'xmlns(:\w+)?="[^"]+"', "", text)
    return re.findall(r"""(?i)(?:https?:|=["']//|\bwww\.)\S+""", without)


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("see http://somebody.example/x", 1),
        ("from HTTPS://somebody.example or www.somebody.example", 2),
        ('<a href="//somebody.example">', 1),
        ('<svg xmlns="http://www.w3.org/2000/svg"> and/or', 0),
    ],
)
def test_outside__addresses__are_found_and_a_namespace_is_not(text: str, count: int) -> None:
    assert len(_outside(text)) == count


def test_pages__of_a_material_with_sources__no_outside_address() -> None:
    assert {kind: found for kind, page in _pages().items() if (found := _outside(page))} == {}


@pytest.mark.parametrize("material", MATERIALS)
def test_cautions__of_every_shipped_card__no_outside_address(material: str) -> None:
    assert _outside("\n".join(cautions(_of(material)))) == []
