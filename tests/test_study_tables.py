import pytest

from shotwindow.doe.errors import StudyError
from shotwindow.doe.study import parse_study

FACTOR = '\n[factors.pressure]\nunit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.1\n'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "schema = 2",
            "schema: found 2; expected 1 or less; this study is for a newer shotwindow; update the "
            "program",
        ),
        ("schema = 0", "schema: found 0; expected 1 or more"),
        ("schema = 1.0", "schema: found 1.0; expected a whole number"),
        ("title = 3", "title: found 3; expected text; put it in quotation marks"),
        ("good_from = 0.49", "good_from: found 0.49; expected 0.5 or more"),
        ("good_from = 1", "good_from: found 1; expected 0.999 or less"),
        (
            "mold = 3",
            "mold: found 3; expected a table; give it a heading of its own in square brackets",
        ),
        (
            "[factor]",
            "factor: found an unknown key; expected one of schema, title, good_from, prefer, mold, "
            "press, material, time, factors, held, fill, flash, avoid; did you mean factors?",
        ),
        (
            "[avoid]",
            "avoid: found a table; expected one [[avoid]] for each rule; put two brackets on "
            "either side",
        ),
        ("mold.cavities = 0", "[mold] cavities: found 0; expected 1 or more"),
        ("mold.cavities = 257", "[mold] cavities: found 257; expected 256 or less"),
        ("mold.cavities = 2.5", "[mold] cavities: found 2.5; expected a whole number"),
        ("mold.cavities = true", "[mold] cavities: found true; expected a whole number"),
        ("mold.name = 7", "[mold] name: found 7; expected text; put it in quotation marks"),
        (
            "mold.cavities = 2\nmold.full_mass_g = [2.1]",
            "[mold] full_mass_g: found 1 of them; expected 2, one for each cavity",
        ),
        ("mold.full_mass_g = [0]", "[mold] full_mass_g, number 1: found 0; expected more than 0"),
        (
            "mold.full_mass_g = 2.1",
            "[mold] full_mass_g: found 2.1; expected a list; put it in square brackets, as in "
            "[1.0, 2.0]",
        ),
        ("press.area_ratio = 0", "[press] area_ratio: found 0; expected more than 0"),
        ("press.barrel_g = inf", "[press] barrel_g: found inf; expected a finite number"),
        (
            "material.regrind_percent = 101",
            "[material] regrind_percent: found 101; expected 100 or less",
        ),
        ("material.dried_h = -1", "[material] dried_h: found -1; expected 0 or more"),
        ("time.shot_min = 0", "[time] shot_min: found 0; expected more than 0"),
        ("time.warm_up_shots = -1", "[time] warm_up_shots: found -1; expected 0 or more"),
        (
            "held.charge = 3",
            "[held.charge]: found 3; expected a table with value and unit",
        ),
        (
            'held.charge.unit = "g"',
            "[held.charge] value: found nothing; expected a number, or text in quotation marks",
        ),
        (
            "held.charge.value = nan",
            "[held.charge] value: found nan; expected a number, or text in quotation marks",
        ),
        (
            'fill.measured = "weight"',
            '[fill] measured: found "weight"; expected "mass", "eye" or "full-or-short"',
        ),
        (
            "fill.full_from = 98",
            '[fill] full_from: found 98; expected no such key where measured is "eye"; '
            "leave it out",
        ),
        (
            'fill = {measured = "full-or-short", step = 2}',
            '[fill] step: found 2; expected no such key where measured is "full-or-short"; '
            "leave it out",
        ),
        (
            "mold.full_mass_g = [2.1]\nfill = {measured = 'mass', full_from = 100.5}",
            "[fill] full_from: found 100.5; expected 100 or less",
        ),
        (
            "mold.full_mass_g = [2.1]\nfill = {measured = 'mass', full_from = 50}",
            "[fill] full_from: found 50; expected more than 50",
        ),
        ("fill.step = 51", "[fill] step: found 51; expected 50 or less"),
        (
            'flash.measured = "widths"',
            '[flash] measured: found "widths"; expected "width" or "grade"; did you mean "width"?',
        ),
        ('flash.unit = "cm"', '[flash] unit: found "cm"; expected a unit of length: mm, in'),
        (
            "flash = {measured = 'grade', step = 1}",
            '[flash] step: found 1; expected no such key where measured is "grade"; leave it out',
        ),
        (
            "flash = {measured = 'grade', good = 1.5}",
            "[flash] good: found 1.5; expected grade 0, 1 or 2; the worst grade of a good part; "
            "3 would pass everything",
        ),
        (
            "flash.good = 0.01",
            "[flash] good: found 0.01; expected at least the narrowest flash that is seen (0.02); "
            "a limit below that can never be shown to hold",
        ),
        (
            "flash.seen_from = 0.2",
            "[flash] good: found 0.1; expected at least the narrowest flash that is seen (0.2); "
            "a limit below that can never be shown to hold",
        ),
        (
            'flash = {unit = "in", good = 0.004}',
            "[flash] step: found nothing; expected a width in inches",
        ),
        (
            'flash = {unit = "in", step = 0.001}',
            "[flash] good: found nothing; expected a width in inches",
        ),
    ],
)
def test_study__one_mistake__one_message(text: str, message: str) -> None:
    with pytest.raises(StudyError) as caught:
        parse_study(text + FACTOR)
    assert str(caught.value) == f"study.toml {message}"
