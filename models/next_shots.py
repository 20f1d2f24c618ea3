"""A window in doubt -> the shots that are expected to leave the least of it for their minutes.

Shots are chosen one by one. For each setting in reach the stored draws tell what the shot may show
and how likely each outcome is; each outcome weights the draws anew, and so leaves another doubt.
The setting is taken whose expected doubt falls most a minute, given what the shots chosen before it
may show. An edge never seen is sought first, since no draw knows where it is; and where no setting
is likely good, the way leads to where good shots are likeliest, should the ones before have failed.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.groups import slow_positions
from shotwindow.doe.seeds import generator
from shotwindow.models.candidates import Ground
from shotwindow.models.doubt import Doubt, find_doubt
from shotwindow.models.goodness import Goodness
from shotwindow.models.setpoint import best_mark
from shotwindow.models.showing import showing
from shotwindow.models.window import Window

Array = NDArray[np.float64]
Single = NDArray[np.float32]

WORLDS = 16  # outcomes of the shots chosen so far that are gone on from
POOL = 1000  # marks of other temperature groups that are looked at
KEPT = 100  # of these, the best that are looked at again for every shot
BASES = 20  # settings from which a step outside is looked at
LEAST_CHANCE = 0.2  # of seeing an edge inside what was tried, or else a step outside is taken
WORTH_IT = 0.01  # share of all settings that a batch must settle


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


@dataclass(frozen=True)
class Batch:
    """Shots to make next, in running order, and what they are expected to change.

    Attributes
    ----------
    shots : tuple of Suggestion
    doubt_now, doubt_after : float
        Share of all allowed settings in doubt, see `shotwindow.models.doubt`.
    blocked : tuple of str
        Responses whose edge was not seen and that no allowed step comes nearer to.
    nothing_good : bool
        No setting is likely in the window yet.
    """

    shots: tuple[Suggestion, ...]
    doubt_now: float
    doubt_after: float
    blocked: tuple[str, ...]
    nothing_good: bool

    @property
    def stop(self) -> bool:
        """Whether these shots are not worth making."""
        settled = self.doubt_now - self.doubt_after
        sought = any(shot.why in ("edge", "walk") for shot in self.shots)
        return not sought and settled < WORTH_IT


@dataclass
class _Choosing:
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


def choose_next(
    ground: Ground,
    window: Window,
    goodness: Goodness,
    *,
    shots: int,
    present: Array | None,
    seed: int = 1,
) -> Batch:
    """Choose further shots.

    Parameters
    ----------
    ground : Ground
        Study, tried region, and shots made and planned.
    window : Window
    goodness : Goodness
        Of the fitted surfaces, converged.
    shots : int
        How many at the most; fewer where no more new settings are left.
    present : ndarray, shape (k,), or None
        Settings of the shot that the press made last; None where it is cold.
    seed : int
        Chooses among settings too many to be looked at.
    """
    doubt = find_doubt(window, goodness, seed=seed)
    rng = generator(seed, "next shots")
    chance = np.nan_to_num(window.probability_in_window.ravel())
    open_marks = np.flatnonzero((chance > 0.0) & (chance < 1.0))
    answered = np.flatnonzero((window.allowed & window.tried).ravel())
    pool = ground.marks(open_marks if window.likely.any() else answered, POOL, rng)
    if pool.size == 0:
        pool = ground.marks(answered, POOL, rng)
    alike = np.full((1, doubt.draws), 1.0 / doubt.draws, dtype=np.float32)
    state = _Choosing(ground, goodness, doubt, window, alike, present, pool, rng, [], doubt.now)
    blocked = [r for r in window.open_edges if len(state.chosen) < shots and not _seek(state, r)]
    nothing_good = not window.likely.any()
    while len(state.chosen) < shots:
        left = shots - len(state.chosen)
        if not (_walk(state, left) if nothing_good else _settle(state, left)):
            break
    return Batch(tuple(_ordered(state)), doubt.now, state.left, tuple(blocked), nothing_good)


def _reach(state: _Choosing) -> Array:
    """Return new settings in the present group and in others."""
    near = [] if state.present is None else [state.ground.group(state.present, state.rng)]
    found = np.unique(np.vstack([*near, state.pool]), axis=0)
    return found[state.ground.is_new(found, [np.array([s.settings]) for s in state.chosen])]


def _settle(state: _Choosing, left: int) -> bool:
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


def _seek(state: _Choosing, response: str) -> bool:
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


def _walk(state: _Choosing, left: int) -> bool:
    """Choose the shot most likely good if those chosen before it were not; False without any."""
    found = _reach(state)
    everywhere = np.vstack([found, state.ground.planned])
    weights = state.worlds.sum(axis=0)
    for shot in state.chosen:
        weights = weights * (1.0 - state.goodness.shares(np.array([shot.settings]))[0])
    weights = weights / max(float(weights.sum()), 1e-30)
    order = np.argsort(-(state.goodness.shares(everywhere) @ weights), kind="stable")
    outside = state.ground.beyond(everywhere[order[:BASES]])
    taken = [np.array([s.settings]) for s in state.chosen]
    found = np.vstack([found, outside[state.ground.is_new(outside, taken)]])
    if not len(found):
        return False
    rate = (state.goodness.shares(found) @ weights) / state.ground.minutes(
        found, state.present, left
    )
    _take(state, found[int(rate.argmax())], "walk", left)
    return True


def _fails(state: _Choosing, response: str, settings: Array) -> Array:
    """Chance that a response is not good at settings (n, k), in the lot where it is least."""
    curve = next(c for c in state.goodness.curves if c.surface.response == response)
    if not len(settings):
        return np.zeros(0)
    return np.asarray(1.0 - np.max([s.mean(axis=1) for s in curve.shares(settings)], axis=0))


def _take(state: _Choosing, settings: Array, why: str, left: int, response: str = "") -> None:
    """Add a shot to the chosen ones, after a reference shot where it opens a group."""
    moved = state.present is None or bool(state.ground.moved(settings[None, :], state.present)[0])
    opener = _reference(state, settings) if moved and left > 1 and why != "edge" else None
    if opener is not None:
        _add(state, opener, "reference", new_group=moved)
        moved = False
    _add(state, settings, why, new_group=moved, response=response)


def _reference(state: _Choosing, settings: Array) -> Array | None:
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
    state: _Choosing, settings: Array, why: str, *, new_group: bool, response: str = ""
) -> None:
    here = settings[None, :]
    shows = showing(state.goodness, state.ground.study, here)
    after = float(state.doubt.expected(state.worlds, shows)[0])
    shares = state.goodness.shares(here)[0]
    by_response = {
        c.surface.response: min(float(s.mean()) for s in c.shares(here))
        for c in state.goodness.curves
    }
    decides = response or max(by_response, key=lambda r: by_response[r] * (1.0 - by_response[r]))
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
    state.worlds = _split(state.worlds, shows[0], state.rng)
    state.present, state.left = settings, after


def _split(worlds: Single, shows: Single, rng: np.random.Generator) -> Single:
    """Return the worlds after a shot (outcomes, draws), drawn down to a few of equal chance."""
    each = (worlds[:, None, :] * shows).reshape(-1, worlds.shape[1])
    chance = each.sum(axis=1)
    if len(each) <= WORLDS:
        return np.asarray(each[chance > 1e-9])
    # systematic sampling: one start, then equal steps through the chances
    steps = (rng.random() + np.arange(WORLDS)) / WORLDS * float(chance.sum())
    drawn = np.minimum(np.searchsorted(np.cumsum(chance), steps), len(each) - 1)
    return np.asarray(each[drawn] / (WORLDS * chance[drawn])[:, None])


def _ordered(state: _Choosing) -> list[Suggestion]:
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
