"""Edges in sentences: where, how sure, and which side of it was never seen."""

from dataclasses import replace
from math import inf

import pytest
from invented_shots import findings

from shotwindow.reports.crossings import Crossing
from shotwindow.reports.edge_words import edge_sentences, edge_words, never_seen

PRESSURE = findings("map").study.factors[0]


@pytest.mark.parametrize(
    ("ends", "rising", "words"),
    [
        ((4.5, 4.62, 4.8), True, "flash over the limit from 4.62 (4.5 to 4.8)"),
        ((3.2, 3.3, 3.4), False, "flash over the limit up to 3.3 (3.2 to 3.4)"),
        ((4.7, 4.9, inf), True, "flash over the limit from 4.9 (4.7 to above 5)"),
        ((4.7, inf, inf), True, "no flash over the limit (its edge: 4.7 to above 5)"),
        ((inf, inf, inf), True, "no flash over the limit"),
        ((-inf, -inf, -inf), False, "no flash over the limit"),
        ((-inf, -inf, -inf), True, "flash over the limit all along"),
        ((-inf, -inf, 3.1), True, "flash over the limit all along (its edge: below 3 to 3.1)"),
        ((-inf, 4.0, inf), True, "flash over the limit: cannot tell from where"),
    ],
)
def test_edge_words__every_place(
    ends: tuple[float, float, float], rising: bool, words: str
) -> None:
    assert edge_words(Crossing("flash", PRESSURE, *ends, rising)) == words


def test_edge_sentences__every_setting_and_response() -> None:
    told = edge_sentences(findings("cube"))
    names = ["pressure (bar gauge)", "melt temperature (degC)", "injection time (s)"]
    assert [line.split(":")[0] for line in told] == names
    assert all("full" in line and "flash over the limit" in line for line in told)
    assert any("least squares" in line for line in told)
    assert "rejects" in edge_sentences(findings("sink"))[0]


def test_never_seen__both_edges_open__beyond_what_was_tried() -> None:
    assert never_seen(findings("full")) == [
        "A short part was never seen: its edge lies below pressure 3 bar gauge, or is not there.",
        "Flash over the limit was never seen: its edge lies above pressure 5 bar gauge, or is not "
        "there.",
    ]
    assert never_seen(findings("map")) == []


def test_never_seen__own_setting__no_direction_is_claimed() -> None:
    found = findings("full")
    own = replace(found.study.factors[0], name="valve")
    lines = never_seen(replace(found, study=replace(found.study, factors=(own,))))
    assert "outside what was tried of valve" in lines[0] and "below" not in lines[0]
