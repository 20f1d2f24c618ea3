"""What `compare` says: sure where it is sure, and which pressures were matched how."""

from dataclasses import replace
from pathlib import Path

import pytest
from invented_folders import write_study
from invented_shots import findings, recorded, study

from shotwindow.cli.main import run
from shotwindow.doe.common_factors import match_factors
from shotwindow.doe.errors import StudyError
from shotwindow.doe.rows import Row
from shotwindow.models.comparison import Comparison, compare_windows
from shotwindow.models.shifts import Shift, Side, Span
from shotwindow.reports.compare_words import (
    common_words,
    compare_lines,
    conclusion,
    matching_notes,
)
from shotwindow.reports.comparing import Compared, compare_lots
from shotwindow.reports.findings import Findings, find


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


def test_heading__two_studies_of_one_title__which_is_which() -> None:
    title = SAME.a.study.title
    assert compare_lines(SAME)[0] == f"A: {title}, named first; B: {title}, named second"


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
    assert any("different shares of good shots" in note for note in notes)


def test_compare_lines__80_columns_of_ascii() -> None:
    lines = compare_lines(SAME)
    assert max(map(len, lines)) <= 80 and all(line.isascii() for line in lines)
    assert any("not seen in both" in line or "pressure low" in line for line in lines)


@pytest.fixture
def two_lots(monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let every study that is read be the invented clip, its first and its second half a lot."""
    rows: tuple[Row, ...] = recorded("map")
    half = [replace(r, lot="L1" if r.group < 3 else "L2") for r in rows]
    found = find(study("map"), tuple(half))
    monkeypatch.setattr("shotwindow.reports.comparing.read_findings", lambda *_, **__: found)
    return Path("any")


def test_compare_lots__heading_notes_and_no_word_of_presses(two_lots: Path) -> None:
    lines = compare_lines(compare_lots(two_lots, ("L2", "L1")))
    text = " ".join(" ".join(lines).split())
    assert text.startswith('A: lot "L2"; B: lot "L1"; both of Invented clip')
    assert "8 shots of A and 8 of B" in text and "as a whole" in text
    assert "No temperature group holds shots of both lots" in text
    assert "presses" not in text and "melt pressure" not in text and "worst of the lots" not in text
    assert max(map(len, lines)) <= 80


def test_compare_lots__turned_round__the_same_difference_turned_round(two_lots: Path) -> None:
    one = compare_lots(two_lots, ("L1", "L2")).comparison
    other = compare_lots(two_lots, ("L2", "L1")).comparison
    assert one.share_a == other.share_b and one.only_a == other.only_b
    assert one.difference.median == -other.difference.median
    assert one.common.a == other.common.a


def test_compare_lots__unknown_or_twice_the_same__told_what_there_is(two_lots: Path) -> None:
    with pytest.raises(StudyError, match='"L9".*L1 and L2'):
        compare_lots(two_lots, ("L1", "L9"))
    with pytest.raises(StudyError, match='"L1" twice'):
        compare_lots(two_lots, ("L1", "L1"))


def test_compare__lots_typed__one_lot_only_and_two_folders(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    dial = str(write_study(tmp_path / "dial", "dial"))
    assert run(["compare", dial, "--lots", "L1", "L2"]) == 1
    assert "L1 is the only one that was shot" in " ".join(capsys.readouterr().err.split())
    assert run(["compare", dial, dial, "--lots", "L1", "L2"]) == 2
    assert run(["compare", dial]) == 2
