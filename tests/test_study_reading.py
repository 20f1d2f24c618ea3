from pathlib import Path

import pytest

from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import Factor
from shotwindow.doe.study import (
    FillScale,
    FlashScale,
    Held,
    Material,
    Mold,
    Press,
    Study,
    Time,
    parse_study,
    read_study,
)

# Invented, for these tests only.
SMALLEST = """
[factors.pressure]
unit = "bar"
low = 3.0
high = 5.0
step = 0.1
"""
EVERYTHING = """
schema = 1
title = "Plant-label mold, first qualification"
good_from = 0.95
[mold]
name = "plant label"
revision = "A"
cavities = 2
full_mass_g = [2.10, 2]
projected_area_cm2 = 38.0
[press]
name = "bench press 2"
area_ratio = 12.0
clamp_force_kN = 60
barrel_g = 40.0
[material]
name = "polypropylene"
grade = "natural"
lot = "7"
regrind_percent = 10
dried_degC = 60
dried_h = 1.5
[time]
start_up_min = 25
clean_up_min = 10
shot_min = 2.5
warm_up_shots = 3
budget_min = 180
[factors.pressure]
unit = "psi"
low = 45
high = 75
step = 5
limits = [0, 100]
holds = 1
reads = "melt"
[factors.melt_temperature]
unit = "degF"
low = 400
high = 450
step = 5
limits = [380, 480]
soak_min = 15
soak_down_min = 25
[factors.nozzle_heat]
unit = "percent"
low = 40
high = 60
step = 10
acts_as = "temperature"
soak_min = 5
[held.charge]
value = 12
unit = "g"
[held.release_agent]
value = "none"
[fill]
measured = "mass"
balance_step_g = 0.02
full_from = 97
[flash]
measured = "width"
unit = "in"
step = 0.001
seen_from = 0.002
good = 0.004
[[avoid]]
melt_temperature = "≥ 430 degF"
pressure = "> 62,5"
"""


def test_parse_study__every_key__arrives() -> None:
    assert parse_study(EVERYTHING) == Study(
        title="Plant-label mold, first qualification",
        good_from=0.95,
        mold=Mold("plant label", "A", 2, (2.10, 2.0), 38.0),
        press=Press("bench press 2", 12.0, 60.0, 40.0),
        material=Material("polypropylene", "natural", "7", 10.0, 60.0, 1.5),
        time=Time(25.0, 10.0, 2.5, 3, 180.0),
        factors=(
            Factor("pressure", "psi", 45.0, 75.0, 5.0, (0.0, 100.0), 1.0, "melt"),
            Factor(
                *("melt_temperature", "degF", 400.0, 450.0, 5.0, (380.0, 480.0), 2.5),
                soak_min=15.0,
                soak_down_min=25.0,
            ),
            Factor(
                *("nozzle_heat", "percent", 40.0, 60.0, 10.0, (40.0, 60.0), 5.0),
                soak_min=5.0,
                soak_down_min=5.0,
                acts_as="temperature",
            ),
        ),
        held=(Held("charge", 12.0, "g"), Held("release_agent", "none", "")),
        fill=FillScale("mass", 0.02, 97.0),
        flash=FlashScale("width", "in", 0.001, 0.002, 0.004),
        avoid=({"melt_temperature": (">=", 430.0), "pressure": (">", 62.5)},),
        schema=1,
    )


def test_parse_study__only_a_factor__has_the_defaults() -> None:
    study = parse_study(SMALLEST)
    assert study == Study(
        title="Untitled study",
        good_from=0.9,
        mold=Mold("", "", 1, None, None),
        press=Press("", None, None, None),
        material=Material("", "", "", 0.0, None, None),
        time=Time(20.0, 15.0, 3.0, 2, 240.0),
        factors=(Factor("pressure", "bar", 3.0, 5.0, 0.1, (3.0, 5.0), 0.05),),
        held=(),
        fill=FillScale("eye", 2.0, 100.0),
        flash=FlashScale("width", "mm", 0.02, 0.02, 0.10),
        avoid=(),
        schema=1,
    )


@pytest.mark.parametrize(
    ("scales", "fill", "flash"),
    [
        (
            'fill.measured = "full-or-short"\nflash.measured = "grade"',
            FillScale("full-or-short", 100.0, 100.0),
            FlashScale("grade", "grade", 1.0, 1.0, 1.0),
        ),
        (
            "fill.step = 5\nflash = {measured = 'grade', good = 0}",
            FillScale("eye", 5.0, 100.0),
            FlashScale("grade", "grade", 1.0, 1.0, 0.0),
        ),
        (
            'mold.full_mass_g = [2.1]\nfill.measured = "mass"\nflash.step = 0.05',
            FillScale("mass", 0.01, 98.0),
            FlashScale("width", "mm", 0.05, 0.05, 0.10),
        ),
    ],
)
def test_parse_study__scales_in_part__rest_is_default(
    scales: str, fill: FillScale, flash: FlashScale
) -> None:
    study = parse_study(scales + SMALLEST)
    assert (study.fill, study.flash) == (fill, flash)


def test_parse_study__no_title__named_after_the_mold() -> None:
    assert parse_study('mold.name = "clip"' + SMALLEST).title == "clip"


