"""What is known after some chosen shots -> one shot more, and what is known after that.

Steps of `shotwindow.models.next_shots`: settle doubt, seek an edge, or walk toward good shots.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.models.candidates import Ground
from shotwindow.models.edge_error import EdgeError
from shotwindow.models.goodness import Goodness
from shotwindow.models.suggestion import Suggestion
from shotwindow.models.window import Window

Array = NDArray[np.float64]
Single = NDArray[np.float32]
Whole = NDArray[np.int64]

PATIENCE = 0.3  # power of the minutes that a shot's gain is divided by; see BENCHMARKS.md
LEAST_WALK = 0.01  # chance of a good shot from which more than one is made at once
BASES = 20  # settings from which a step outside is looked at
LEAST_CHANCE = 0.2  # of seeing an edge inside what was tried, or else a step outside is taken


@dataclass
class Choosing:
    """What changes from one chosen shot to the next.

    Attributes
    ----------
    ground, goodness, window
    error : EdgeError
        What is known after the chosen shots.
    present : ndarray, shape (k,), or None
        Where the press stands; None where it is cold.
    groups : list of ndarray, shape (k,)
        Slow settings of the present temperature group and of those opened; those of fast factors
        do not count.
    pool : ndarray, shape (m, k)
        Settings in other temperature groups, where shots were made.
    rng : numpy.random.Generator
    chosen : list of Suggestion
    numbers : list of int
        Of the group that each chosen shot is in.
    """

    ground: Ground
    goodness: Goodness
    error: EdgeError
    window: Window
    present: Array | None
    groups: list[Array]
    pool: Array
    rng: np.random.Generator
    chosen: list[Suggestion]
    numbers: list[int]

    def group_of(self, settings: Array) -> Whole:
        """Return the number of the group that each of settings (n, k) is in, or would open."""
        number = np.full(len(settings), len(self.groups))
        for place, like in enumerate(self.groups):
            number[~self.ground.moved(settings, like)] = place
        return number


def _reach(state: Choosing) -> Array:
    """Return new settings in the present group and in others."""
    near = [] if state.present is None else [state.ground.group(state.present, state.rng)]
    found = np.unique(np.vstack([*near, state.pool]), axis=0)
    found = found[state.ground.is_worth_a_soak(found, state.groups)]
    return found[state.ground.is_new(found, [np.array([s.settings]) for s in state.chosen])]


def settle(state: Choosing, left: int) -> bool:
    """Choose the shot that is expected to mend most of the window; False without any.

    Minutes count less than in proportion: what is near at hand in the present group is soon told.
    """
    found = _spread(state)
    if not len(found):
        return False
    group = state.group_of(found)
    gain = state.error.now - state.error.after(found, group)
    minutes = state.ground.minutes(found, state.present, left)
    minutes[group < len(state.groups)] = state.ground.study.time.shot_min
    rate = np.where(minutes <= state.ground.study.time.budget_min, gain, 0.0) / minutes**PATIENCE
    best = int(rate.argmax())
    take(state, found[best], "doubt")
    return True


def _spread(state: Choosing) -> Array:
    """Return new settings all over, and more of them in the groups that are open."""
    ground, rng = state.ground, state.rng
    more = [ground.spread(rng, like) for like in state.groups]
    found = np.unique(np.vstack([ground.spread(rng), *more]), axis=0)
    found = found[ground.is_worth_a_soak(found, state.groups)]
    return found[ground.is_new(found, [np.array([s.settings]) for s in state.chosen])]


def seek(state: Choosing, response: str) -> bool:
    """Choose a shot that may show an edge never seen; False where nothing allowed may."""
    found = _reach(state)
    inside = _fails(state, response, found)
    if not len(found) or inside.max() < LEAST_CHANCE:
        everywhere = np.vstack([found, state.ground.planned])
        order = np.argsort(-_fails(state, response, everywhere), kind="stable")
        bases = everywhere[order[: BASES * 5]]
        outside = state.ground.beyond(bases)
        outside = outside[state.ground.is_new(outside)]
        found = np.vstack([found, outside])
    if not len(found):
        return False
    chance = _fails(state, response, found)
    # a likelier failure than one in two tells no more, and flash is not to be forced
    rate = np.minimum(chance, 0.5) / state.ground.minutes(found, state.present, 1)
    best = int(rate.argmax())
    if chance[best] < 1e-4:
        return False
    take(state, found[best], "edge", response)
    return True


def walk(state: Choosing, left: int) -> bool:
    """Choose the shot most likely good if those chosen before it were not; False without any."""
    found = _reach(state)
    everywhere = np.vstack([found, state.ground.planned])
    draws = state.goodness.surfaces.fill.coefficients.shape[0]
    weights = np.full(draws, 1.0 / draws, dtype=np.float32)
    for shot in state.chosen:
        weights = weights * (1.0 - state.goodness.shares(np.array([shot.settings]))[0])
    weights = weights / max(float(weights.sum()), 1e-30)
    order = np.argsort(-_depth(state, everywhere, weights), kind="stable")
    outside = state.ground.beyond(everywhere[order[:BASES]])
    taken = [np.array([s.settings]) for s in state.chosen]
    found = np.vstack([found, outside[state.ground.is_new(outside, taken)]])
    if not len(found):
        return False
    chance = state.goodness.shares(found) @ weights
    if state.chosen and chance.max() < LEAST_WALK:
        return False
    rate = chance / state.ground.minutes(found, state.present, left)
    if chance.max() < LEAST_WALK:  # hopeless all around: where least is missing
        rate = _depth(state, found, weights)
    take(state, found[int(rate.argmax())], "walk")
    return True


def _depth(state: Choosing, settings: Array, weights: Single) -> Array:
    """How far inside its limits, in scatter, the worst response is at settings (n, k), (n,)."""
    heights = [curve.over(settings) / curve.width for curve in state.goodness.curves]
    return np.asarray(np.min(heights, axis=0) @ weights)


def _fails(state: Choosing, response: str, settings: Array) -> Array:
    """Chance that a response is not good at settings (n, k), in the lot where it is least."""
    curve = next(c for c in state.goodness.curves if c.surface.response == response)
    if not len(settings):
        return np.zeros(0)
    return np.asarray(1.0 - np.max([s.mean(axis=1) for s in curve.shares(settings)], axis=0))


def take(state: Choosing, settings: Array, why: str, response: str = "") -> None:
    """Add a shot to the chosen ones, for a reason as in `Suggestion`."""
    here = settings[None, :]
    number = int(state.group_of(here)[0])
    opens = number == len(state.groups)
    if opens:
        state.groups.append(settings)
    error = state.error.with_shot(settings, number)
    shares = state.goodness.shares(here)[0]
    by_response = {
        c.surface.response: min(float(s.mean()) for s in c.shares(here))
        for c in state.goodness.curves
    }
    if why == "walk":
        decides = min(by_response, key=lambda r: by_response[r])
    else:
        decides = response or max(by_response, key=lambda r: by_response[r] * (1 - by_response[r]))
    region = state.ground.region
    factors = state.ground.study.factors
    state.chosen.append(
        Suggestion(
            settings=tuple(float(v) for v in settings),
            why=why,
            response=decides,
            chance=by_response[decides],
            probability_good=float(shares.mean()),
            probability_in_window=float((shares >= state.window.good_from).mean()),
            settles=state.error.now - error.now,
            new_group=opens,
            beyond=tuple(
                f.name
                for f, v, low, high in zip(factors, settings, region.low, region.high, strict=True)
                if not low - 1e-6 * f.step <= v <= high + 1e-6 * f.step
            ),
        )
    )
    state.numbers.append(number)
    state.present, state.error = settings, error


def ordered(state: Choosing) -> list[Suggestion]:
    """Return the chosen shots group by group, in each from low pressure to high."""
    pressures = [j for j, f in enumerate(state.ground.study.factors) if f.role == "pressure"]
    ordered = []
    for number in sorted(set(state.numbers)):
        group = [s for s, n in zip(state.chosen, state.numbers, strict=True) if n == number]
        opens = any(shot.new_group for shot in group)
        rising = sorted(group, key=lambda s: sum(s.settings[j] for j in pressures))
        ordered += [replace(s, new_group=opens and i == 0) for i, s in enumerate(rising)]
    return ordered
