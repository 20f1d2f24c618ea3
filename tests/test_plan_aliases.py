"""Aliases in lines: all of them, or counted where an effect carries many of one order."""

from molds import study

from shotwindow.doe.judging import judge
from shotwindow.doe.plans import make_plan
from shotwindow.reports.plan_aliases import alias_lines


def _lines(kind: str, factors: int, shots: int, whole: str) -> list[str]:
    mold = study(factors, slow=False)
    plan = make_plan(mold, kind=kind, shots=shots)
    return alias_lines("Aliases", judge(mold, plan).aliases, whole=whole)


def test_alias_lines__large_fraction__a_line_each_and_where_the_rest_is() -> None:
    # 2^(8-4) of resolution IV: a main effect carries 7 of the 28 x 8 / 4 words' interactions of
    # three, an interaction of two carries three others (defining relation of 14 words of four)
    lines = _lines("fraction", 8, 16, "--judge")
    assert lines[1] == "  pressure = 7 interactions of three"
    assert lines[-1] == "  Each with its sign: --judge"
    text = " ".join(" ".join(lines).split())
    assert (
        "pressure x melt temperature = + mold temperature x cooling time + injection time x screw "
        "speed + pack pressure x nozzle temperature" in text
    )
    assert max(map(len, lines)) <= 80 and len(lines) < 30


def test_alias_lines__screening__share_of_each() -> None:
    # PB12: a third of every interaction of two that does not hold the factor; of three, too
    first = _lines("plackett-burman", 5, 12, "--judge")[1]
    assert first == "  pressure = 0.33 of each of 6 interactions of two and 0.33 of each of 4"


def test_alias_lines__whole__every_one_with_its_sign() -> None:
    text = " ".join(" ".join(_lines("fraction", 8, 16, "")).split())
    assert "pressure = + melt temperature x mold temperature x cooling time + melt" in text
    assert "Each with its sign" not in text and "interactions of" not in text


def test_alias_lines__shares_that_differ__the_largest() -> None:
    alias = "a = + 0.10 b^2 - 0.65 c^2 + d^2 - 0.20 e^2 + b x c"
    lines = alias_lines("Aliases", [alias], whole="--judge")
    assert lines[1] == "  a = + b x c and up to 1 of 4 squares"
