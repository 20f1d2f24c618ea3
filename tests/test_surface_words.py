"""What `surfaces` prints: one sentence for each thing that a setting does."""

from dataclasses import replace

import pytest
from invented_shots import findings

from shotwindow.models.drawing import Diagnostics
from shotwindow.reports.changes import Change, Interval, Joint
from shotwindow.reports.surface_words import (
    change_words,
    effect_words,
    fit_lines,
    joint_words,
    prior_lines,
    surface_lines,
)

FACTORS = findings("map").study.factors


def _change(low: float, high: float, downward: float = 0.0) -> Change:
    effect = Interval((low + high) / 2, low, high)
    return Change("fill", FACTORS[0], 0.5, "percent", effect, downward, True)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (4.0, 7.0, "pressure +0.5 bar adds 4 to 7 percent fill."),
        (-7.0, -4.0, "pressure +0.5 bar takes 4 to 7 percent fill."),
        (-1.5, 2.0, "pressure +0.5 bar may take or add: -1.5 to +2 percent fill."),
    ],
)
def test_change_words__each_sign(low: float, high: float, words: str) -> None:
    assert change_words(_change(low, high)) == words


def test_change_words__against_what_was_expected__is_said() -> None:
    assert "speak against the usual direction (0.80)" in change_words(_change(-3.0, 1.0, 0.8))
    unguided = replace(_change(-3.0, 1.0, 0.8), expected_up=False)
    assert "against" not in change_words(unguided)


def test_effect_words__share__of_shots_over_the_limit() -> None:
    words = effect_words("flash", "share", Interval(0.7, 0.62, 0.81))
    assert words == "brings the share of shots over the flash limit from 50 to 70 % (62 to 81)"
    assert "rejected" in effect_words("other", "share", Interval(0.7, 0.6, 0.8))


def test_joint_words__both_ends_of_the_other() -> None:
    low, high = Interval(3, 2, 4), Interval(7, 6, 8)
    joint = Joint("fill", FACTORS[0], FACTORS[1], 0.5, low, high, "percent")
    assert joint_words(joint) == (
        "pressure +0.5 bar adds 2 to 4 percent fill at melt temperature 205 degC, and adds 6 to 8 "
        "percent fill at melt temperature 235 degC."
    )


def test_surface_lines__all_that_was_promised() -> None:
    text = " ".join("\n".join(surface_lines(findings("dial"), ["a = + b x c"])).split())
    for part in (
        "pressure +6 psi",
        "Beside least squares",
        "lack of fit F",
        "a = + b x c",
        "tends to fill and to flash more",
        "5 % of the belief lies on the wrong side",
        "Convergence",
        "full from",
        "flash over the limit from",
    ):
        assert part in text, part


def test_surface_lines__no_alias__is_said() -> None:
    assert any("none; no effect" in line for line in surface_lines(findings("dial"), []))


def test_surface_lines__no_repeats__lack_of_fit_cannot_be_told() -> None:
    text = " ".join(" ".join(surface_lines(findings("avoid"), [])).split())
    assert "lack of fit cannot be told" in text


def test_prior_lines__switched_off__is_said() -> None:
    lines = " ".join(prior_lines(replace(findings("dial"), signs=False)))
    assert "No direction is expected" in lines


def test_fit_lines__not_converged__is_loud() -> None:
    found = findings("dial")
    poor = Diagnostics(effective=12.0, pareto_k=0.9, rounds=8)
    surfaces = replace(found.surfaces, fill=replace(found.surfaces.fill, diagnostics=poor))
    lines = fit_lines(replace(found, surfaces=surfaces))
    assert any("fill" in line and "NOT CONVERGED" in line for line in lines)
    assert any("flash" in line and "converged" in line for line in lines)
