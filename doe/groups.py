"""Shots turned into an order and a clock: temperature groups, soaks, warm-up shots, minutes.

A temperature group is made between two changes of a slow setting. Slow settings soak together, so
a change takes as long as the slowest of them; heating may be quicker than cooling. The study's
soak is taken as that of a change from low to high; a smaller one is shorter, as in any body that
closes in on its new temperature exponentially: t ~ ln(1 + change / holds) (common physics, no
source), so that half the range still takes more than four fifths of the time.
"""

from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.quantities import convert, unit_kind
from shotwindow.doe.study import Study

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

# Orders within this many minutes of the quickest are as good, and chance decides among them.
NEAR_MIN = 10.0
# Up to this many groups every order is looked at; for more, as many drawn as there would be.
EXHAUSTIVE = 7
DRAWN_ORDERS = 2_000


def soak_minutes(factor: Factor, old: NDArray[np.float64], new: NDArray[np.float64]) -> Floats:
    """Return minutes until a slow factor has settled after a change.

    Parameters
    ----------
    factor
        Any factor; one without a soak changes at once.
    old, new
        Settings in its unit, of any one shape.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.factors import Factor
    >>> from shotwindow.doe.groups import soak_minutes
    >>> melt = Factor("melt_temperature", "degC", 205, 235, 1, (190, 250), 0.5, "gauge", 15, 25)
    >>> soak_minutes(melt, np.array([205, 205, 235]), np.array([235, 220, 205])).round(1).tolist()
    [15.0, 12.5, 25.0]
    """
    change = np.asarray(new, dtype=float) - np.asarray(old, dtype=float)
    if factor.soak_min is None:
        return np.zeros_like(change)
    down = factor.soak_min if factor.soak_down_min is None else factor.soak_down_min
    holds = factor.holds or factor.step / 2
    share = np.log1p(np.abs(change) / holds) / np.log1p((factor.high - factor.low) / holds)
    soaks: Floats = np.where(change > 0, factor.soak_min, down) * share
    return soaks


def change_minutes(study: Study, old: Floats, new: Floats) -> Floats:
    """Return the soak between settings (..., k) and (..., k): the longest of all factors, (...)."""
    soaks = [soak_minutes(f, old[..., j], new[..., j]) for j, f in enumerate(study.factors)]
    longest: Floats = np.max(soaks, axis=0)
    return longest


def slow_positions(study: Study) -> tuple[int, ...]:
    """Return the positions of the slow factors."""
    return tuple(j for j, factor in enumerate(study.factors) if factor.is_slow)


def scatter_ratio(study: Study) -> float:
    """Return the variance that groups are taken to have over that of shots; 0 if nothing is slow.

    Examples
    --------
    >>> from shotwindow.doe.groups import scatter_ratio
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... press.group_scatter = 0.5
    ... [factors.melt_temperature]
    ... unit = "degC"
    ... low = 205
    ... high = 235
    ... step = 1
    ... soak_min = 15
    ... ''')
    >>> scatter_ratio(study)
    0.25
    """
    return study.press.group_scatter**2 if slow_positions(study) else 0.0


def same_slow(study: Study, settings: Floats) -> Ints:
    """Return a number for each distinct combination of slow settings, (n,) for (n, k)."""
    slow = settings[:, list(slow_positions(study))]
    if not slow.shape[1]:
        return np.zeros(len(settings), dtype=int)
    return np.unique(slow, axis=0, return_inverse=True)[1].reshape(-1)


def heat(study: Study, settings: Floats) -> Floats:
    """Return how hot each setting (n, k) is: the sum of its coded temperatures, (n,)."""
    hot = [j for j, factor in enumerate(study.factors) if factor.role == "temperature"]
    chosen = hot or list(slow_positions(study))
    coded = [study.factors[j].coded(settings[:, j]) for j in chosen]
    return np.sum(coded, axis=0) if coded else np.zeros(len(settings))


