"""The invented study and press of all lessons -> shots, findings and the truth about them."""

from collections.abc import Sequence
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.drafts import PlannedShot
from shotwindow.doe.plans import make_plan
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study, parse_study
from shotwindow.models.press import Press
from shotwindow.models.presses import press_for
from shotwindow.models.rehearsal import written_rows
from shotwindow.models.scoring import true_share_good
from shotwindow.models.shooting import shoot
from shotwindow.models.window import settings_at
from shotwindow.reports.findings import Findings, find

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

FAMILY, SEED = "A", 12
WORKED_SHOTS, WORKED_LUCK = 18, 3
INVENTED = (
    "Every shot in this lesson was made by a simulated practice press that we invented "
    f"(family {FAMILY}, seed {SEED}): its numbers say nothing about your mold. Only because it is "
    "simulated do we know the truth beside what was found."
)


@cache
def study() -> Study:
    """Return the study of the lessons: pressure, melt temperature, injection time, one cavity."""
    return parse_study(files("shotwindow.examples.lessons").joinpath("study.toml").read_text())


@cache
def press() -> Press:
    """Return the press of the lessons."""
    return press_for(study(), FAMILY, SEED)


@cache
def truth() -> Array:
    """Return the true share of good shots at every mark, one axis a factor."""
    shape = [factor.count for factor in study().factors]
    settings = settings_at(study().factors, np.arange(int(np.prod(shape))))
    return true_share_good(press(), study(), settings).reshape(shape)


def true_window() -> Flags:
    """Return which marks truly give enough good shots."""
    return np.asarray(truth() >= study().good_from)


def share_at(settings: Sequence[float]) -> float:
    """Return the true share of good shots at one setting."""
    return float(true_share_good(press(), study(), np.array([settings]))[0])


def overlap(found: Flags) -> float:
    """Return the marks in both a window and the true one, over those in either."""
    true = true_window()
    return float((found & true).sum() / max(1, (found | true).sum()))


def studied(shots: Sequence[PlannedShot], luck: int) -> Findings:
    """Shoot planned shots with one seed of luck, and find what they tell."""
    return find(study(), written_rows(study(), press(), shots, seed=luck, slip_rate=0.0))


@cache
def worked() -> Findings:
    """Return what a whole plan found on the press: the study that two of the lessons read."""
    return studied(make_plan(study(), shots=WORKED_SHOTS).shots, WORKED_LUCK)


def weighed(settings: ArrayLike, group: ArrayLike, luck: int, *stream: str) -> Array:
    """Make shots at thermal balance and return their fill, (n,): mass as percent of a full part.

    The balance shows 0.01 g.
    """
    made = shoot(press(), settings, group=group, rng=generator(luck, "lesson", *stream))
    mass = made.mass[:, 0].round(2)
    fill: Array = 100.0 * mass / press().full_mass_g[0]
    return fill
