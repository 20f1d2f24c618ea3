"""What `plan` tells: what it costs, what it sees, what stands in the way, and the dangers."""

from dataclasses import replace

import molds
import pytest
from invented_shots import planned, study

from shotwindow.doe.cautions import CAUTIONS
from shotwindow.doe.errors import StudyError
from shotwindow.doe.plans import make_plan
from shotwindow.doe.study import parse_study
from shotwindow.reports.plan_groups import grouped, soaks
from shotwindow.reports.planned import clock, plan_lines, tell


def test_plan_lines__everything_promised_in_80_columns() -> None:
    lines = plan_lines(tell(study("map"), planned("map")))
    text = " ".join(" ".join(lines).split())
    assert lines[0] == "Invented clip: 16 shots and 4 warm-up shots in 4 temperature groups"
    for part in ("kind", "seed", "model", "time by the clock", "in random order", "Aliases"):
        assert part in text, part
    for caution in CAUTIONS:
        assert caution in text
    # an address is not broken, so that it can be opened
    assert all(len(line) <= 80 for line in lines if "http" not in line)


def test_plan_lines__fraction__aliases_with_signs() -> None:
    made = parse_study(
        "\n".join(f'[factors.{n}]\nunit = "u"\nlow = 0\nhigh = 4\nstep = 1' for n in "abc")
    )
    lines = plan_lines(tell(made, make_plan(made, kind="fraction", shots=4)))
    assert any(line.strip() == "a = + b x c" for line in lines)


def test_plan_lines__definitive__main_effects_clear_and_no_more_is_said() -> None:
    """Its interactions do hide each other: 17 shots cannot tell 28 of them apart."""
    made = molds.study(8, slow=False)
    text = " ".join(plan_lines(tell(made, make_plan(made, kind="definitive"))))
    assert "Aliases: none; no effect that it tells apart carries another;" in text
    assert "no effect up to second order hides another" not in text


def test_plan_lines__ladder__says_of_what_it_tells_nothing() -> None:
    made = study("cube")
    lines = plan_lines(tell(made, make_plan(made, kind="ladder")))
    text = " ".join(" ".join(lines).split())
    assert "Aliases: none; nothing hides behind pressure" in text
    assert "injection time, kept at one value, the plan tells nothing." in text


def test_plan_lines__nothing_slow__no_groups() -> None:
    text = "\n".join(plan_lines(tell(study("dial"), planned("dial"))))
    assert (
        "each setting changes at once" in text
        and "temperature group" not in text.split("Safety")[0]
    )


def test_tell__setting_beyond_the_press__is_refused() -> None:
    made = study("dial")
    small = replace(made, factors=(replace(made.factors[0], limits=(0.0, 60.0)),))
    with pytest.raises(StudyError, match="rated from 0 to 60"):
        tell(small, planned("dial"))


def test_tell__melt_above_the_ceiling__is_refused() -> None:
    made = study("map")
    acetal = replace(made, material=replace(made.material, name="acetal"))
    with pytest.raises(StudyError, match="melt temperature"):
        tell(acetal, planned("map"))


def test_soaks__heating_up_then_as_long_as_the_change_takes() -> None:
    made, plan = study("map"), planned("map")
    waits = soaks(made, plan.shots)
    assert waits[0] is None and len(waits) == len(grouped(plan.shots)) == 4
    assert all(0 < (wait or 0) <= 25 for wait in waits[1:])
    assert soaks(study("dial"), planned("dial").shots) == [None]


def test_soaks__another_day__heats_up_again() -> None:
    shots = planned("map").shots
    days = tuple(replace(s, block="2") if s.group > 2 else s for s in shots)
    assert [wait is None for wait in soaks(study("map"), days)] == [True, False, True, False]


def test_clock__hours_and_minutes() -> None:
    assert [clock(m) for m in (0, 59.6, 60, 125)] == [
        "0 min",
        "1 h 00 min",
        "1 h 00 min",
        "2 h 05 min",
    ]
