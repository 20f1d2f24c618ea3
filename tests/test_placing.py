from dataclasses import replace

import numpy as np
import pytest

from shotwindow.doe.factors import natural_settings
from shotwindow.models.flashing import GapFlash
from shotwindow.models.outcomes import true_latent
from shotwindow.models.placing import Places, with_edges
from shotwindow.models.presets import preset
from shotwindow.models.press import Press


def moved(press: Press, places: Places) -> Press | None:
    return with_edges(replace(press, starving=0.0), places)


@pytest.mark.parametrize("name", ["forgiving", "unbalanced", "clip"])
@pytest.mark.parametrize("push", [0.9, 1.4])
def test_edges__lie_where_wanted(name: str, push: float) -> None:
    press = preset(name)
    k = len(press.factors)
    places = Places((-0.4,) + (0.1,) * (k - 1), (0.7,) + (-0.2,) * (k - 1), push, 3e-5)
    placed = moved(press, places)
    assert placed is not None
    settings = natural_settings(press.factors, [places.full, places.flashed])
    fill, flash = true_latent(placed, settings)
    assert fill[0].min() == pytest.approx(100.0, abs=0.01)
    assert flash[1].max() == pytest.approx(press.flash_good_mm, rel=1e-3)


def test_edges__starving_before__forgotten() -> None:
    # Melt as thick as it is set: heavy flash by the old constants must not starve anything.
    press = replace(preset("unbalanced"), starving=0.25)
    places = Places((-0.2, 0.0, 0.0, 0.0), (0.3, 0.0, 0.0, 0.0), 1.1, 2e-5)
    soft = replace(press, flash=GapFlash(0.0127e-3, (7e-6,) * 4, (1e-8,) * 4))
    ours, theirs = with_edges(press, places), with_edges(soft, places)
    assert ours is not None and theirs is not None
    assert theirs.melt == ours.melt


def test_edges__flash_wanted_where_all_is_short__none() -> None:
    press = preset("narrow")
    assert moved(press, Places((0.5,), (-0.5,), 1.2, 2e-5)) is None


def test_edges__no_pressure__none() -> None:
    press = replace(preset("narrow"), friction=1e9)
    assert moved(press, Places((-0.5,), (0.5,), 1.2, 2e-5)) is None


def test_edges__open_mold_flashes_by_itself__none() -> None:
    press = preset("narrow")
    assert moved(press, Places((-0.5,), (0.5,), 0.5, 1e-3)) is None


def test_edges__clamp_at_the_push_wanted() -> None:
    press = preset("narrow")
    tight, loose = (moved(press, Places((-0.5,), (0.5,), push, 2e-5)) for push in (1.5, 1.0))
    assert tight is not None and loose is not None
    assert tight.clamp.force == pytest.approx(1.5 * loose.clamp.force)
    assert np.isclose(tight.clamp.force / tight.clamp.stiffness, 2e-5)
