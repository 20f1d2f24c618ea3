"""What findings come down to, in words: each situation says its own."""

from dataclasses import replace

import pytest
from invented_shots import findings, recorded, study

from shotwindow.models.drawing import Diagnostics
from shotwindow.models.margins import Edge
from shotwindow.reports.findings import Findings, find
from shotwindow.reports.verdicts import fails_as, margins, notes, verdict


def _failed(found: Findings) -> Findings:
    """Return findings as they are when the fit of fill did not converge."""
    poor = Diagnostics(effective=20.0, pareto_k=1.2, rounds=8)
    surfaces = replace(found.surfaces, fill=replace(found.surfaces.fill, diagnostics=poor))
    return replace(
        found, surfaces=surfaces, window=None, setpoint=None, ranges=None, edges=(), narrow=None
    )


def test_verdict__setpoint__says_where_to_run() -> None:
    found = findings("map")
    assert found.setpoint is not None
    pressure, melt = found.setpoint.settings
    assert verdict(found).startswith(
        f"Run at pressure {pressure:g} bar gauge, melt temperature {melt:g} degC: "
    )


def test_verdict__window_narrower_than_the_hold__says_so_and_what_would_help() -> None:
    said = verdict(findings("coarse"))
    assert said.startswith("Narrower than your gauge can hold: 65 psi gauge")
    assert "+/-2.5 psi" in said and "What would help: setting pressure in steps of" in said


def test_verdict__no_mark_good_enough__gives_the_best() -> None:
    found = findings("strict")
    assert found.window is not None and found.best is not None
    best = float(found.window.probability_good[found.best])
    assert verdict(found).startswith(
        f"No setting reaches 0.999: the best is {best:.2f} at pressure"
    )


def test_verdict__only_short__points_upward() -> None:
    said = verdict(findings("short"))
    assert "try beyond the high ends" in said and "flash side is unknown" in said


def test_verdict__no_edge_seen__is_said() -> None:
    assert "no edge was seen" in verdict(findings("full"))
    assert verdict(findings("map")).count("unknown") == 0


def test_verdict__not_converged__gives_no_window() -> None:
    said = verdict(_failed(findings("map")))
    assert said.startswith("The fit of fill did not converge")


def test_margins__edges__distance_and_whole_marks() -> None:
    found = findings("map")
    assert found.setpoint is not None
    here = found.setpoint.settings[0]
    edge = Edge(
        "pressure", "low", "fill", here - 0.45, (here - 0.5, here - 0.4), (None, here - 0.3)
    )
    open_edge = Edge("pressure", "high", None, None, (None, None), (None, None))
    low, high = margins(replace(found, edges=(edge, open_edge)))
    assert low.distance == pytest.approx(0.45) and low.marks == 4
    # the near end of the band on the low side is its upper end
    assert low.sure_distance == pytest.approx(0.3) and low.sure_marks == 3
    assert high.distance is None and high.marks is None and high.sure_marks is None
    assert high.tried == pytest.approx(5.0 - here)


def test_margins__high_side__near_end_is_the_lower_one() -> None:
    found = findings("map")
    assert found.setpoint is not None
    here = found.setpoint.settings[0]
    edge = Edge("pressure", "high", "flash", here + 0.5, (None, None), (here + 0.21, None))
    (margin,) = margins(replace(found, edges=(edge,)))
    assert margin.marks == 5 and margin.sure_marks == 2


def test_notes__few_groups__scatter_is_assumed() -> None:
    found = findings("map")
    assert found.surfaces.group_freedom < 3
    assert notes(found)[0].startswith("Group scatter assumed, not measured: 4 temperature groups")


def test_notes__enough_groups_or_nothing_slow__nothing_is_assumed() -> None:
    measured = replace(findings("map").surfaces, group_freedom=3)
    for found in (replace(findings("map"), surfaces=measured), findings("dial")):
        assert not any("assumed" in note for note in notes(found))


def test_notes__other_rejects__are_part_of_good_only_where_they_occurred() -> None:
    assert any("full and without flash only" in note for note in notes(findings("map")))
    assert any("not rejected for another reason (sink)" in n for n in notes(findings("sink")))


def test_notes__shots_left_and_none_good__are_told() -> None:
    rows = [replace(r, fill=(None,), flash=(None,)) if r.shot > 5 else r for r in recorded("dial")]
    said = notes(find(study("dial"), tuple(rows)))
    assert f"{len(rows) - 5} planned shots not made yet." in said
    assert any(note.startswith("None of the") for note in notes(findings("short")))


def test_notes__setpoint_at_an_end__is_told() -> None:
    found = findings("map")
    assert found.setpoint is not None
    at_end = replace(found.setpoint, settings=(5.0, 220.0))
    said = " ".join(notes(replace(found, setpoint=at_end)))
    assert "end of what was tried: pressure 5 bar gauge" in said
    inside = replace(found.setpoint, settings=(4.0, 220.0))
    assert "end of what was tried" not in " ".join(notes(replace(found, setpoint=inside)))


def test_notes__actual_settings_for_some_shots__are_told() -> None:
    partly = replace(findings("map").readings, partly_actual=("melt_temperature",))
    assert any(
        "actual melt temperature" in n for n in notes(replace(findings("map"), readings=partly))
    )


def test_fails_as__each_response__in_words() -> None:
    assert [fails_as(r) for r in ("fill", "flash", "other", None)] == [
        "short",
        "flash",
        "other rejects",
        "no edge",
    ]
