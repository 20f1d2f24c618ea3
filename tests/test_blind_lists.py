"""Blind lists: parts from both sides of the limit, shuffled, without a word of first readings."""

from dataclasses import replace
from pathlib import Path

import pytest
from sheets import EYE, GRADES, MASS, study_in

from shotwindow.doe.blind_lists import GRADING, Part, draw_parts, keep_list, newest_list
from shotwindow.doe.columns import standard_layout
from shotwindow.doe.errors import StudyError
from shotwindow.doe.journal import read_journal
from shotwindow.doe.rows import Row
from shotwindow.doe.session import open_session
from shotwindow.doe.study import parse_study

WORDS = EYE.replace("invented lid", "invented caps") + '[fill]\nmeasured = "full-or-short"\n'


def rows(readings: list[tuple[float | str, ...]], flash: list[float] | None = None) -> list[Row]:
    """Rows of invented shots 1, 2, ... with these fill readings."""
    widths = flash or [0.0] * len(readings)
    return [
        Row(shot, "1", "", 1, "optimal", (4.0, 220.0), (None, None), fill, (width,), by="Ada")
        for shot, (fill, width) in enumerate(zip(readings, widths, strict=True), start=1)
    ]


def test_draw__half_from_each_side_and_the_nearest_to_the_limit() -> None:
    study = parse_study(EYE)
    percents = [60.0, 98.0, 96.0, 70.0, 94.0, *[100.0] * 9]
    read = rows([(value,) for value in percents])
    parts = draw_parts(study, standard_layout(study), read, "fill", count=6, seed=1)
    short = {part.shot for part in parts if percents[part.shot - 1] < 100}
    assert short == {2, 3, 5}
    assert len(parts) == 6 and len(set(parts)) == 6


def test_draw__flash__sides_by_the_limit_of_a_good_part() -> None:
    study = parse_study(GRADES)  # good up to grade 1
    grades = [0.0, 1.0, 2.0, 3.0, 1.0, 0.0, 2.0]
    read = rows([(100.0,)] * 7, grades)
    parts = draw_parts(study, standard_layout(study), read, "flash", count=4, seed=3)
    assert {part.shot for part in parts} == {2, 5, 3, 7}


def test_draw__seed__the_same_list_again_and_another_one_otherwise() -> None:
    study = parse_study(WORDS)
    read = rows([("full",), ("short",)] * 20)
    layout = standard_layout(study)
    drawn = [draw_parts(study, layout, read, "fill", count=20, seed=s) for s in (1, 1, 2)]
    assert drawn[0] == drawn[1] != drawn[2]
    sides = [read[part.shot - 1].fill == ("full",) for part in drawn[0]]
    assert sides.count(True) == 10
    # 10 full before 10 short, or in turns, are 3 of 184,756 orders
    assert sides != sorted(sides) and sides != sorted(sides, reverse=True)
    shots = [part.shot for part in drawn[0]]
    assert shots != sorted(shots)


def test_draw__every_place__either_side_as_often() -> None:
    """Over 400 seeds each place is full in half: off by 0.025 once, by 0.125 never (5 sd)."""
    study = parse_study(WORDS)
    layout, read = standard_layout(study), rows([("full",), ("short",)] * 6)
    first = [draw_parts(study, layout, read, "fill", count=8, seed=s)[0] for s in range(400)]
    share = sum(read[part.shot - 1].fill == ("full",) for part in first) / 400
    assert abs(share - 0.5) < 0.125


def test_draw__labels__shot_and_cavity_or_all_where_the_worst_was_read() -> None:
    study = parse_study(MASS)  # two cavities: a mass each, flash of the worst
    read = rows([(2.0, 4.0), (1.9, 4.0), (1.5, 3.0)], [0.0, 0.2, 0.0])
    layout = standard_layout(study)
    fill = draw_parts(study, layout, read, "fill", count=6, seed=1)
    assert {part.label for part in fill} == {"1-1", "1-2", "2-1", "2-2", "3-1", "3-2"}
    assert all(part.heading == f"mass {part.label[-1]} (g)" for part in fill)
    flash = draw_parts(study, layout, read, "flash", count=2, seed=1)
    assert "2-all" in {part.label for part in flash}


def test_draw__warm_up_void_and_no_part__left_out() -> None:
    study = parse_study(EYE)
    read = rows([(100.0,), (90.0,), (91.0,), (92.0,), (93.0,)])
    read[1] = replace(read[1], kind="warm-up")
    read[2] = replace(read[2], status="void", note="cold")
    read[3] = replace(read[3], status="no part", fill=(None,), flash=(None,))
    parts = draw_parts(study, standard_layout(study), read, "fill", count=8, seed=1)
    assert {part.shot for part in parts} == {1, 5}


@pytest.mark.parametrize(
    ("response", "missing"), [("fill", "no full part"), ("flash", "flash over the limit")]
)
def test_draw__one_side_only__said(response: str, missing: str) -> None:
    study = parse_study(EYE)
    with pytest.raises(StudyError, match=missing):
        draw_parts(study, standard_layout(study), rows([(90.0,)] * 3), response, count=4, seed=1)


def test_keep_list__once__and_read_back_in_its_order(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    parts = (Part(7, "fill (%)", "7-1"), Part(3, "fill (%)", "3-1"), Part(5, "fill (%)", "5-1"))
    with open_session(tmp_path, study, who="Ada") as session:
        listed = keep_list(tmp_path, session, "fill", parts)
        assert keep_list(tmp_path, session, "fill", parts) == listed
        assert keep_list(tmp_path, session, "flash", (Part(4, "flash (mm)", "4-1"),)).seq == 2
        entries = read_journal(tmp_path, GRADING)
        assert newest_list(entries, study, session.layout, "fill") == listed
        assert listed.parts == parts
        keep_list(tmp_path, session, "fill", parts[::-1])
        again = newest_list(read_journal(tmp_path, GRADING), study, session.layout, "fill")
    assert again is not None and again.parts == parts[::-1]
    assert len(read_journal(tmp_path, GRADING)) == 3


def test_keep_list__cavities_of_one_shot_apart__stay_apart(tmp_path: Path) -> None:
    study = study_in(tmp_path, MASS)
    one, two = "mass 1 (g)", "mass 2 (g)"
    parts = (Part(7, one, "7-1"), Part(3, two, "3-2"), Part(7, two, "7-2"), Part(3, one, "3-1"))
    with open_session(tmp_path, study) as session:
        keep_list(tmp_path, session, "fill", parts)
        found = newest_list(read_journal(tmp_path, GRADING), study, session.layout, "fill")
    assert found is not None and found.parts == parts
