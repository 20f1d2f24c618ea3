"""What is known after some chosen shots -> one shot more, and what is known after that.

Steps of `shotwindow.models.next_shots`: settle doubt, seek an edge, or walk toward good shots.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.groups import slow_positions
from shotwindow.models.candidates import Ground
from shotwindow.models.doubt import Doubt, split_worlds
from shotwindow.models.goodness import Goodness
from shotwindow.models.setpoint import best_mark
from shotwindow.models.showing import showing
from shotwindow.models.window import Window

Array = NDArray[np.float64]
Single = NDArray[np.float32]

KEPT = 100  # marks of other temperature groups that are looked at again for every shot
LEAST_WALK = 0.01  # chance of a good shot from which more than one is made at once
BASES = 20  # settings from which a step outside is looked at
LEAST_CHANCE = 0.2  # of seeing an edge inside what was tried, or else a step outside is taken


@dataclass(frozen=True)
class Suggestion:
    """One shot to make next.

    Attributes
    ----------
    settings : tuple of float
    why : str
        "doubt", "edge" (to see one), "walk" (toward good shots) or "reference".
    response : str
        What decides there: "fill", "flash" or "other".
    chance : float
        That this response is good there.
    probability_good, probability_in_window : float
    settles : float
        By how much it is expected to lessen the share of all settings in doubt, after those
        chosen before it.
    new_group : bool
        Whether a slow setting changes before it.
    beyond : tuple of str
        Factors that go outside of what was tried.
    """

    settings: tuple[float, ...]
    why: str
    response: str
    chance: float
    probability_good: float
    probability_in_window: float
    settles: float
    new_group: bool
    beyond: tuple[str, ...]


@dataclass
class Choosing:
    """What changes from one chosen shot to the next."""

    ground: Ground
    goodness: Goodness
    doubt: Doubt
    window: Window
    worlds: Single
    present: Array | None
    pool: Array
    rng: np.random.Generator
    chosen: list[Suggestion]
    left: float


def _reach(state: Choosing) -> Array:
    """Return new settings in the present group and in others."""
    near = [] if state.present is None else [state.ground.group(state.present, state.rng)]
    found = np.unique(np.vstack([*near, state.pool]), axis=0)
    return found[state.ground.is_new(found, [np.array([s.settings]) for s in state.chosen])]


def settle(state: Choosing, left: int) -> bool:
    """Choose the shot that is expected to settle most doubt a minute; False without any."""
    found = _reach(state)
    if not len(found):
        return False
    shows = showing(state.goodness, state.ground.study, found)
    gain = state.left - state.doubt.expected(state.worlds, shows)
    rate = gain / state.ground.minutes(found, state.present, left)
    if len(state.pool) > KEPT:
        state.pool = found[np.sort(np.argsort(-rate, kind="stable")[:KEPT])]
    _take(state, found[int(rate.argmax())], "doubt", left)
    return True


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
    _take(state, found[best], "edge", 1, response)
    return True


def walk(state: Choosing, left: int) -> bool:
    """Choose the shot most likely good if those chosen before it were not; False without any."""
    found = _reach(state)
    everywhere = np.vstack([found, state.ground.planned])
    weights = state.worlds.sum(axis=0)
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
    _take(state, found[int(rate.argmax())], "walk", left)
    return True


def _depth(state: Choosing, settings: Array, weights: Single) -> Array:
    """How far inside its limits, in scatter, the worst response is at settings (n, k), (n,)."""
    heights = []
    for curve in state.goodness.curves:
        surface, sign = curve.surface, 1.0 if curve.surface.above else -1.0
        over = sign * (surface.latent(settings) - surface.limit) - curve.handicap.max(axis=1)
        heights.append(over / curve.width)
    return np.asarray(np.min(heights, axis=0) @ weights)


def _fails(state: Choosing, response: str, settings: Array) -> Array:
    """Chance that a response is not good at settings (n, k), in the lot where it is least."""
    curve = next(c for c in state.goodness.curves if c.surface.response == response)
    if not len(settings):
        return np.zeros(0)
    return np.asarray(1.0 - np.max([s.mean(axis=1) for s in curve.shares(settings)], axis=0))


def _take(state: Choosing, settings: Array, why: str, left: int, response: str = "") -> None:
    """Add a shot to the chosen ones, after a reference shot where it opens a group."""
    moved = state.present is None or bool(state.ground.moved(settings[None, :], state.present)[0])
    opener = _reference(state, settings) if moved and left > 1 and why != "edge" else None
    if opener is not None:
        _add(state, opener, "reference", new_group=moved)
        moved = False
    _add(state, settings, why, new_group=moved, response=response)


def _reference(state: Choosing, settings: Array) -> Array | None:
    """Return the best fast settings at the slow ones of a shot, if they may be shot there."""
    best = best_mark(state.window)
    slow = slow_positions(state.ground.study)
    if best is None or not slow:
        return None
    factors = state.ground.study.factors
    found = np.array([f.marks[m] for f, m in zip(factors, best, strict=True)])
    found[list(slow)] = settings[list(slow)]
    taken = [settings[None, :], *(np.array([s.settings]) for s in state.chosen)]
    usable = len(state.ground.inside(found[None, :])) and state.ground.is_new(found[None, :], taken)
    return found if usable else None


def _add(
    state: Choosing, settings: Array, why: str, *, new_group: bool, response: str = ""
) -> None:
    here = settings[None, :]
    shows = showing(state.goodness, state.ground.study, here)
    after = float(state.doubt.expected(state.worlds, shows)[0])
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
            settles=state.left - after,
            new_group=new_group,
            beyond=tuple(
                f.name
                for f, v, low, high in zip(factors, settings, region.low, region.high, strict=True)
                if not low - 1e-6 * f.step <= v <= high + 1e-6 * f.step
            ),
        )
    )
    state.worlds = split_worlds(state.worlds, shows[0], state.rng)
    state.present, state.left = settings, after


def ordered(state: Choosing) -> list[Suggestion]:
    """Return the chosen shots group by group, in each from low pressure to high."""
    pressures = [j for j, f in enumerate(state.ground.study.factors) if f.role == "pressure"]
    groups: list[list[Suggestion]] = []
    for shot in state.chosen:
        if shot.new_group or not groups:
            groups.append([])
        groups[-1].append(shot)
    ordered = []
    for group in groups:
        opens = any(shot.new_group for shot in group)
        rising = sorted(group, key=lambda s: sum(s.settings[j] for j in pressures))
        ordered += [replace(s, new_group=opens and i == 0) for i, s in enumerate(rising)]
    return ordered
