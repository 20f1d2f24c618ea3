import io
import json
import os
import re
import sys
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from shotwindow.cli.main import run, shotwindow
from shotwindow.doe.arrangement import side_by_side
from shotwindow.doe.card_finding import find_card
from shotwindow.doe.cards import Known
from shotwindow.doe.errors import StudyError
from shotwindow.doe.outline import Outline
from shotwindow.doe.quantities import convert
from shotwindow.doe.spans import Span, card_span, read_span
from shotwindow.doe.study import Study, parse_study, read_study
from shotwindow.doe.study_text import study_text

RESINS = (
    "ABS acetal GPPS HIPS polyethylene polypropylene polycarbonate PBT PET TPE PETG PLA".split()
    + ["nylon 6", "nylon 66", "polypropylene copolymer", "PLA, crystallizing"]
)
PRESSURE = ("--pressure", "40 to 70 by 5 psi")


def start(*words: object) -> Result:
    return CliRunner().invoke(shotwindow, ["start", *map(str, words)])


def made(folder: Path, *words: str) -> Study:
    result = start(folder, *words)
    assert result.exit_code == 0, result.output
    return read_study(folder)


def test_start__options_alone__each_lands_in_the_study(tmp_path: Path) -> None:
    options = (
        "--title", 'A "clip"', "--material", "HIPS", "--cavities", "2", "--fill", "mass",
        "--full-mass", "1.95 1.97", "--flash", "width", "--rating", "100", "--minutes", "150",
        "--melt", "400 to 450 by 10 F", "--mold", "100 degF", "--time", "3 to 8 by 0.5 s",
    )  # fmt: skip
    study = made(tmp_path / "clip", *PRESSURE, *options)
    assert (study.title, study.material.name, study.time.budget_min) == ('A "clip"', "HIPS", 150)
    assert study.mold.full_mass_g == (1.95, 1.97)
    assert study.flash.measured == "width"
    assert [(f.name, f.unit, f.low, f.high, f.step) for f in study.factors] == [
        ("pressure", "psi", 40, 70, 5),
        ("melt_temperature", "degF", 400, 450, 10),
        ("injection_time", "s", 3, 8, 0.5),
    ]
    assert study.factors[0].limits == (0, 100)
    assert [(held.name, held.text) for held in study.held] == [("mold_temperature", "100 degF")]


@pytest.mark.parametrize("unit", ["psi", "bar"])
@pytest.mark.parametrize("resin", RESINS)
def test_start__each_card__first_ranges_inside_it(tmp_path: Path, resin: str, unit: str) -> None:
    pressure = ("--pressure", f"40 to 70 by 5 {unit}")
    study = made(tmp_path / "study", "--material", resin, *pressure)
    card = find_card(resin)
    assert card is not None and card.melt is not None and card.mold is not None
    ends = {f.name: (f.low, f.high, f.unit) for f in study.factors}
    ends |= {h.name: (h.value, h.value, h.unit) for h in study.held}  # type: ignore[misc]
    for name, known in (("melt_temperature", card.melt), ("mold_temperature", card.mold)):
        low, high, read_in = ends[name]
        assert read_in == ("degF" if unit == "psi" else "degC")
        assert known.low is not None
        assert convert(low, read_in, "degC") >= known.low - 0.6  # a held value is rounded
        assert convert(high, read_in, "degC") <= known.high + 0.6
        if card.ceiling and name == "melt_temperature":
            assert convert(high, read_in, "degC") < card.ceiling.high
    text = (tmp_path / "study" / "study.toml").read_text()
    assert text.count("data sheet comes first") >= 2
    assert card.melt.source.split()[0] in text


def test_start__narrow_card__step_that_leaves_marks(tmp_path: Path) -> None:
    # PLA's card tells 200 to 205 degC; steps of 5 would leave two marks.
    study = made(tmp_path / "study", "--material", "PLA", "--pressure", "3 to 5 by 0.1 bar")
    melt = study.factors[1]
    assert (melt.low, melt.high, melt.step) == (200, 205, 1)


def test_card_span__ceiling_inside_the_range__stays_below() -> None:
    known = Known(200.0, 250.0, "invented")
    assert card_span(known, "degC", below=240.0).high == 235
    assert card_span(known, "degF", below=240.0).high == 460  # 240 degC is 464 degF
    assert card_span(known, "degC").high == 250
    held = card_span(Known(25.0, 25.0, "invented"), "degC")
    assert held.is_held and held.low == 25


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--material", "PVC"), "hydrogen chloride"),
        (("--material", "polypropylene", "--melt", "240 to 280 by 5 degC"), "must stay below 275"),
        (("--material", "acetal", "--melt", "200 to 255 by 5 degC"), "must stay below 250"),
    ],
)
def test_start__what_a_card_refuses__nothing_written(
    tmp_path: Path, options: tuple[str, ...], told: str
) -> None:
    result = start(tmp_path / "study", *PRESSURE, *options)
    assert result.exit_code == 1
    assert told in str(result.exception)
    assert not (tmp_path / "study").exists()


