"""The picture in words and numbers says what the window says."""

from typing import Any

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.reports.alt_text import alt_text, picture_table


def test_alt_text__map__what_is_on_it_and_where() -> None:
    found = findings("map")
    words = alt_text(found)
    assert words.startswith(
        "Map of pressure (bar gauge) from 3 to 5 and melt temperature (degC) from 205 to 235. "
    )
    assert found.setpoint is not None and found.window is not None
    pressure, melt = found.setpoint.settings
    assert words.endswith(f"The setpoint is at {pressure:g} bar gauge and {melt:g} degC.")
    sure = found.study.factors[0].marks[found.window.sure.any(axis=1)]
    assert f"within pressure {sure.min():g} to {sure.max():g} bar gauge" in words


def test_alt_text__other_settings_and_rulers__are_named() -> None:
    assert ", at injection time " in alt_text(findings("cube"))
    assert alt_text(findings("dial")).startswith("Ruler of pressure (psi gauge)")


def test_alt_text__no_window__is_said() -> None:
    words = alt_text(findings("short"))
    assert "no sure window" in words and "There is no setpoint." in words


@pytest.mark.parametrize("name", ["map", "cube"])
def test_picture_table__rows__are_the_marks_of_the_window(name: str) -> None:
    found = findings(name)
    assert found.window is not None and found.best is not None
    table = picture_table(found)
    across, up = found.study.factors[:2]
    assert 2 <= len(table.rows) <= 12
    assert up.text(found.best_settings[1]) in [row[0] for row in table.rows]
    for row in table.rows:
        at = int(np.argmin(np.abs(up.marks - float(row[0]))))
        place: tuple[Any, ...] = (slice(None), at, *found.best[2:])
        sure = found.window.sure[place]
        marks = across.marks[sure]
        if not sure.any():
            assert row[2] == "none"
        elif np.diff(np.flatnonzero(sure)).max(initial=1) == 1:
            ends = [across.text(marks[0]), across.text(marks[-1])]
            assert row[2] == " to ".join(dict.fromkeys(ends))
