import csv
import re
from importlib.resources import files
from pathlib import Path

import pytest

from shotwindow.doe.cards import Card, Known, read_cards
from shotwindow.doe.errors import StudyError

REFERENCE = Path(__file__).parent / "reference" / "molding"
SHIPPED = {
    card.name: card
    for card in read_cards("cards.csv", files("shotwindow.doe").joinpath("cards.csv").read_bytes())
}
# Names of the published tables, and ours.
GUIDELINES = {
    "ABS": "ABS",
    "Acetal POM": "acetal",
    "GPPS": "GPPS",
    "HIPS": "HIPS",
    "PE (LD..HD)": "polyethylene",
    "PP homopolymer": "polypropylene",
    "PP copolymer": "polypropylene copolymer",
    "Nylon 6": "nylon 6",
    "Nylon 66": "nylon 66",
    "PC": "polycarbonate",
    "PBT": "PBT",
    "PET": "PET",
    "TPE": "TPE",
}
VENTS = {
    "ABS": "ABS",
    "acetal": "Acetal",
    "GPPS": "PS",
    "HIPS": "HIPS",
    "polyethylene": "PE",
    "polypropylene": "PP",
    "polypropylene copolymer": "PP",
    "nylon 6": "Nylon",
    "nylon 66": "Nylon",
    "polycarbonate": "PC",
    "PBT": "PET/PBT",
    "PET": "PET/PBT",
    "TPE": "TPE",
}


def _rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(newline="") as file:
        return list(csv.DictReader(file))


def _ends(known: Known | None) -> tuple[float | None, float]:
    assert known is not None
    return known.low, known.high


def _range(text: str) -> tuple[float, float]:
    ends = [float(end) for end in text.split("-")]
    return ends[0], ends[-1]


@pytest.mark.parametrize("row", _rows("processing_guidelines.csv"), ids=lambda row: row["material"])
def test_shipped_cards__as_published(row: dict[str, str]) -> None:
    card = SHIPPED[GUIDELINES[row["material"]]]
    # Acetal: the narrower range of https://www.polyplastics.com/en/support/mold/duracon/pom02.html
    assert _ends(card.melt) == ((190, 210) if card.name == "acetal" else _range(row["melt_degC"]))
    assert _ends(card.mold) == _range(row["mold_degC"])
    assert _ends(card.drying_degC) == _range(row["drying_degC"])
    assert _ends(card.drying_h) == _range(row["drying_h"])
    assert card.drying == row["drying_normally_required"].removeprefix("only ")


def test_shipped_cards__vents__as_published() -> None:
    published = {row["material"]: (float(row["mm_min"]), float(row["mm_max"]))
                 for row in _rows("vent_depths.csv")}  # fmt: skip
    for ours, theirs in VENTS.items():
        assert _ends(SHIPPED[ours].vent) == published[theirs]


def test_shipped_cards__limits_of_acetal__as_published() -> None:
    # https://www.polyplastics.com/en/support/mold/duracon/pom02.html
    acetal = SHIPPED["acetal"]
    assert acetal.dwell == ((200, 60), (210, 30), (230, 10))
    assert _ends(acetal.ceiling) == (None, 250)


def test_shipped_cards__every_value__has_its_source() -> None:
    for card in SHIPPED.values():
        for known in (card.melt, card.ceiling, card.mold, card.drying_degC, card.drying_h,
                      card.moisture, card.vent):  # fmt: skip
            assert known is None or len(known.source) > 5, card.name
        assert bool(card.dwell) == bool(card.dwell_source)
        assert bool(card.hazards) == bool(card.hazards_source)
        assert bool(card.refuse) == bool(card.refuse_source)


