"""Every area, line and sign of the picture has its words."""

from dataclasses import replace

from invented_shots import findings

from shotwindow.reports.legends import edge_legend, place_legend, side_legend, window_legend
from shotwindow.reports.shots import shot_legend
from shotwindow.reports.theme import SIDES


def _labels(entries: object) -> list[str]:
    return [str(entry.get_label()) for entry in entries]  # type: ignore[attr-defined]


def test_legend__areas__say_what_they_mean() -> None:
    found = findings("map")
    assert _labels(window_legend(found)) == [
        "sure window: 90 % good, chance 0.9+",
        "likely window: 90 % good, chance 0.5+",
    ]
    assert _labels(side_legend(found)) == [
        "short: a cavity is not full",
        "flash: more than 0.1 mm",
        "not tried: no answer",
    ]
    assert _labels(side_legend(findings("avoid")))[-1] == "not tried or ruled out: no answer"


def test_legend__grades_and_other_rejects__in_their_own_words() -> None:
    assert "flash: more than grade 1" in _labels(side_legend(findings("graded")))
    assert "rejects: sink" in _labels(side_legend(findings("sink")))
    assert len(edge_legend(findings("sink"))) == 3


def test_legend__hatches__are_those_of_the_areas() -> None:
    hatches = [entry.get_hatch() for entry in side_legend(findings("map"))]  # type: ignore[attr-defined]
    assert hatches[:2] == [SIDES["fill"].hatch, SIDES["flash"].hatch]


def test_legend__setpoint_and_ranges__only_where_there_are_any() -> None:
    assert _labels(place_legend(findings("map")))[0].startswith("setpoint: ")
    assert _labels(place_legend(findings("strict")))[0].startswith("best mark: ")
    assert len(place_legend(findings("strict"))) == 1
    found = findings("map")
    assert found.ranges is not None and found.setpoint is not None
    assert len(place_legend(found)) == 2
    point = replace(found.ranges, low=found.setpoint.mark, high=found.setpoint.mark)
    assert len(place_legend(replace(found, ranges=point))) == 1  # nothing of it can be seen


def test_legend__shots__only_what_occurred() -> None:
    assert _labels(shot_legend(findings("full"))) == ["good shot"]
    assert "small: far off in other settings" in _labels(shot_legend(findings("cube")))
