import pytest

from shotwindow.doe.errors import StudyError
from shotwindow.doe.study import Study, parse_study


def _factor(name: str, unit: str = "bar", more: str = "") -> str:
    return f'[factors."{name}"]\nunit = "{unit}"\nlow = 3.0\nhigh = 5.0\nstep = 0.1\n{more}\n'


def _complaints(text: str) -> list[str]:
    with pytest.raises(StudyError) as caught:
        parse_study(text)
    return [str(problem).removeprefix("study.toml ") for problem in caught.value.problems]


@pytest.mark.parametrize(
    "name",
    ["probability_good", "probability_in_window", "fill", "flash", "Fill", "fill_2", "mass-1",
     "reason", "actual_pressure", "actual"],
)  # fmt: skip
def test_names__word_that_results_use__refused(name: str) -> None:
    (message,) = _complaints(_factor(name, "x"))
    assert message == f"[factors.{name}]: found a name that results use; expected another name"


@pytest.mark.parametrize("name", ["2nd_pressure", "", "a b", "a,b", "_x", "a(b)"])
def test_names__no_plain_name__refused(name: str) -> None:
    (message,) = _complaints(_factor(name, "x"))
    assert "expected a name of letters, digits and underscores" in message


@pytest.mark.parametrize("name", ["filling", "flash_gap", "druck", "größe", "reasonable", "x1"])
def test_names__of_their_own__taken(name: str) -> None:
    assert parse_study(_factor(name, "x")).names == (name,)


@pytest.mark.parametrize("twin", ["Gate_Gap", "gate-gap", "gategap"])
def test_names__same_factor_twice__refused(twin: str) -> None:
    assert _complaints(_factor("gate_gap", "mm") + _factor(twin, "mm")) == [
        f"[factors.{twin}]: found gate_gap under another spelling; expected each factor once; "
        "remove one"
    ]


@pytest.mark.parametrize("name", ["pressure", "Pressure"])
def test_names__factor_that_is_held_too__refused(name: str) -> None:
    assert _complaints(_factor("pressure") + f"[held.{name}]\nvalue = 4") == [
        f"[held.{name}]: found a factor of this study; expected what is kept as it is; remove it "
        "here or in [factors.pressure]"
    ]


def test_names__eight_taken_nine_refused() -> None:
    eight = "".join(_factor(f"x{letter}", "u") for letter in "abcdefgh")
    assert len(parse_study(eight).factors) == 8
    assert _complaints(eight + _factor("xi", "u")) == [
        "[factors]: found 9 factors; expected one to 8; drop those that matter least into [held]"
    ]


@pytest.mark.parametrize(
    ("name", "standard", "role"),
    [
        ("mould_temperature", "mold_temperature", "temperature"),
        ("Melt-Temperature", "melt_temperature", "temperature"),
        ("presure", "pressure", "pressure"),
        ("injection_times", "injection_time", "time"),
    ],
)
def test_names__nearly_standard__asked_since_the_prior_hangs_on_it(
    name: str, standard: str, role: str
) -> None:
    assert _complaints(_factor(name, "u")) == [
        f"[factors.{name}]: found a name close to a standard one; expected {standard}, or "
        f'acts_as = "{role}" in it; write the standard name if it is meant'
    ]
    assert parse_study(_factor(name, "u", f'acts_as = "{role}"')).factors[0].role == role


@pytest.mark.parametrize("name", ["back_pressure", "injection_rate", "nozzle_temperature"])
def test_names__other_than_standard__not_asked(name: str) -> None:
    assert parse_study(_factor(name, "u")).factors[0].role is None


MELT = '[factors.melt_pressure]\nunit = "psi"\nlow = {}\nhigh = {}\nstep = 1\nreads = "melt"\n'


def test_pressures__same_range_in_gauge_and_melt__refused() -> None:
    # 3 to 5 bar on the gauge at 12 to 1 are 522 to 870 psi in the melt.
    text = "press.area_ratio = 12\n" + _factor("pressure") + MELT.format(522, 870)
    (message,) = _complaints(text)
    assert message == (
        "[factors.melt_pressure]: found the range of pressure times the area ratio; expected each "
        "factor once; melt_pressure and pressure are one pressure read in two places; remove one"
    )


@pytest.mark.parametrize(("ratio", "low"), [("press.area_ratio = 12", 400), ("", 522)])
def test_pressures__not_clearly_the_same__taken(ratio: str, low: int) -> None:
    text = f"{ratio}\n" + _factor("pressure") + MELT.format(low, 870)
    assert len(parse_study(text).factors) == 2


def _with_rule(rule: str) -> str:
    return _factor("pressure") + _factor("melt_temperature", "degC") + f"[[avoid]]\n{rule}"


@pytest.mark.parametrize(
    ("rule", "message"),
    [
        (
            'presure = "> 4"',
            "[[avoid]] 1 presure: found no such factor; expected one of pressure, "
            "melt_temperature; did you mean pressure?",
        ),
        ("", "[[avoid]] 1: found a table; expected at least one condition on a factor"),
        (
            "pressure = 4",
            '[[avoid]] 1 pressure: found 4; expected a comparison and a number, such as ">= 230"',
        ),
        (
            'pressure = ">"',
            '[[avoid]] 1 pressure: found ">"; expected a comparison and a number, such as ">= 230"',
        ),
        (
            'pressure = "> 1,250"',
            '[[avoid]] 1 pressure: found "> 1,250"; expected a comparison and a number, such as '
            '">= 230"',
        ),
        (
            'pressure = "> 4 psi"',
            '[[avoid]] 1 pressure: found "> 4 psi"; expected a comparison and a number, such as '
            '">= 230"',
        ),
        (
            'pressure = ">= 3"',
            "[[avoid]] 1: found every mark; expected some marks to remain; no setting is left; "
            "narrow the condition",
        ),
    ],
)
def test_avoid__one_mistake__one_message(rule: str, message: str) -> None:
    assert _complaints(_with_rule(rule)) == [message]


def test_avoid__factor_whose_own_table_is_wrong__not_called_unknown() -> None:
    text = _with_rule('pressure = "> 4"').replace("step = 0.1", "step = 0", 1)
    (message,) = _complaints(text)
    assert message.startswith("[factors.pressure] step")


def test_avoid__second_rule_wrong__named_by_its_number() -> None:
    text = _with_rule('pressure = "> 4"') + '\n[[avoid]]\npressure = "4"'
    (message,) = _complaints(text)
    assert message.startswith("[[avoid]] 2 pressure")


@pytest.mark.parametrize("text", [">= 4", "≥4", ">=4,0", " >=  4 bar "])
def test_avoid__ways_of_writing__one_meaning(text: str) -> None:
    study: Study = parse_study(_with_rule(f'pressure = "{text}"'))
    assert study.avoid == ({"pressure": (">=", 4.0)},)


def test_mold_layout__each_cavity_once__taken_as_it_lies() -> None:
    text = _factor("pressure") + "[mold]\ncavities = 3\nlayout = {}\n"
    assert parse_study(text.format("[[1, 0], [3, 2]]")).mold.layout == ((1, 0), (3, 2))
    for rows, found in (("[[1, 2]]", "[1, 2]"), ("[[1, 2, 3, 3]]", "[1, 2, 3, 3]")):
        (message,) = _complaints(text.format(rows))
        assert message == (
            f"[mold] layout: found {found}; expected each of the numbers 1 to 3 once, in rows, and "
            "0 where no cavity is; write it as [[1, 2], [3, 4]]"
        )
