"""Why temperature groups, and what they cost: minutes saved, and a temperature known less well."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.groups import day_minutes
from shotwindow.doe.seeds import generator
from shotwindow.examples.lessons.bench import INVENTED, press, study, weighed
from shotwindow.models.split_plots import split_plot
from shotwindow.models.textbook import fit
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.page_pictures import Table

Array = NDArray[np.float64]
Ints = NDArray[np.int_]

SHOTS = 16
DAYS = 200  # how often each order is tried, each with its own scatter
WEIGHED_UP = 40  # of these, as many as are analyzed by groups too, which takes longer
TIME = 5.5
ORDERS = ("free", "four groups", "two groups")


@dataclass(frozen=True)
class Cost:
    """One kind of order, tried on many days; pairs are of pressure and melt temperature.

    Attributes
    ----------
    groups, minutes : float
        Means over the days.
    sd : (float, float)
        Standard deviation of the effects from day to day: how well they really are known.
    believed : (float, float)
        What plain least squares says that this standard deviation is (root mean square).
    by_groups : (float, float) or None
        What an analysis that knows the groups says; None where the groups are too few for it.
    """

    groups: float
    minutes: float
    sd: tuple[float, float]
    believed: tuple[float, float]
    by_groups: tuple[float, float] | None


def order(kind: str, day: int) -> tuple[Array, Ints]:
    """Return the coded shots (16, 2) in the order of one day, and the group of each."""
    rng = generator(day, "lesson groups", kind)
    if kind == "free":
        corners = np.array([(p, m) for p in (-1.0, 1.0) for m in (-1.0, 1.0)] * (SHOTS // 4))
        coded = rng.permutation(corners)
        changed = coded[1:, 1] != coded[:-1, 1]
        return coded, 1 + np.concatenate([[0], np.cumsum(changed)])
    count = {"four groups": 4, "two groups": 2}[kind]
    size = SHOTS // count
    melts = np.tile(rng.permutation([-1.0, 1.0]), count // 2)
    parts = [
        np.column_stack([rng.permutation(np.tile([-1.0, 1.0], size // 2)), np.full(size, melt)])
        for melt in melts
    ]
    return np.vstack(parts), np.repeat(np.arange(1, count + 1), size)


def _settings(coded: Array) -> Array:
    return np.column_stack(
        [2.6 + 0.4 * coded[:, 0], 220.0 + 15.0 * coded[:, 1], np.full(len(coded), TIME)]
    )


@cache
def costs() -> dict[str, Cost]:
    """Try each kind of order on many days."""
    return {kind: _cost(kind) for kind in ORDERS}


def _cost(kind: str) -> Cost:
    effects, believed, by_groups, spent = [], [], [], []
    for day in range(DAYS):
        coded, group = order(kind, day)
        matrix = np.column_stack([np.ones(SHOTS), coded, coded.prod(axis=1)])
        fill = weighed(_settings(coded), group, day, kind)
        plain = fit(matrix, fill)
        assert plain.covariance is not None  # 16 shots, 4 terms
        effects.append(2 * plain.coefficients[1:3])  # from -1 to +1
        believed.append(4 * np.diag(plain.covariance)[1:3])
        if kind != "two groups" and day < WEIGHED_UP:
            by_groups.append(4 * split_plot(matrix, fill, group).std_errors[1:3] ** 2)
        first = [int(np.flatnonzero(group == g)[0]) for g in np.unique(group)]
        spent.append((len(first), day_minutes(study(), _settings(coded)[first], SHOTS)))
    groups, minutes = np.mean(spent, axis=0)
    return Cost(
        float(groups),
        float(minutes),
        _pair(np.std(effects, axis=0, ddof=1)),
        _pair(np.sqrt(np.mean(believed, axis=0))),
        _pair(np.sqrt(np.mean(by_groups, axis=0))) if by_groups else None,
    )


def _pair(values: Array) -> tuple[float, float]:
    return float(values[0]), float(values[1])


def lesson() -> Lesson:
    """Make the handout."""
    found = costs()
    scatter = press().scatter
    melt = study().factors[1]
    told = (
        f"{SHOTS} short shots at two pressures (2.2 and 3.0 bar) and two melt temperatures (205 "
        "and 235 degC), each combination four times, were made in three orders: free (fully "
        "random), in four temperature groups (two at each temperature), and in two (one at each).",
        f"A change of melt temperature takes up to {melt.soak_min:g} min up, "
        f"{melt.soak_down_min:g} min down, and {study().time.warm_up_shots} warm-up shots. And "
        f"the barrel never comes back to quite the same temperature: on this press it misses by "
        f"{scatter.melt_group:.1f} degC (standard deviation), and every shot of that group shares "
        "the miss.",
        f"Each order was tried on {DAYS} days. We look at how much the two effects on fill differ "
        "from day to day: that is how well they are really known.",
    )
    return Lesson(
        title="Temperature groups and their price",
        goal="say what grouping saves, which effects it makes less certain, and what it takes to "
        "notice.",
        minutes=30,
        source=INVENTED,
        parts=(Part("What was done", told), Part("What came out", (), _table(found))),
        questions=_questions(found),
    )


def _table(found: dict[str, Cost]) -> Table:
    kinds = list(found.values())
    rows = (
        ("temperature groups (mean)", *(f"{c.groups:.3g}" for c in kinds)),
        ("minutes at the press (mean)", *(f"{c.minutes:.0f}" for c in kinds)),
        ("effect of pressure: really, from day to day", *(f"{c.sd[0]:.2f}" for c in kinds)),
        ("effect of pressure: plain least squares says", *(f"{c.believed[0]:.2f}" for c in kinds)),
        ("effect of melt temperature: really", *(f"{c.sd[1]:.2f}" for c in kinds)),
        ("melt temperature: plain least squares says", *(f"{c.believed[1]:.2f}" for c in kinds)),
        (
            "melt temperature: an analysis by groups says",
            *("cannot" if c.by_groups is None else f"{c.by_groups[1]:.2f}" for c in kinds),
        ),
    )
    caption = "Price, and standard deviation of the effects on fill in percent points"
    return Table(caption, ("order", *found), rows)


def _questions(found: dict[str, Cost]) -> tuple[Question, ...]:
    free, four, two = (found[kind] for kind in ORDERS)
    return (
        Question(
            "How many minutes do four groups save against a free order, and where do they go?",
            f"{free.minutes - four.minutes:.0f} minutes: {free.groups - four.groups:.1f} fewer "
            "changes on average, each a soak and warm-up shots.",
        ),
        Question(
            "Which effect gets less certain with fewer groups, and which does not? Why?",
            f"Melt temperature, from {free.sd[1]:.2f} to {four.sd[1]:.2f} and {two.sd[1]:.2f}: it "
            "was set only as often as there are groups, and eight shots at one heating up share "
            f"one miss. That of pressure does not: {free.sd[0]:.2f}, {four.sd[0]:.2f} and "
            f"{two.sd[0]:.2f}. It was changed within each group, where the miss cancels.",
            3,
        ),
        Question(
            "With two groups, how sure does plain least squares say that the effect of melt "
            "temperature is? What is wrong?",
            f"Its standard error is {two.believed[1]:.2f}, really it is {two.sd[1]:.2f}: "
            f"{two.sd[1] / two.believed[1]:.1f} times as much. It takes {SHOTS} shots for {SHOTS} "
            "independent settings of the temperature, and there were two.",
        ),
        Question(
            "Why can no analysis of two groups put this right? What do four groups add?",
            "With one group at each temperature, what the temperature did and what the group "
            "happened to miss are one number. Two groups at the same temperature differ by the "
            "miss alone, so they measure it. shotwindow sets two groups twice where the "
            'minutes allow, and says "assumed, not measured" where they do not.',
            3,
        ),
    )