def order_groups(study: Study, openings: Floats, rng: np.random.Generator) -> Ints:
    """Return an order of groups that saves soak minutes, drawn from all that are about as quick.

    The first group is not the hottest, groups with the same slow settings are kept apart, and
    further apart rather than closer.

    Parameters
    ----------
    openings
        One setting of each group, (g, k).
    """
    count = len(openings)
    if count < 2:
        return np.arange(count)
    cost = change_minutes(study, openings[:, None], openings[None])
    same = same_slow(study, openings)
    orders = _orders(cost, same, rng)
    hot = heat(study, openings)
    if np.ptp(hot) > 1e-9:
        orders = orders[hot[orders[:, 0]] < hot.max() - 1e-9]
    apart = _least_distance(same[orders])
    orders = orders[apart >= min(apart.max(), max(2, count // 3))]
    minutes = cost[orders[:, :-1], orders[:, 1:]].sum(axis=1)
    near = orders[minutes <= minutes.min() + NEAR_MIN]
    chosen: Ints = near[rng.integers(len(near))]
    return chosen


def _orders(cost: Floats, same: Ints, rng: np.random.Generator) -> Ints:
    """Return orders to choose from (m, g): all, or random walks that favor short steps."""
    count = len(cost)
    if count <= EXHAUSTIVE:
        return np.array(list(permutations(range(count))))
    left = np.ones((DRAWN_ORDERS, count), dtype=bool)
    walks = np.arange(DRAWN_ORDERS)
    orders = np.empty((DRAWN_ORDERS, count), dtype=int)
    # a walk's own impatience: 0 takes the nearest group next, 1 nearly any
    wander = rng.random((DRAWN_ORDERS, 1)) * cost.max()
    orders[:, 0] = rng.integers(count, size=DRAWN_ORDERS)
    left[walks, orders[:, 0]] = False
    for place in range(1, count):
        here = orders[:, place - 1]
        ahead = cost[here] + wander * rng.random((DRAWN_ORDERS, count))
        ahead += np.where(same[here][:, None] == same, 10 * cost.max() + 1, 0)
        orders[:, place] = np.where(left, ahead, np.inf).argmin(axis=1)
        left[walks, orders[:, place]] = False
    return orders


def _least_distance(kinds: Ints) -> Ints:
    """Return how far apart the two nearest groups of one kind are in each order, (m,)."""
    count = kinds.shape[1]
    apart = np.full(len(kinds), count)
    for distance in range(count - 1, 0, -1):
        meets = (kinds[:, distance:] == kinds[:, :-distance]).any(axis=1)
        apart[meets] = distance
    return apart


def order_shots(study: Study, settings: Floats, rng: np.random.Generator) -> Ints:
    """Return the order of one group's shots: lowest pressure first, the rest at random.

    Among shots at the lowest pressure the coolest and shortest one opens.
    """
    order = rng.permutation(len(settings))
    pressures = [j for j, factor in enumerate(study.factors) if factor.role == "pressure"]
    if not pressures:
        return order
    coded = np.stack([f.coded(settings[:, j]) for j, f in enumerate(study.factors)], axis=1)
    others = coded[order].sum(axis=1)
    lowest = coded[order][:, pressures].sum(axis=1)
    first = np.lexsort((others, lowest.round(9)))[0]
    return np.concatenate([order[[first]], np.delete(order, first)])


def day_minutes(study: Study, openings: Floats, shots: int) -> float:
    """Return the minutes of one day at the press, from heating up to cleaned up.

    Parameters
    ----------
    openings
        One setting of each group in running order, (g, k).
    shots
        Number of shots without warm-up shots.
    """
    time = study.time
    soaks = change_minutes(study, openings[:-1], openings[1:]).sum()
    made = shots + time.warm_up_shots * len(openings)
    return float(time.start_up_min + soaks + made * time.shot_min + time.clean_up_min)


def free_minutes(study: Study, settings: Floats, rng: np.random.Generator) -> float:
    """Return the mean minutes of the same shots (n, k) in an entirely random order."""
    orders = rng.permuted(np.tile(np.arange(len(settings)), (200, 1)), axis=1)
    cost = change_minutes(study, settings[:, None], settings[None])
    same = same_slow(study, settings)
    soaks = cost[orders[:, :-1], orders[:, 1:]].sum(axis=1)
    groups = 1 + (same[orders[:, :-1]] != same[orders[:, 1:]]).sum(axis=1)
    time = study.time
    made = len(settings) + time.warm_up_shots * groups
    every = time.start_up_min + soaks + made * time.shot_min + time.clean_up_min
    return float(every.mean())


def pellet_grams(study: Study, shots: int) -> float | None:
    """Return the pellets for a number of shots, warm-up shots counted, in g.

    A charge that is held says what one shot takes; otherwise the full parts do, without the runner.
    None where the study tells neither.
    """
    for held in study.held:
        if held.name == "charge" and unit_kind(held.unit) == "mass":
            return shots * convert(float(held.value), held.unit, "g")
    if study.mold.full_mass_g is None:
        return None
    return shots * sum(study.mold.full_mass_g)