def test_start__study_there__not_touched(tmp_path: Path) -> None:
    (tmp_path / "study.toml").write_text("mine")
    result = start(tmp_path, *PRESSURE)
    assert result.exit_code == 1
    assert "start in another folder" in str(result.exception)
    assert (tmp_path / "study.toml").read_text() == "mine"


def test_start__nobody_to_ask__names_what_is_missing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["start", str(tmp_path / "study")]) == 2
    assert "--pressure" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--pressure", "40 to 70 by 4 psi"), "the nearest that fit are high = 68 or 72"),
        (("--pressure", "40 to 70 psi"), "lowest, highest, step and unit"),
        (("--pressure", "70 to 40 by 5 psi"), "less than high"),
        (("--pressure", "40 to 70 by 5 furlong"), "units are bar, psi"),
        (("--pressure", "50 psi"), "expected a range"),
        (("--pressure", "1,250 to 2,500 by 50 psi"), "could be"),
        ((*PRESSURE, "--rating", "60"), "at least the highest pressure"),
        ((*PRESSURE, "--rating", "much"), "expected a number"),
        ((*PRESSURE, "--fill", "mass"), "1 masses in g"),
        ((*PRESSURE, "--fill", "mass", "--cavities", "2", "--full-mass", "2"), "2 masses in g"),
        (
            (*PRESSURE, "--cavities", "4", "--layout", "1 2 / 3 3"),
            "each of the numbers 1 to 4 once",
        ),
        ((*PRESSURE, "--cavities", "2", "--layout", "left right"), "part them by /"),
        ((*PRESSURE, "--layout", "1 2"), "each of the numbers 1 to 1 once"),
        ((*PRESSURE, "--full-mass", "2"), "say that fill is judged by mass"),
        ((*PRESSURE, "--melt", "200 to 230 by 5 s"), "units are degC, degF"),
        ((*PRESSURE, "--minutes", "0"), "more than 0"),
        ((*PRESSURE, "--title", "a\nb"), "text that can be printed"),
    ],
)
def test_start__wrong_option__told_and_nothing_written(
    tmp_path: Path, options: tuple[str, ...], told: str
) -> None:
    result = start(tmp_path / "study", *options)
    assert result.exit_code == 1
    assert told in str(result.exception)
    assert not (tmp_path / "study").exists()


def test_start__json(tmp_path: Path) -> None:
    result = start(tmp_path / "study", *PRESSURE, "--material", "ABS", "--json")
    told = json.loads(result.stdout)
    assert told["card"] == "ABS"
    assert told["varied"] == ["pressure", "melt_temperature", "mold_temperature"]
    assert any("drying" in guard for guard in told["open"])


