"""What is to be kept in mind: said where it is so, and only there."""

from dataclasses import replace

from invented_shots import findings, recorded, study

from shotwindow.reports.findings import find
from shotwindow.reports.notes import notes


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
