"""What findings come down to, in words: each situation says its own."""

from dataclasses import replace

import pytest
from invented_shots import findings

from shotwindow.models.margins import Edge
from shotwindow.models.trust import Diagnostics
from shotwindow.reports.findings import Findings
from shotwindow.reports.verdicts import fails_as, margins, verdict


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
    assert high.distance is None and high.marks is None
    assert high.tried == pytest.approx(5.0 - here) and low.tried == pytest.approx(here - 3.0)


def test_margins__sure_marks__stay_in_the_sure_window_and_the_next_one_does_not() -> None:
    found = findings("map")
    assert found.setpoint is not None and found.window is not None
    at, melt = found.setpoint.mark
    for margin in margins(found)[:2]:
        way = -1 if margin.side == "low" else 1
        kept = [found.window.sure[at + way * step, melt] for step in range(margin.sure_marks + 1)]
        assert all(kept) and margin.sure_marks > 0
        assert not found.window.sure[at + way * (margin.sure_marks + 1), melt]


def test_fails_as__each_response__in_words() -> None:
    assert [fails_as(r) for r in ("fill", "flash", "other", None)] == [
        "short",
        "flash",
        "other rejects",
        "no edge",
    ]