def answered(monkeypatch: pytest.MonkeyPatch, folder: Path, *lines: str) -> int:
    class Keyboard(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdin", Keyboard("".join(f"{line}\n" for line in lines)))
    return run(["start", str(folder)])


def test_start__asked__ten_questions(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "seed-scoop"
    lines = ("", "pp", "", "", "40 to 70 by 5 psi", "100", "", "100 F", "3 to 8 by 1 s", "")
    assert answered(monkeypatch, folder, *lines) == 0
    study = read_study(folder)
    assert (study.title, study.mold.cavities, study.fill.measured) == ("seed scoop", 1, "eye")
    assert study.names == ("pressure", "melt_temperature", "injection_time")
    assert study.held[0].text == "100 degF"
    assert len(lines) == 10 and sys.stdin.read() == ""  # as many answers as were asked for


@pytest.mark.parametrize(("typed", "rows"), [("2 1/ 4,3", ((2, 1), (4, 3))), ("", None)])
def test_start__several_cavities__asks_how_they_lie(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: str, rows: object
) -> None:
    lines = ("", "pp", "4", typed, "", "40 to 70 by 5 psi", "100", "", "", "none", "")
    assert answered(monkeypatch, tmp_path / "lid", *lines) == 0
    assert read_study(tmp_path / "lid").mold.layout == rows
    assert sys.stdin.read() == ""


@pytest.mark.parametrize("cavities", [2, 4, 12, 256])
def test_start__layout_not_told__an_example_as_pictures_show_them(
    tmp_path: Path, cavities: int
) -> None:
    study = made(tmp_path / "lid", *PRESSURE, "--cavities", str(cavities))
    assert study.mold.layout is None
    text = (tmp_path / "lid" / "study.toml").read_text("utf-8")
    assert "Not told yet" in text
    told = re.sub(r"^# (?=layout|    \[|\])", "", text, flags=re.MULTILINE)
    assert parse_study(told).mold.layout == side_by_side(cavities)


def test_start__layout_told__stands_in_the_study(tmp_path: Path) -> None:
    study = made(tmp_path / "lid", *PRESSURE, "--cavities", "3", "--layout", "0 1 / 3 2")
    assert study.mold.layout == ((0, 1), (3, 2))
    assert "Not told yet" not in (tmp_path / "lid" / "study.toml").read_text("utf-8")


def test_start__asked__wrong_answer_asked_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = ("", "PVC", "", "none", "1", "", "50", "40 to 70 by 5 psi", "", "", "", "", "")
    assert answered(monkeypatch, tmp_path / "lid", *lines) == 0
    told = capsys.readouterr().err
    assert "hydrogen chloride" in told and "expected a number" in told
    assert read_study(tmp_path / "lid").names == ("pressure",)


def test_start__asked__left_half_way__nothing_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert answered(monkeypatch, tmp_path / "lid", "", "pp") == 130
    assert "Nothing was written" in capsys.readouterr().err
    assert not (tmp_path / "lid").exists()


def test_start__own_cards_in_the_folder__used(tmp_path: Path) -> None:
    cards = "name,melt_low_degC,melt_high_degC,melt_source\ninvented resin,180,200,its maker\n"
    (tmp_path / "cards.csv").write_text(cards, encoding="utf-8")
    study = made(tmp_path, "--material", "invented resin", "--pressure", "3 to 5 by 0.1 bar")
    assert [(f.name, f.low, f.high) for f in study.factors[1:]] == [("melt_temperature", 180, 200)]


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminal there")
def test_start__at_a_real_terminal__asks(tmp_path: Path) -> None:
    import pty

    child, screen = pty.fork()
    if child == 0:
        os.chdir(tmp_path)
        os.execv(sys.executable, [sys.executable, "-m", "shotwindow.cli", "start", "lid"])
    for line in ("", "pp", "1", "eye", "3 to 5 by 0.1 bar", "7", "", "", "none", "120"):
        os.write(screen, line.encode() + b"\n")
    shown = b""
    try:
        while piece := os.read(screen, 4096):
            shown += piece
    except OSError:  # the terminal closes with its last program
        pass
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0, shown.decode()
    assert b"Of which plastic" in shown
    assert read_study(tmp_path / "lid").time.budget_min == 120


def outline(title: str = "lid", **changes: object) -> Outline:
    span = Span(3.0, 5.0, 0.1, "bar")
    held = Span(40.0, 40.0, 0.0, "degC")
    values: dict[str, object] = {
        "title": title, "material": "acetal", "card": find_card("acetal"), "cavities": 2,
        "layout": (), "fill": "mass", "full_mass_g": (1.0, 2.0), "flash": "width", "pressure": span,
        "rating": 7.0, "melt": Span(190.0, 210.0, 5.0, "degC", "a source"), "mold": held,
        "time": Span(3.0, 8.0, 0.5, "s"), "minutes": 240.0,
    }  # fmt: skip
    return Outline(**(values | changes))  # type: ignore[arg-type]


@given(st.text(st.characters(exclude_categories=["C", "Zl", "Zp"]), min_size=1))
def test_study_text__any_title__read_back(title: str) -> None:
    assert parse_study(study_text(outline(title))).title == title


@pytest.mark.parametrize("flash", ["grade", "width"])
@pytest.mark.parametrize("fill", ["eye", "mass", "full-or-short"])
def test_study_text__examples_in_comments_uncommented__valid(fill: str, flash: str) -> None:
    masses = (1.0, 2.0) if fill == "mass" else ()
    text = study_text(outline(fill=fill, full_mass_g=masses, flash=flash))
    keys = re.sub(r"^# (?=[a-z_A-Z]+ = |\[)", "", text, flags=re.MULTILINE)
    study = parse_study(keys)
    assert study.press.barrel_g == 40
    assert {held.name for held in study.held} >= {"charge", "previous_material"}
    assert len(study.avoid) == 1
    assert len(tomllib.loads(text)) < len(tomllib.loads(keys))


def test_study_text__lines_fit() -> None:
    lines = study_text(outline()).splitlines()
    assert max(len(line) for line in lines if "http" not in line) <= 100


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("40 to 70 by 5 psi", Span(40, 70, 5, "psi")),
        ("3,0 - 5,0 step 0,1 bar", Span(3, 5, 0.1, "bar")),
        ("40–70 by 5 PSIG", Span(40, 70, 5, "psi")),
        ("4.5 bar", Span(4.5, 4.5, 0, "bar")),
    ],
)
def test_read_span(text: str, span: Span) -> None:
    assert read_span(text, "pressure", "pressure") == span


def test_read_span__temperature_spelled_out() -> None:
    assert read_span("200 to 230 by 5 °C", "melt_temperature", "temperature").unit == "degC"
    with pytest.raises(StudyError, match="melt temperature, step: .* high = 228 or 232"):
        read_span("200 to 230 by 4 degC", "melt_temperature", "temperature")
    with pytest.raises(StudyError, match="lowest, highest"):
        read_span("warm", "melt_temperature", "temperature")
