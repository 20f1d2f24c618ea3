"""What `surfaces` prints: one sentence for each thing that a setting does."""

from dataclasses import replace

from invented_shots import findings, mirrored

from shotwindow.models.trust import Diagnostics
from shotwindow.reports.surface_words import fit_lines, prior_lines, surface_lines


def test_surface_lines__all_that_was_promised() -> None:
    text = " ".join("\n".join(surface_lines(findings("dial"), ["a = + b x c"])).split())
    for part in (
        "pressure +6 psi",
        "with either prior, and by least squares",
        "molding prior weak prior least squares",
        "lack of fit F",
        "a = + b x c",
        "tends to fill and to flash more",
        "5 % of the belief lies on the wrong side",
        "Convergence",
        "full from",
        "flash over the limit",
    ):
        assert part in text, part


def test_surface_lines__no_alias__is_said() -> None:
    assert any("none; no effect" in line for line in surface_lines(findings("dial"), []))


def test_surface_lines__no_repeats__lack_of_fit_cannot_be_told() -> None:
    text = " ".join(" ".join(surface_lines(findings("avoid"), [])).split())
    assert "lack of fit cannot be told" in text


def test_prior_lines__each_prior_by_its_name() -> None:
    assert "The molding prior: more pressure" in " ".join(prior_lines(findings("dial")))
    lines = " ".join(prior_lines(replace(findings("dial"), prior="weak")))
    assert "The weak prior: no direction is expected" in lines and "molding" not in lines


def test_surface_lines__every_study__80_columns() -> None:
    for name in ("cube", "dial", "full", "graded", "sink"):
        assert max(map(len, surface_lines(findings(name), []))) <= 80, name
    assert max(map(len, surface_lines(mirrored("map"), []))) <= 80


def test_fit_lines__not_converged__is_loud() -> None:
    found = findings("dial")
    poor = Diagnostics(effective=12.0, pareto_k=0.9, rounds=8)
    surfaces = replace(found.surfaces, fill=replace(found.surfaces.fill, diagnostics=poor))
    lines = fit_lines(replace(found, surfaces=surfaces))
    assert any("fill" in line and "NOT CONVERGED" in line for line in lines)
    assert any("flash" in line and "converged" in line for line in lines)
