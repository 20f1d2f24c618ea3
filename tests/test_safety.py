from dataclasses import replace

from sheets import EYE

from shotwindow.doe.rows import Row
from shotwindow.doe.safety import has_heavy_flash, shots_to_skip
from shotwindow.doe.study import parse_study

STUDY = parse_study(EYE)
FLASHED = Row(2, "1", "", 1, "ladder", (4.0, 210.0), (None, None), (100.0,), (0.6,), status="ok")


def later(shot: int, pressure: float, melt: float, status: str = "") -> Row:
    nothing = (None, None), (None,), (None,)
    return Row(shot, "1", "", 1, "ladder", (pressure, melt), *nothing, status=status)


def test_shots_to_skip__nowhere_lower_and_still_to_come() -> None:
    rows = [
        later(1, 5.0, 230.0),
        FLASHED,
        later(3, 4.0, 210.0),
        later(4, 3.9, 230.0),
        later(5, 5.0, 209.0),
        later(6, 4.1, 210.0),
        later(7, 5.0, 230.0, "skipped"),
        replace(later(8, 5.0, 230.0), kind="warm-up"),
    ]
    assert shots_to_skip(STUDY, rows, {2}) == {3: 2, 6: 2, 8: 2}


def test_shots_to_skip__only_for_the_shots_asked_about() -> None:
    assert shots_to_skip(STUDY, [FLASHED, later(3, 4.0, 210.0)], set()) == {}
    assert not has_heavy_flash(STUDY, replace(FLASHED, flash=(0.4,)))
