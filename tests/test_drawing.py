"""How long cheap stand-ins of the readings are tried before each set of scales gets its own."""

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.sampling import made_study
from numpy.typing import NDArray

from shotwindow.models import drawing
from shotwindow.models.drawing import draw
from shotwindow.models.matching import Factors
from shotwindow.models.peak import Peak, peak
from shotwindow.models.posterior import Density
from shotwindow.models.proposals import Shape, StandIns, straight_stand_ins

Array = NDArray[np.float64]


def _poor(density: Density) -> Peak:
    """A place 0.7 spreads of the prior away from the best one, and less than half as wide."""
    top = peak(density)
    to = np.where(np.arange(top.scales.size) % 2, 1.0, -1.0)
    return replace(top, scales=top.scales + 0.7 * to * density.log_spread, root=0.4 * top.root)


@pytest.mark.parametrize("seed", [1, 2])
def test_draw__poor_first_place__found_with_cheap_stand_ins_laid_anew(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Invented readings of 20 shots; the costly stand-ins take most of the time of a large fit."""
    laid: list[Array] = []

    def anew(density: Density, shape: Shape, rng: np.random.Generator) -> StandIns:
        laid.append(shape.center)
        return straight_stand_ins(density, shape, rng)

    def costly(density: Density, scales: Array) -> Factors:
        return pytest.fail("stand-ins of its own for each set of scales")

    what = made_study(20, 2, factors=2)
    plain = draw(what, np.random.default_rng(seed)).states
    monkeypatch.setattr(drawing, "peak", _poor)
    monkeypatch.setattr(drawing, "straight_stand_ins", anew)
    monkeypatch.setattr(drawing, "factors", costly)
    found = draw(what, np.random.default_rng(seed))
    assert found.diagnostics.converged and found.diagnostics.r_hat is None
    assert found.diagnostics.rounds > 4  # with few rounds it could not be seen
    away = [np.abs((place - peak(what).scales) / what.log_spread).max() for place in laid]
    assert len(laid) > 2 and away[-1] < away[0]
    # of 37 numbers; of some 300 draws that count, 0.4 is five standard errors of a difference
    gap = (found.states.mean(axis=1) - plain.mean(axis=1)) / plain.std(axis=1)
    assert np.abs(gap).max() < 0.4
