import pytest

from shotwindow.doe.errors import StudyError
from shotwindow.doe.study import parse_study

GOOD = {"unit": '"bar"', "low": "3.0", "high": "5.0", "step": "0.1"}


def _complaints(name: str, keys: dict[str, str]) -> list[str]:
    lines = "\n".join(f"{key} = {value}" for key, value in keys.items() if value)
    with pytest.raises(StudyError) as caught:
        parse_study(f"[factors.{name}]\n{lines}")
    return [str(p).removeprefix(f"study.toml [factors.{name}] ") for p in caught.value.problems]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"low": ""}, "low: found nothing; expected a number"),
        ({"unit": ""}, 'unit: found nothing; expected a unit, such as "bar"'),
        (
            {"unit": '"Psi"'},
            'unit: found "Psi"; expected a unit of pressure: bar, psi, MPa, kPa, kg/cm2; '
            'did you mean "psi"?',
        ),
        (
            {"unit": '"degC"'},
            'unit: found "degC"; expected a unit of pressure: bar, psi, MPa, kPa, kg/cm2',
        ),
        ({"low": "5"}, "low: found 5; expected less than high (5); what is not varied belongs in "
                       "[held.pressure]"),
        ({"low": "5.5"}, "low: found 5.5; expected less than high (5)"),
        (
            {"low": "0"},
            "low: found 0; expected more than 0; no shot is made with a pressure of zero",
        ),
        (
            {"low": '"3"'},
            'low: found "3"; expected a number; write it without quotation marks',
        ),
        ({"low": "true"}, "low: found true; expected a number"),
        ({"low": "nan"}, "low: found nan; expected a finite number"),
        ({"high": "inf"}, "high: found inf; expected a finite number"),
        ({"high": "1e400"}, "high: found inf; expected a finite number"),
        ({"high": "2026-01-02"}, "high: found 2026-01-02; expected a number"),
        ({"step": "0"}, "step: found 0; expected more than 0"),
        ({"step": "-0.1"}, "step: found -0.1; expected more than 0"),
        (
            {"step": "0.3"},
            "step: found 0.3; expected a whole number of steps from low (3) to high (5); "
            "the nearest that fit are high = 4.8 or 5.1",
        ),
        (
            {"step": "3"},
            "step: found 3; expected a whole number of steps from low (3) to high (5); "
            "the nearest that fit are high = 6",
        ),
        (
            {"step": "0.001"},
            "step: found 0.001; expected at most 1000 marks from low to high; "
            "give the marks that can be set",
        ),
        (
            {"limits": "[3.5, 7]"},
            "limits: found [3.5, 7]; expected limits that hold the range from 3 to 5; nothing "
            "outside the press's rating is ever planned: narrow the range",
        ),
        (
            {"limits": "[0, 4.9]"},
            "limits: found [0, 4.9]; expected limits that hold the range from 3 to 5; nothing "
            "outside the press's rating is ever planned: narrow the range",
        ),
        ({"limits": "[7, 0]"}, "limits: found [7, 0]; expected [lowest, highest]"),
        ({"limits": "[0]"}, "limits: found [0]; expected 2 numbers"),
        ({"limits": "[0, 3, 7]"}, "limits: found [0, 3, 7]; expected 2 numbers"),
        (
            {"limits": "7"},
            "limits: found 7; expected a list; put it in square brackets, as in [1.0, 2.0]",
        ),
        (
            {"limits": '[0, "7"]'},
            'limits, number 2: found "7"; expected a number; write it without quotation marks',
        ),
        ({"holds": "-0.1"}, "holds: found -0.1; expected 0 or more"),
        ({"reads": '"gage"'}, 'reads: found "gage"; expected "gauge" or "melt"; '
                              'did you mean "gauge"?'),
        (
            {"acts_as": '"time"'},
            'acts_as: found "time"; expected "pressure", which its name already says; '
            "leave acts_as out",
        ),
        ({"soak_min": "0"}, "soak_min: found 0; expected more than 0"),
        (
            {"soak_down_min": "5"},
            "soak_down_min: found 5; expected soak_min beside it; give the minutes to wait after "
            "an increase too",
        ),
        (
            {"limit": "[0, 7]"},
            "limit: found an unknown key; expected one of acts_as, unit, high, low, step, limits, "
            "holds, reads, soak_min, soak_down_min; did you mean limits?",
        ),
    ],
)  # fmt: skip
def test_factor__one_mistake__one_message(change: dict[str, str], message: str) -> None:
    assert _complaints("pressure", GOOD | change) == [message]


@pytest.mark.parametrize(
    ("unit", "meant"), [("°C", "degC"), ("C", "degC"), ("celsius", "degC"), ("Fahrenheit", "degF")]
)
def test_factor__common_spelling_of_a_degree__guessed(unit: str, meant: str) -> None:
    (message,) = _complaints("melt_temperature", GOOD | {"unit": f'"{unit}"'})
    assert message.endswith(f'did you mean "{meant}"?')


def test_factor__own_name_with_a_role__must_stay_above_zero() -> None:
    keys = GOOD | {"unit": '"turns"', "low": "0", "acts_as": '"pressure"'}
    (message,) = _complaints("screw", keys)
    assert message.startswith("low: found 0; expected more than 0")
    del keys["acts_as"]
    text = "\n".join(f"{key} = {value}" for key, value in keys.items())
    assert parse_study(f"[factors.screw]\n{text}").factors[0].low == 0


def test_factor__melt_reading_of_no_pressure__refused() -> None:
    keys = GOOD | {"unit": '"degC"', "reads": '"melt"'}
    assert _complaints("mold_temperature", keys) == [
        'reads: found "melt"; expected nothing, or "gauge"; only a pressure can be read in the melt'
    ]


@pytest.mark.parametrize("unit", ["", " ", "a,b", "a(b", "a\\nb", "a;b"])
def test_factor__unit_that_would_break_a_heading__refused(unit: str) -> None:
    (message,) = _complaints("screw", GOOD | {"unit": f'"{unit}"'})
    assert "expected a unit such as bar or rpm" in message


def test_factor__steps_that_divide_but_for_dust__taken() -> None:
    text = 'unit = "s"\nlow = 0.1\nhigh = 0.7\nstep = 0.1'  # (0.7 - 0.1) / 0.1 is 5.999999999999999
    assert parse_study(f"[factors.injection_time]\n{text}").factors[0].count == 7


def test_factor__two_mistakes_in_one_table__both_told() -> None:
    messages = _complaints("pressure", GOOD | {"low": "6", "limit": "3", "holds": '"x"'})
    assert [message.split(":")[0] for message in messages] == ["low", "holds", "limit"]
