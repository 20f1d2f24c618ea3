"""The refusals, with the limits of https://www.polyplastics.com/en/support/mold/duracon/pom02.html.

Acetal: never 250 degC or more; at most 60 min at 200, 30 at 210, 10 at 230. With PVC in one barrel
it can run away: http://routsis.blog/2021/03/quick-note-on-safety-with-pvc-acetal/.
"""

import pytest

from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cards import Card, Known
from shotwindow.doe.guards import Guard, check_settings
from shotwindow.doe.study import parse_study

# Invented. The clamp is strong enough, so that only what a test is about speaks.
PRESS = "press = {area_ratio = 10, clamp_force_kN = 100, barrel_g = 30}\n"
MOLD = "[mold]\nprojected_area_cm2 = 10\nfull_mass_g = [10]\n"
PRESSURE = '[factors.pressure]\nunit = "bar"\nlow = 3\nhigh = 5\nstep = 1\nlimits = [0, 7]\n'
CLEAN = '[held.previous_material]\nvalue = "polypropylene"\n'


def _melt(unit: str = "degC", soak: str = "") -> str:
    low, high = (150, 350) if unit == "degC" else (300, 660)
    span = f"low = {low}\nhigh = {high}\nstep = 1"
    return f'[factors.melt_temperature]\nunit = "{unit}"\n{span}\n{soak}\n'


def _guards(
    material: str,
    melt: float,
    *,
    text: str = PRESS + MOLD + CLEAN,
    factor: str = "",
    more: str = "",
) -> tuple[Guard, ...]:
    study = parse_study(
        f"{text}{PRESSURE}{factor or _melt()}[material]\nname = '{material}'\n{more}"
    )
    return check_settings(study, find_card(material), [[4.0, melt], [5.0, melt]])


def _severities(guards: tuple[Guard, ...]) -> list[str]:
    return [guard.severity for guard in guards]


@pytest.mark.parametrize(
    ("shot_min", "melt", "severities"),
    [
        # Dwell is 30 g / 10 g x shot_min.
        (3.0, 200, []),
        (3.0, 210, []),
        (3.0, 230, ["ask"]),  # 9 min: within the limit, but hotter than usual
        (3.3, 230, ["ask"]),
        (3.4, 230, ["refuse", "ask"]),  # 10.2 min
        (3.4, 240, ["refuse", "ask"]),
        (3.4, 229, ["ask", "ask"]),  # over the limit at 230, below 230: a purge is asked for
        (9.9, 210, []),
        (10.1, 210, ["ask"]),
        (10.1, 209, ["ask"]),
        (10.1, 200, []),
        (20.1, 200, ["ask"]),
        (0.1, 249, ["ask"]),
        (0.1, 250, ["refuse"]),
        (0.1, 300, ["refuse"]),
    ],
)
def test_acetal__temperature_and_dwell(shot_min: float, melt: float, severities: list[str]) -> None:
    guards = _guards("acetal", melt, more=f"[time]\nshot_min = {shot_min}")
    assert _severities(guards) == severities


def test_acetal__in_degF__same_limits_told_in_degF() -> None:
    guards = _guards("acetal", 482, factor=_melt("degF"))  # 250 degC
    assert _severities(guards) == ["refuse"]
    assert guards[0].what == "a melt temperature of 482 degF"
    assert _severities(_guards("acetal", 481, factor=_melt("degF"))) == ["ask"]
    assert _guards("acetal", 410, factor=_melt("degF")) == ()


@pytest.mark.parametrize(
    ("soak", "severities"),
    [
        ("soak_min = 0.5", ["ask"]),  # 9.5 min at 230: only hotter than usual
        ("soak_min = 5", ["refuse", "ask"]),
        ("soak_min = 0.5\nsoak_down_min = 5", ["refuse", "ask"]),
    ],
)
def test_acetal__waiting_while_it_soaks__counts_as_dwell(soak: str, severities: list[str]) -> None:
    assert _severities(_guards("acetal", 230, factor=_melt(soak=soak))) == severities


@pytest.mark.parametrize(
    ("missing", "severities"),
    [("barrel_g", ["ask"]), ("full_mass_g", ["ask"])],
)
def test_acetal__dwell_not_known__asked(missing: str, severities: list[str]) -> None:
    text = (PRESS + MOLD + CLEAN).replace(", barrel_g = 30" if missing == "barrel_g" else
                                          "full_mass_g = [10]\n", "")  # fmt: skip
    guards = _guards("acetal", 200, text=text)
    assert _severities(guards) == severities
    assert missing in guards[0].do


def test_acetal__dwell_not_known_but_soak_too_long__refused() -> None:
    text = (PRESS + MOLD + CLEAN).replace(", barrel_g = 30", "")
    guards = _guards("acetal", 230, text=text, factor=_melt(soak="soak_min = 11"))
    assert _severities(guards) == ["refuse", "ask", "ask"]
    guards = _guards("acetal", 230, text=text, factor=_melt(soak="soak_min = 10"))
    assert _severities(guards) == ["ask", "ask"]  # only the soak is known, and that is allowed


@pytest.mark.parametrize("material", ["PVC", "rigid PVC", "PVC/ABS", "polyvinyl chloride"])
def test_pvc__always_refused_with_the_reason(material: str) -> None:
    guards = _guards(material, 180)
    assert guards[0].severity == "refuse"
    assert "hydrogen chloride" in guards[0].why


@pytest.mark.parametrize(("before", "material"), [("PVC", "acetal"), ("POM-C", "flexible PVC")])
def test_pvc_and_acetal__one_after_the_other__refused(before: str, material: str) -> None:
    guards = _guards(
        material, 200, text=PRESS + MOLD + f'[held.previous_material]\nvalue = "{before}"\n'
    )
    assert any(g.severity == "refuse" and "must never meet" in g.why for g in guards)


