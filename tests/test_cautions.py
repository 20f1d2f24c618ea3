import pytest

from shotwindow.doe.cards import Card, Known
from shotwindow.doe.cautions import CAUTIONS, cautions
from shotwindow.doe.study import parse_study


def _study(material: str) -> str:
    return f'material.name = "{material}"\n[factors.screw]\nunit="u"\nlow=3\nhigh=5\nstep=1'


@pytest.mark.parametrize(
    "words",
    ["nozzle, barrel, mold, fresh parts and purge", "face shield or goggles", "gloves", "sleeves",
     "guard and latch", "hands out of the clamp", "ventilate", "step toward flash", "sharp edges",
     "manual, local codes and a trained supervisor come before", "iso 20430",
     "conformity with no standard"],
)  # fmt: skip
def test_cautions__what_must_be_said__is_said_for_every_material(words: str) -> None:
    assert words in " ".join(CAUTIONS).casefold()
    for material in ("", "polypropylene", "acetal", "PVC"):
        assert cautions(parse_study(_study(material)))[: len(CAUTIONS)] == CAUTIONS


@pytest.mark.parametrize(
    ("material", "words"),
    [
        ("acetal", ["formaldehyde", "never meet PVC", "keep the melt below 250 degC", "water"]),
        ("PVC", ["Do not mold PVC", "hydrogen chloride"]),
        ("polypropylene", ["keep the melt below 275 degC"]),
        ("unheard of", ["No card is known for unheard of", "safety data sheet"]),
        ("", ["No material is named"]),
    ],
)
def test_cautions__the_materials_own(material: str, words: list[str]) -> None:
    own = " ".join(cautions(parse_study(_study(material)))[len(CAUTIONS) :])
    assert all(word in own for word in words)


def test_cautions__nothing_of_its_own__nothing_added() -> None:
    assert cautions(parse_study(_study("ABS"))) == CAUTIONS


def test_cautions__card_of_the_study__goes_before_the_shipped_one() -> None:
    card = Card("our PP", (), ceiling=Known(None, 240, "our trial"))
    own = cautions(parse_study(_study("polypropylene")), card)[len(CAUTIONS) :]
    assert own == ("our PP: keep the melt below 240 degC (our trial).",)
