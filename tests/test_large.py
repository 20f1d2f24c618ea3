from dataclasses import replace
from pathlib import Path

from sheets import study_in

from shotwindow.cli.large import large_announcement, large_number
from shotwindow.cli.wording import moves_to
from shotwindow.doe.runs import read_runs


def test_large_number__every_sign_differs() -> None:
    assert len({large_number(sign) for sign in "0123456789-."}) == 12
    assert len({len(row) for row in large_number("-205.5")}) == 1


def test_large_announcement__fits_the_screen_and_shows_only_what_changes(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    rows = read_runs(tmp_path, study)
    first = large_announcement(study, rows[0], moves_to(study, rows[0], None), 2, 8)
    change = large_announcement(study, rows[3], moves_to(study, rows[3], rows[2]), 0, 8)
    hotter = large_announcement(study, rows[5], moves_to(study, rows[5], rows[4]), 0, 8)
    same = large_announcement(study, rows[2], moves_to(study, rows[2], rows[1]), 0, 8)
    assert "pressure 3 bar, melt temperature 210 degC" in same.split("AS IT IS")[1]
    for text in (first, change, hotter, same):
        assert max(map(len, text.splitlines())) < 80
    assert "WARM-UP, IS SET ASIDE; 1 MORE TO COME" in first
    assert "PRESSURE" in first
    assert "MELT TEMPERATURE" in first
    assert "MELT TEMPERATURE" not in change
    assert "(it was 3)" in change
    assert "then let it soak 14 min" in hotter


def test_large_announcement__many_factors__leave_room_for_the_questions(tmp_path: Path) -> None:
    study = study_in(tmp_path)
    row = read_runs(tmp_path, study)[3]
    more = replace(study, factors=study.factors * 3)
    moves = moves_to(more, replace(row, settings=row.settings * 3), None)
    assert len(large_announcement(more, row, moves, 0, 8).splitlines()) <= 12
