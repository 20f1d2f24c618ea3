"""Prior and shots: told side by side, and in conflict only where a setting is turned about."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings, flat, mirrored

from shotwindow.models.surface import fit_surfaces
from shotwindow.reports.changes import changes
from shotwindow.reports.effect_words import conflict_words
from shotwindow.reports.findings import find
from shotwindow.reports.priors import MOLDING, WEAK
from shotwindow.reports.pull import by_prior, conflicts, distances, effects_by_prior


def test_by_prior__own_fit_is_kept_and_the_other_made_once() -> None:
    found = findings("map")
    both = by_prior(found, "fill")
    assert list(both) == [MOLDING, WEAK] and both[MOLDING] is found.surfaces.fill
    other = fit_surfaces(found.readings, seed=found.seed, signs=False)
    assert (both[WEAK].coefficients == other.fill.coefficients).all()
    assert by_prior(found, "fill")[WEAK] is both[WEAK]


def test_by_prior__weak_asked_for__molding_beside_it() -> None:
    found = findings("map")
    weak = find(found.study, found.rows, prior=WEAK)
    both = by_prior(weak, "flash")
    assert both[WEAK] is weak.surfaces.flash
    assert (both[MOLDING].coefficients == found.surfaces.flash.coefficients).all()


def test_by_prior__not_converged__left_out() -> None:
    found = findings("map")
    poor = replace(found.surfaces.fill.diagnostics, effective=3.0)
    fill = replace(found.surfaces.fill, diagnostics=poor)
    failed = replace(found, surfaces=replace(found.surfaces, fill=fill))
    assert list(by_prior(failed, "fill")) == [WEAK] and len(by_prior(failed, "flash")) == 2
    assert conflicts(failed, "fill") == ()


def test_effects_by_prior__those_of_changes() -> None:
    found = findings("map")
    told = effects_by_prior(found)
    assert list(told) == ["fill", "flash"]
    assert told["flash"][MOLDING] == changes(found, found.surfaces.flash)
    assert told["flash"][WEAK] == changes(found, by_prior(found, "flash")[WEAK])


def test_distances__known_effects__by_hand() -> None:
    """Two effects without doubt: one as large as the size that both need, one the other way."""
    found = findings("map")
    weak = flat(by_prior(found, "fill")[WEAK], pressure=-0.1, melt_temperature=0.1)
    far, expected = distances(found.surfaces.fill, weak)
    sd = 1 / 1.645
    size = np.sqrt(0.02 / (2 * (1 + sd**2)))
    assert expected == pytest.approx([size, size])
    assert far == pytest.approx([(-0.1 - size) / (size * sd), (0.1 - size) / (size * sd)])


def test_distances__all_effects_larger__no_farther() -> None:
    found = findings("map")
    weak = by_prior(found, "fill")[WEAK]
    far, _ = distances(found.surfaces.fill, weak)
    larger = replace(weak, coefficients=5.0 * weak.coefficients)
    assert distances(found.surfaces.fill, larger)[0] == pytest.approx(far)


def test_conflicts__as_shot__none() -> None:
    for name in ("map", "cube", "dial", "full", "graded", "sink"):
        found = findings(name)
        assert all(conflicts(found, s.response) == () for s in found.surfaces.each), name


def test_conflicts__pressure_written_down_the_wrong_way_round__named() -> None:
    found = mirrored("map")
    (told,) = conflicts(found, "fill")
    both = by_prior(found, "fill")
    assert told.molding == changes(found, both[MOLDING])[0]
    assert told.weak == changes(found, both[WEAK])[0] != told.molding
    assert told.weak.factor.name == "pressure" and told.distance > 2 and told.expected > 0
    words = conflict_words(told, MOLDING)
    assert "pressure +0.5 bar takes" in words and "to add about" in words
    assert f"{told.distance:.1f} standard deviations" in words and "use --prior weak" in words
    assert "The shots outweigh the prior" in words
    pulled = conflict_words(replace(told, pulled=True), WEAK)
    assert "pulls the answer to: takes" in pulled and "stay with the weak prior" in pulled


def test_conflicts__own_setting__nothing_is_expected_of_it() -> None:
    found = mirrored("map")
    fill = found.surfaces.fill
    none = replace(fill, prior=replace(fill.prior, mean=np.zeros_like(fill.prior.mean)))
    far, _ = distances(none, by_prior(found, "fill")[WEAK])
    assert (far == 0.0).all()