def test_parse_study__mistakes_in_every_table__all_told_at_once() -> None:
    text = """
        good_form = 0.9
        [mold]
        cavities = 0
        [press]
        area_ratio = -1
        [material]
        regrind_percent = "10"
        [time]
        warm_up_shots = 1.5
        [factors.pressure]
        unit = "bar"
        low = 5
        high = 3
        step = 0
        limit = [0, 7]
        [held.pressure]
        value = true
        [fill]
        measured = "mass"
        [flash]
        measured = "grade"
        good = 3
        [[avoid]]
        presure = "> 4"
    """
    with pytest.raises(StudyError) as caught:
        parse_study(text)
    assert [problem.place for problem in caught.value.problems] == [
        "study.toml good_form",
        "study.toml [mold] cavities",
        "study.toml [press] area_ratio",
        "study.toml [material] regrind_percent",
        "study.toml [time] warm_up_shots",
        "study.toml [flash] good",
        "study.toml [factors.pressure] low",
        "study.toml [factors.pressure] step",
        "study.toml [factors.pressure] limit",
        "study.toml [held.pressure] value",
        "study.toml [held.pressure]",
        "study.toml [[avoid]] 1 presure",
        "study.toml [mold] full_mass_g",
    ]


def test_parse_study__wrong_key__not_told_twice_by_what_depends_on_it() -> None:
    text = "[mold]\ncavities = true\nfull_mass_g = [2.1, 2.2]\n[fill]\nmeasured = 'mass'" + SMALLEST
    with pytest.raises(StudyError) as caught:
        parse_study(text)
    assert str(caught.value) == "study.toml [mold] cavities: found true; expected a whole number"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "schema = 1\ntitle = bench",
            "study.toml line 2, column 9: found Invalid value; expected TOML; "
            "put text in quotation marks",
        ),
        (
            "[factors.pressure]\nlow = 3,5",
            "study.toml line 2, column 8: found Expected newline or end of document after a "
            "statement; expected TOML; write decimals with a point: 3.5",
        ),
        (
            "[mold]\n[mold]",
            "study.toml line 2, column 6: found Cannot declare ('mold',) twice; expected TOML; "
            "write every line as key = value, text in quotation marks",
        ),
        (
            'title = "',
            "study.toml line 1 (the end): found Unterminated string; expected TOML; "
            "write every line as key = value, text in quotation marks",
        ),
        (
            "",
            "study.toml [factors]: found no factors; expected one to 8; "
            "add a table such as [factors.pressure]",
        ),
    ],
)
def test_parse_study__no_toml__line_and_column(text: str, message: str) -> None:
    with pytest.raises(StudyError) as caught:
        parse_study(text)
    assert str(caught.value) == message


def test_read_study__with_byte_order_mark__is_read(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_bytes(b"\xef\xbb\xbf" + SMALLEST.encode())
    assert read_study(tmp_path) == parse_study(SMALLEST) == parse_study("\ufeff" + SMALLEST)


def test_read_study__windows_line_ends__is_read(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_bytes(SMALLEST.replace("\n", "\r\n").encode())
    assert read_study(tmp_path) == parse_study(SMALLEST)


def test_read_study__no_file__says_where_and_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(StudyError, match=r"study.toml: found no such file in .*`shotwindow start`"):
        read_study(tmp_path / "nowhere")


def test_read_study__file_where_a_folder_should_be__told(tmp_path: Path) -> None:
    (tmp_path / "study.toml").mkdir()
    with pytest.raises(StudyError, match="expected a file that can be read"):
        read_study(tmp_path)


@pytest.mark.parametrize("data", [b'\n\ntitle = "20 \xb0C"', 'title = "x"'.encode("utf-16")])
def test_read_study__other_encoding__line_and_what_to_do(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "study.toml").write_bytes(data)
    with pytest.raises(StudyError, match="save the file again with the encoding UTF-8") as caught:
        read_study(tmp_path)
    place = caught.value.problems[0].place
    assert place == f"study.toml line {data[:3].count(10) + 1}"


KEYS = """
schema title good_from mold press material time factors held fill flash avoid
mold.name mold.revision mold.cavities mold.full_mass_g mold.projected_area_cm2 mold.layout
press.name press.area_ratio press.clamp_force_kN press.barrel_g
material.name material.grade material.lot material.regrind_percent material.dried_degC
material.dried_h time.start_up_min time.clean_up_min time.shot_min time.warm_up_shots
time.budget_min factors.x.unit factors.x.low factors.x.high factors.x.step factors.x.limits
factors.x.holds factors.x.reads factors.x.soak_min factors.x.soak_down_min factors.x.acts_as
factors.x held.x.value held.x.unit held.x fill.measured fill.step fill.balance_step_g
fill.full_from flash.measured flash.unit flash.step flash.seen_from flash.good avoid.x
""".split()
VALUES = """
0 -1 1 3.5 1e9 1e-9 nan inf 99999999999999999999999 true "" "x" "mass" "grade" "bar" ">= 4"
[] [1] [1,2] [[1]] ["x"] [{}] {} {a=1} {pressure=">="} 2026-01-02 07:30:00 2026-01-02T07:30:00Z
""".split()


@pytest.mark.parametrize("key", KEYS)
def test_parse_study__any_value_anywhere__a_study_or_words(key: str) -> None:
    for value in VALUES:
        for other in ("", SMALLEST):
            try:
                assert isinstance(parse_study(f"{key} = {value}\n{other}"), Study)
            except StudyError as error:
                assert all(problem.expected for problem in error.problems)