def test_shipped_cards__sources__in_words_and_their_addresses_in_a_list_of_their_own() -> None:
    """No page is to hold an address of somebody else's; who wants one finds it beside the cards."""
    data = files("shotwindow.doe").joinpath("cards.csv").read_text("utf-8")
    kept = files("shotwindow.doe").joinpath("card_sources.csv").read_text("utf-8")
    cited = {
        part
        for row in csv.DictReader(data.splitlines())
        for column, cell in row.items()
        if column.endswith("_source")
        for part in re.sub(r" \(.*\)", "", cell).split("; ")
        if part and not part.endswith("no single source")
    }
    listed = {row["source"]: row["address"] for row in csv.DictReader(kept.splitlines())}
    assert cited == set(listed) and "://" not in data and "www." not in data
    assert {source for source, address in listed.items() if not address.startswith("http")} == {
        "Lanxess TechCenter, Pocan",
        "Viewmold, PETG injection molding processing condition",
    }


def test_shipped_cards__no_two_names_alike_and_partners_known() -> None:
    names = [name for card in SHIPPED.values() for name in (card.name, *card.aliases)]
    assert len({name.casefold() for name in names}) == len(names)
    assert all(name in SHIPPED for card in SHIPPED.values() for name in card.never_with)
    assert {"PETG", "PLA", "PVC"} <= set(SHIPPED)


def test_lines__what_is_not_known__is_said_to_be_unknown() -> None:
    lines = Card("invented", ()).lines()
    assert len(lines) == 10
    assert all(line.endswith(": not known") for line in lines)


def test_lines__acetal__values_and_sources() -> None:
    text = "\n".join(SHIPPED["acetal"].lines())
    assert "melt temperature: 190 to 210 degC (Polyplastics, molding of" in text
    assert "melt stays below: 250 degC (Polyplastics, molding of" in text
    assert "longest dwell: 60 min at 200 degC, 30 min at 210 degC, 10 min at 230 degC (Poly" in text
    assert "needs drying: if wet" in text
    assert "most moisture: not known" in text


def test_read_cards__spreadsheet_of_another_country__read() -> None:
    data = "\ufeffname;moisture_percent;dwell_min\nmine;0,02;8\n".encode()
    (card,) = read_cards("cards.csv", data)
    assert _ends(card.moisture) == (None, 0.02)
    assert card.dwell == ((None, 8.0),)


def test_read_cards__dwell_in_any_order__ascending_with_any_temperature_last() -> None:
    (card,) = read_cards("cards.csv", b"name,dwell_min\nmine,5 | 90 at 230 | 60.5 at 200\n")
    assert card.dwell == ((200, 60.5), (230, 90), (None, 5))


def test_read_cards__mistakes__all_told_with_their_places() -> None:
    data = (
        b"name,melt_low_degC,melt_high_degC,drying,dwell_min,ceilin_degC\n"
        b"a,200,190,maybe,soon,1\n"
        b",x,,,,\n"
        b"b,180,,yes,8 at,\n"
    )
    with pytest.raises(StudyError) as caught:
        read_cards("cards.csv", data)
    assert [str(problem) for problem in caught.value.problems] == [
        'cards.csv, heading: found "ceilin_degC"; expected a column of a card; '
        "did you mean ceiling_degC?",
        'cards.csv, row 2, drying: found "maybe"; expected yes, if wet, no, or an empty cell',
        'cards.csv, row 2, dwell_min: found "soon"; expected minutes, or "minutes at degC", parted '
        'by |; as in "60 at 200 | 30 at 210"',
        "cards.csv, row 2, melt_low_degC: found 200; expected at most melt_high_degC",
        "cards.csv, row 3, name: found an empty cell; expected the material's name",
        'cards.csv, row 3, melt_low_degC: found "x"; expected a number',
        'cards.csv, row 4, dwell_min: found "8 at"; expected minutes, or "minutes at degC", parted '
        'by |; as in "60 at 200 | 30 at 210"',
        "cards.csv, row 4, melt_low_degC: found 180 without melt_high_degC; expected at most "
        "melt_high_degC",
    ]
