"""A window -> how much of it is in doubt, and how much would be under other weights of the draws.

A mark that is in the window in a share p of the draws adds 4 p (1 - p): one where in or out is a
toss-up, nothing where all draws agree. What a shot shows makes some draws likelier than others;
the doubt that is then left depends on the draws only through which of them agree on which marks.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.seeds import generator
from shotwindow.models.goodness import Goodness
from shotwindow.models.window import Window

Array = NDArray[np.float64]
Single = NDArray[np.float32]

MOST_MARKS = 4000  # in doubt that are looked at, drawn at random from all
SLICE = 256
KEPT = 0.95  # of the doubt; the rest is finer than so few draws tell
MOST_PARTS = 40
RARE = 2e-4  # outcomes less likely change nothing
WORLDS = 16  # outcomes of the shots chosen so far that are gone on from
LEAST_SPREAD = 0.2  # weights on fewer draws than these tell nothing


@dataclass(frozen=True)
class Doubt:
    """Which draws agree on how much of the window.

    Parameters
    ----------
    parts : ndarray, shape (draws, parts)
        Squared distances between its rows are the shares of marks on which two draws differ,
        times four.
    """

    parts: Single

    @property
    def draws(self) -> int:
        """Number of draws."""
        return len(self.parts)

    @property
    def now(self) -> float:
        """Share of all allowed marks in doubt with all draws alike."""
        alike = np.full((1, self.draws), 1.0 / self.draws, dtype=np.float32)
        return float(self.expected(alike, np.ones((1, 1, self.draws), dtype=np.float32))[0])

    def expected(self, worlds: Single, showing: Single) -> Array:
        """Return the doubt expected to be left after one more shot.

        Few draws agree by chance alone; the doubt under weights w is divided by ``1 - sum w^2``,
        which makes its mean right, as n - 1 does for a variance.

        Parameters
        ----------
        worlds : ndarray, shape (worlds, draws)
            Weights of the draws after earlier shots, each row the probability of that world times
            weights that sum to one.
        showing : ndarray, shape (n, outcomes, draws)
            Probability of each outcome of the shots to choose from.

        Returns
        -------
        ndarray, shape (n,)
        """
        count, outcomes, draws = showing.shape
        possible = np.flatnonzero(showing.mean(axis=2).ravel() > RARE)
        flat = showing.reshape(-1, draws)[possible]
        square = flat**2
        size = (self.parts**2).sum(axis=1)
        left = np.zeros(possible.size)
        for weights in worlds:
            sides = np.column_stack([self.parts, size, np.ones_like(size)]) * weights[:, None]
            sums = flat @ sides
            chance = np.maximum(sums[:, -1], 1e-12)
            spread = 1.0 - square @ weights**2 / chance**2
            apart = sums[:, -2] - (sums[:, :-2] ** 2).sum(axis=1) / chance
            left += np.maximum(apart, 0.0) / np.maximum(spread, LEAST_SPREAD)
        return np.bincount(possible // outcomes, weights=left, minlength=count).astype(float)


def find_doubt(window: Window, goodness: Goodness, *, seed: int = 1) -> Doubt:
    """Look at which draws hold which marks for good, over all marks or many of them.

    Parameters
    ----------
    window : Window
    goodness : Goodness
    seed : int
        Chooses the marks where there are too many.
    """
    chance = np.nan_to_num(window.probability_in_window.ravel())
    open_marks = np.flatnonzero((chance > 0.0) & (chance < 1.0))
    scale = 4.0 / max(1, int(window.allowed.sum()))
    if open_marks.size > MOST_MARKS:
        scale *= open_marks.size / MOST_MARKS
        open_marks = generator(seed, "doubt").choice(open_marks, MOST_MARKS, replace=False)
    draws = goodness.surfaces.fill.coefficients.shape[0]
    kernel = np.zeros((draws, draws), dtype=np.float32)
    for first in range(0, open_marks.size, SLICE):
        settings = window.settings_of(np.sort(open_marks)[first : first + SLICE])
        inside = (goodness.shares(settings) >= window.good_from).astype(np.float32)
        inside -= inside.mean(axis=1, keepdims=True)
        kernel += inside.T @ inside
    values, vectors = np.linalg.eigh(scale * kernel.astype(float))
    values, vectors = values[::-1].clip(0.0), vectors[:, ::-1]
    enough = int(np.searchsorted(np.cumsum(values), KEPT * values.sum())) + 1
    kept = min(enough, MOST_PARTS)
    # the parts left out are as much in doubt as those that are kept
    whole = values.sum() / max(float(values[:kept].sum()), 1e-300)
    return Doubt((vectors[:, :kept] * np.sqrt(values[:kept] * whole)).astype(np.float32))


def split_worlds(worlds: Single, shows: Single, rng: np.random.Generator) -> Single:
    """Return the worlds after a shot (outcomes, draws), drawn down to a few of equal chance."""
    each = (worlds[:, None, :] * shows).reshape(-1, worlds.shape[1])
    chance = each.sum(axis=1)
    if len(each) <= WORLDS:
        return np.asarray(each[chance > 1e-9])
    # systematic sampling: one start, then equal steps through the chances
    steps = (rng.random() + np.arange(WORLDS)) / WORLDS * float(chance.sum())
    drawn = np.minimum(np.searchsorted(np.cumsum(chance), steps), len(each) - 1)
    return np.asarray(each[drawn] / (WORLDS * chance[drawn])[:, None])