def test_acetal__nobody_knows_what_ran_before__asked() -> None:
    (guard,) = _guards("acetal", 200, text=PRESS + MOLD)
    assert (guard.severity, "[held.previous_material]" in guard.do) == ("ask", True)


@pytest.mark.parametrize(
    ("material", "melt"), [("PC", 290), ("PET", 280), ("PA66", 280), ("PLA", 200), ("PETG", 240)]
)
def test_drying__needed_and_not_recorded__asked(material: str, melt: float) -> None:
    shot = "[time]\nshot_min = 1"  # short enough for the dwell of PET
    (guard,) = _guards(material, melt, more=shot)
    assert (guard.severity, "without drying" in guard.what) == ("ask", True)
    assert _guards(material, melt, more="dried_degC = 80\ndried_h = 4\n" + shot) == ()
    (short,) = _guards(material, melt, more="dried_degC = 80\ndried_h = 0.5\n" + shot)
    assert "dried for 0.5 h" in short.what


def test_polypropylene__as_usual__nothing_to_say() -> None:
    assert _guards("polypropylene", 230) == ()


@pytest.mark.parametrize(("melt", "severity"), [(203, "ask"), (261, "ask"), (275, "refuse")])
def test_polypropylene__unusual_or_too_hot(melt: float, severity: str) -> None:
    study = parse_study(PRESS + MOLD + PRESSURE + _melt())
    guards = check_settings(study, find_card("PP"), [[4.0, melt], [4.0, 230.0]])
    assert _severities(guards) == [severity]


def test_pet__dwell_without_a_temperature__asks_for_a_purge_only() -> None:
    drying = "dried_degC = 125\ndried_h = 4\n"
    assert _guards("PET", 290, more=drying + "[time]\nshot_min = 2.6") == ()
    (guard,) = _guards("PET", 290, more=drying + "[time]\nshot_min = 2.7")  # 8.1 min
    assert (guard.severity, guard.do) == ("ask", "purge before each soak and each break")


def test_mold_temperature__outside_the_card__asked() -> None:
    held = '[held.mold_temperature]\nvalue = {}\nunit = "degC"\n'
    text = PRESS + MOLD + CLEAN
    assert _guards("polypropylene", 230, text=text + held.format(49)) == ()
    (guard,) = _guards("polypropylene", 230, text=text + held.format(50))
    assert (guard.severity, guard.what) == ("ask", "a mold temperature of 50 degC")


def test_limits__setting_outside_the_press__refused() -> None:
    study = parse_study(PRESS + MOLD + PRESSURE + '[held.melt_temperature]\nvalue = 230\n'
                        'unit = "degC"')  # fmt: skip
    card = find_card("polypropylene")
    assert check_settings(study, card, [[0.0], [7.0]]) == ()
    (guard,) = check_settings(study, card, [[4.0], [7.5], [8.0]])
    assert str(guard) == (
        "pressure of 8 bar: the press is rated from 0 to 7; stay within the limits"
    )
    assert guard.severity == "refuse"


def test_clamp__more_than_it_holds__refused_with_the_number_of_settings() -> None:
    text = (PRESS + MOLD + CLEAN).replace("clamp_force_kN = 100", "clamp_force_kN = 4.5")
    (guard,) = _guards("polypropylene", 230, text=text)
    assert (guard.severity, guard.what) == ("refuse", "1 of 2 settings")


def test_clamp__not_known__asked_for_what_is_missing() -> None:
    text = MOLD.replace("projected_area_cm2 = 10\n", "") + CLEAN
    (guard,) = _guards("polypropylene", 230, text=text)
    assert guard.do == (
        "give [press] clamp_force_kN and [mold] projected_area_cm2 and a pressure, with [press] "
        "area_ratio"
    )


@pytest.mark.parametrize("material", ["", "plant label resin"])
def test_no_card__asked_and_nothing_made_up(material: str) -> None:
    (guard,) = _guards(material, 300)
    assert guard.severity == "ask"
    assert guard.do.startswith("ask its maker")


def test_no_card__a_letter_left_out__the_material_that_was_meant() -> None:
    (guard,) = _guards("polypropylen", 230)
    assert guard.do.startswith("write polypropylene if that is meant, else ask its maker")


def test_no_card__degF_taken_for_degC__unit_to_be_checked() -> None:
    # The hottest melt of all cards is polycarbonate's: 321 degC (its source stands in cards.csv).
    assert len(_guards("plant label resin", 321)) == 1
    _, guard = _guards("plant label resin", 322)
    assert (guard.severity, guard.what) == ("ask", "a melt temperature of 322 degC")
    assert guard.do.startswith("check the unit")
    _, guard = _guards("plant label resin", 611, factor=_melt("degF"))
    assert guard.what == "a melt temperature of 611 degF"


def test_melt_temperature__nowhere_in_the_study__asked() -> None:
    study = parse_study(PRESS + MOLD + PRESSURE)
    (guard,) = check_settings(study, find_card("polypropylene"), [[4.0]])
    assert "[held.melt_temperature]" in guard.do


def test_own_card__its_ceiling_holds() -> None:
    study = parse_study(PRESS + MOLD + PRESSURE + _melt())
    card = Card("our PP", (), ceiling=Known(None, 240, "our trial"))
    assert check_settings(study, card, [[4, 239]]) == ()
    (guard,) = check_settings(study, card, [[4, 240]])
    assert guard.why == "our PP must stay below 240 degC (our trial)"
