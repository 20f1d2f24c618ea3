"""What `compare` says: sure where it is sure, and which pressures were matched how."""

from dataclasses import replace

from invented_shots import findings, study

from shotwindow.doe.common_factors import match_factors
from shotwindow.models.comparison import Comparison, compare_windows
from shotwindow.models.shifts import Shift, Side, Span
from shotwindow.reports.comparing import (
    Compared,
    common_words,
    compare_lines,
    conclusion,
    matching_notes,
)
from shotwindow.reports.findings import Findings


def _compared(a: Findings, b: Findings) -> Compared:
    match = match_factors(a.study, b.study)
    one, other = (Side(f.study, f.goodness, f.region) for f in (a, b))
    return Compared(a, b, match, compare_windows(one, other, match))


SAME = _compared(findings("map"), findings("map"))


def _with(**changed: object) -> Compared:
    comparison: Comparison = replace(SAME.comparison, **changed)  # type: ignore[arg-type] # fields
    return replace(SAME, comparison=comparison)


def test_conclusion__the_same_study_twice__cannot_be_told() -> None:
    assert conclusion(SAME).startswith("It cannot be told which of the two windows is larger")
    assert "edge" not in conclusion(SAME)


def test_conclusion__sure_difference_and_edge__named() -> None:
    higher = Shift("pressure", "high", Span(0.3, 0.2, 0.4), 0.99)
    said = conclusion(
        _with(chance_b_larger=0.98, difference=Span(0.1, 0.05, 0.2), shifts=(higher,))
    )
    assert said.startswith("The window of B is the larger one: B holds +10.0 % (+5.0 to +20.0 %)")
    assert said.endswith("In B the high edge of pressure lies higher.")
    assert conclusion(_with(chance_b_larger=0.01)).startswith("The window of A is the larger one")


def test_common_words__good_in_both_or_only_the_best() -> None:
    assert common_words(SAME).startswith("Good in both: pressure")
    poor = replace(SAME.comparison.common, held_b=0.5)
    assert common_words(_with(common=poor)).startswith("No setting is good enough in both")


def test_matching_notes__by_melt_where_both_presses_have_a_ratio() -> None:
    assert any("matched by melt pressure" in note for note in matching_notes(SAME))
    bare = replace(study("map").press, area_ratio=None, name="other")
    b = replace(findings("map"), study=replace(findings("map").study, press=bare))
    notes = " ".join(matching_notes(_compared(findings("map"), b)))
    assert "matched as the gauges" in notes and "matched by melt pressure" not in notes


def test_matching_notes__unseen_edge_and_different_demands() -> None:
    found = findings("map")
    assert found.window is not None
    open_one = replace(found, window=replace(found.window, open_edges=("fill",)))
    other = replace(found, study=replace(found.study, good_from=0.8))
    notes = matching_notes(replace(SAME, a=open_one, b=other))
    assert "The short edge of A was never seen, so that it may lie farther." in notes
    assert any("good_from; they differ" in note for note in notes)


def test_compare_lines__80_columns_of_ascii() -> None:
    lines = compare_lines(SAME)
    assert max(map(len, lines)) <= 80 and all(line.isascii() for line in lines)
    assert any("not seen in both" in line or "pressure low" in line for line in lines)
