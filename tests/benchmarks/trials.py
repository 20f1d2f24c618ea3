"""A family, a seed and a number of shots -> a trial: a press, its study, its shots, its truth."""

from dataclasses import dataclass, field, fields, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.plans import Plan, make_plan
from shotwindow.doe.readings import Readings
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import FillScale, FlashScale, Material, Mold, Study, Time
from shotwindow.doe.study import Press as PressTable
from shotwindow.models.press import Press, Scatter
from shotwindow.models.presses import random_press, some_marks
from shotwindow.models.rehearsal import shoot_plan
from shotwindow.models.truth import probability_good
from shotwindow.models.window import settings_at

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Marks that are judged. The overlap with a window of a fifth of all has a standard error of 0.015.
JUDGED = 3000
#: Percent from which a weighed part is full, for the methods as for the truth.
FULL_FROM = 98.0
#: Points over which the truth is averaged at each mark.
DRAWS = 64
#: Places that are looked at along a line, for each mark on it.
FINE = 5
#: A press is worn when no mark of those looked at reaches this share of good shots.
WORN_BELOW = 0.85


@dataclass(frozen=True)
class Trial:
    """What every method is given, and the truth that it does not see.

    Attributes
    ----------
    press, study, plan, readings
        The readings are of the shots of the plan.
    seed : int
    marks : ndarray, shape (n, k)
        Settings that are judged: all marks, or `JUDGED` of them drawn evenly.
    flat : ndarray of int, shape (n,)
        Their numbers in C order.
    truth : ndarray, shape (n,)
        True share of good shots there.
    """

    press: Press
    study: Study
    plan: Plan
    readings: Readings
    seed: int
    marks: Array
    flat: NDArray[np.intp]
    truth: Array

    @property
    def good(self) -> Flags:
        """Which of the judged marks are in the true window."""
        return np.asarray(self.truth >= self.study.good_from)


@dataclass(frozen=True)
class Found:
    """What a method says.

    Attributes
    ----------
    likely : ndarray of bool, shape (n,)
        Which of the judged marks it takes to be in the window.
    sure : ndarray of bool, shape (n,), or None
        Those of which it is sure by nine in ten; None where it cannot tell.
    stated : ndarray, shape (n,), or None
        Its chance of a good shot, not a number where it gives no answer.
    setpoint : tuple of float, length k, or None
        None where it says that there is no window.
    ends : dict
        Factor -> where the window ends along it, all others at the setpoint.
    plan : Plan
        The shots that it made.
    more : dict
        Measures of its own.
    ranks : dict
        Edge -> share of the draws whose edge is nearer to the setpoint than the true one.
    """

    likely: Flags
    sure: Flags | None
    stated: Array | None
    setpoint: tuple[float, ...] | None
    ends: dict[str, tuple[float, float]]
    plan: Plan
    more: dict[str, float] = field(default_factory=dict)
    ranks: dict[str, float] = field(default_factory=dict)


def make_trial(press: Press, shots: int, seed: int, *, kind: str = "optimal") -> Trial:
    """Plan and shoot so many shots on a press, and find the truth."""
    study = study_of(press)
    plan = make_plan(study, kind=kind, shots=shots, seed=seed)
    count = int(np.prod([factor.count for factor in study.factors]))
    flat = np.arange(count)
    if count > JUDGED:
        flat = generator(seed, "marks to judge").choice(count, JUDGED, replace=False)
    marks = settings_at(study.factors, flat)
    return Trial(
        press=press,
        study=study,
        plan=plan,
        readings=shoot_plan(study, press, plan.shots, seed=seed),
        seed=seed,
        marks=marks,
        flat=flat,
        truth=true_good(press, marks),
    )


def true_good(press: Press, settings: Array) -> Array:
    """Return the true share of good shots at settings (n, k), (n,)."""
    return probability_good(press, settings, fill_good=FULL_FROM, draws=DRAWS)


def study_of(press: Press) -> Study:
    """Return a study of a simulated press: parts are weighed, the width of flash is measured."""
    return Study(
        title="Recovery of a known window",
        good_from=0.9,
        mold=Mold("simulated", "", press.cavities, press.full_mass_g, None),
        press=PressTable("simulated", press.area_ratio, None, None),
        material=Material("", "", "", 0.0, None, None),
        time=Time(start_up_min=20, clean_up_min=15, shot_min=3, warm_up_shots=2, budget_min=2000),
        factors=press.factors,
        held=(),
        fill=FillScale("mass", 0.01, FULL_FROM),
        flash=FlashScale("width", "mm", 0.02, 0.02, press.flash_good_mm),
        avoid=(),
        schema=1,
    )


def with_scatter(press: Press, times: float) -> Press:
    """Return the press with every scatter so many times as large."""
    scaled = {f.name: times * getattr(press.scatter, f.name) for f in fields(Scatter)}
    return replace(press, scatter=Scatter(**scaled))


def press_of(family: str, seed: int, factors: int, *, worn: bool) -> Press:
    """Return the random press of a family and a seed, or the same press when worn.

    A worn press scatters so much that nowhere nine shots in ten are good: the right answer is that
    there is no window.
    """
    press = random_press(family, seed, factors=factors)
    if not worn:
        return press
    marks = some_marks(press, 1000, generator(seed, "marks of a worn press"))
    good, times = marks[true_good(press, marks) >= study_of(press).good_from], 1.0
    while len(good):
        times *= 1.25
        share = true_good(with_scatter(press, times), good)
        good = good[share >= WORN_BELOW]  # more scatter never makes a good mark better
    return with_scatter(press, times)


def line_through(study: Study, settings: tuple[float, ...], axis: int) -> Array:
    """Return settings from low to high along one factor, others as given, (m, k)."""
    factor = study.factors[axis]
    count = FINE * (factor.count - 1) + 1
    line = np.tile(np.array(settings), (count, 1))
    line[:, axis] = np.linspace(factor.low, factor.high, count)
    return line


def stretch(inside: Flags, start: int) -> tuple[int, int]:
    """Return the first and last place of the stretch of true places around one of them."""
    first = last = start
    while first > 0 and inside[first - 1]:
        first -= 1
    while last < len(inside) - 1 and inside[last + 1]:
        last += 1
    return first, last
