"""A window in doubt -> the shots that are expected to mend most of it for their minutes.

Shots are chosen one by one, each where the share of settings that the window gets wrong is expected
to fall most, given the shots chosen before it; see `shotwindow.models.edge_error`. An edge never
seen is sought first, since no draw knows where it is; and where no setting is likely good, the way
leads to where good shots are likeliest, should the ones before have failed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.seeds import generator
from shotwindow.models.candidates import Ground
from shotwindow.models.choosing import Choosing, ordered, seek, settle, take, walk
from shotwindow.models.edge_error import find_error
from shotwindow.models.goodness import Goodness
from shotwindow.models.suggestion import Suggestion
from shotwindow.models.window import Window

Array = NDArray[np.float64]

POOL = 1000  # marks of other temperature groups that are looked at
WORTH_IT = 0.003  # share of all settings that a batch must mend


@dataclass(frozen=True)
class Batch:
    """Shots to make next, in running order, and what they are expected to change.

    Attributes
    ----------
    shots : tuple of Suggestion
    wrong_now, wrong_after : float
        Share of all allowed settings that the window gets wrong, see
        `shotwindow.models.edge_error`: now, and as expected after these shots.
    blocked : tuple of str
        Responses whose edge was not seen and that no allowed step comes nearer to.
    nothing_good : bool
        No setting is likely in the window yet.
    """

    shots: tuple[Suggestion, ...]
    wrong_now: float
    wrong_after: float
    blocked: tuple[str, ...]
    nothing_good: bool

    @property
    def stop(self) -> bool:
        """Whether these shots are not worth making."""
        settled = self.wrong_now - self.wrong_after
        sought = any(shot.why in ("edge", "walk") for shot in self.shots)
        return not sought and settled < WORTH_IT


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
    error = find_error(ground.study, window, goodness, ground.region, groups=shots + 1, seed=seed)
    rng = generator(seed, "next shots")
    chance = np.nan_to_num(window.probability_in_window.ravel())
    open_marks = np.flatnonzero((chance > 0.0) & (chance < 1.0))
    answered = np.flatnonzero((window.allowed & window.tried).ravel())
    pool = _some(window, open_marks if window.likely.any() else answered, rng)
    if pool.size == 0:
        pool = _some(window, answered, rng)
    groups = [] if present is None else [present]
    state = Choosing(ground, goodness, error, window, present, groups, pool, rng, [], [])
    nothing_good = not window.likely.any()
    if ground.reference is not None:
        take(state, ground.reference, "reference")
    # on the way to good shots the edges are met anyway
    unseen = () if nothing_good else window.open_edges
    blocked = [r for r in unseen if len(state.chosen) < shots and not seek(state, r)]
    while len(state.chosen) < shots:
        left = shots - len(state.chosen)
        if not (walk(state, left) if nothing_good else settle(state, left)):
            break
    return Batch(tuple(ordered(state)), error.now, state.error.now, tuple(blocked), nothing_good)


def _some(window: Window, flat: NDArray[np.intp], rng: np.random.Generator) -> Array:
    """Return settings of some marks, numbered in C order, or of many of them."""
    if flat.size > POOL:
        flat = np.sort(rng.choice(flat, POOL, replace=False))
    return window.settings_of(flat)
