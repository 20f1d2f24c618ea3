from pathlib import Path

import pytest

from shotwindow.doe.card_finding import find_card
from shotwindow.doe.errors import StudyError


@pytest.mark.parametrize(
    ("name", "card"),
    [
        ("PP", "polypropylene"),
        ("polypropylene", "polypropylene"),
        ("Polypropylene, natural", "polypropylene"),
        ("PP copolymer", "polypropylene copolymer"),
        ("polypropylene copolymer (clear)", "polypropylene copolymer"),
        ("acetal", "acetal"),
        ("POM", "acetal"),
        ("pom-c, black", "acetal"),
        ("nylon 66", "nylon 66"),
        ("Nylon 6/6", "nylon 66"),
        ("PA 66", "nylon 66"),
        ("PA6.6", "nylon 66"),
        ("PA66", "nylon 66"),
        ("nylon 6", "nylon 6"),
        ("PA6 natural", "nylon 6"),
        ("PS", "GPPS"),
        ("high impact polystyrene", "HIPS"),
        ("HDPE", "polyethylene"),
        ("PETG", "PETG"),
        ("PET-G", "PETG"),
        ("PET", "PET"),
        ("polyethylene terephthalate", "PET"),
        ("PLA", "PLA"),
        ("PLA, crystallizing", "PLA, crystallizing"),
        ("PVC", "PVC"),
        ("rigid PVC pipe scrap", "PVC"),
        ("PVC/ABS", "PVC"),
        ("polyvinyl chloride", "PVC"),
        ("", None),
        ("nylon", None),
        ("nylon 6 12", None),
        ("PA612", None),
        ("PPS", None),
        ("PEEK", None),
        ("PC/ABS", None),
        ("PC ABS", None),
        ("ethylene vinyl acetate", None),
        ("plant label resin", None),
    ],
)
def test_find_card__name_as_typed(name: str, card: str | None) -> None:
    found = find_card(name)
    assert (found.name if found else None) == card


def _with_cards(folder: Path, text: str) -> Path:
    (folder / "cards.csv").write_text(text, encoding="utf-8")
    return folder


def test_find_card__own_card__goes_before_the_shipped_one(tmp_path: Path) -> None:
    folder = _with_cards(tmp_path, "name,aliases,ceiling_degC\nour PP,PP | polypropylene,240\n")
    card = find_card("polypropylene, natural", folder)
    assert card is not None
    assert (card.name, card.melt) == ("our PP", None)
    acetal = find_card("acetal", folder)
    assert acetal is not None and acetal.name == "acetal"


def test_find_card__folder_without_cards__shipped(tmp_path: Path) -> None:
    assert find_card("PP", tmp_path) == find_card("PP")


def test_find_card__own_card_of_a_refused_resin__stays_refused(tmp_path: Path) -> None:
    card = find_card("PVC", _with_cards(tmp_path, "name,ceiling_degC\nPVC,200\n"))
    assert card is not None
    assert (card.ceiling is not None, "hydrogen chloride" in card.refuse) == (True, True)


def test_find_card__own_card_with_a_mistake__told(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match="row 2, ceiling_degC"):
        find_card("PP", _with_cards(tmp_path, "name,ceiling_degC\nPP,hot\n"))
