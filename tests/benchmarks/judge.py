"""A trial and a method -> one row: how near the method came to the truth, as plain numbers."""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
from benchmarks.keeping import Row
from benchmarks.peers import gaussian_process, least_squares
from benchmarks.trials import (
    DRAWS,
    FULL_FROM,
    Flags,
    Found,
    Trial,
    line_through,
    make_trial,
    press_of,
    stretch,
    true_good,
)
from benchmarks.walk import one_at_a_time
from numpy.typing import NDArray

from shotwindow.doe.errors import Unanswerable
from shotwindow.doe.restrictions import cost
from shotwindow.doe.seeds import generator
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.margins import find_edges
from shotwindow.models.setpoint import find_setpoint
from shotwindow.models.surface import fit_surfaces
from shotwindow.models.truth import probability_good
from shotwindow.models.window import LIKELY, find_window, tried_region

Array = NDArray[np.float64]

#: Ends of the bins of stated chances.
BINS = (0.5, 0.6, 0.7, 0.8, 0.9, 0.98)
_NO_LIMIT_MM, _ANY_FILL = 1e9, 1e-9


def ours(trial: Trial) -> Found:
    """Fit the surfaces of the program, and find window and setpoint as the program does."""
    study, readings = trial.study, trial.readings
    surfaces = fit_surfaces(readings, seed=trial.seed)
    if not surfaces.converged:  # the program then gives no answer
        raise Unanswerable("the draws may not be used")
    good = goodness(surfaces)
    window = find_window(study, readings, good)
    setpoint = find_setpoint(window, good)
    ends = {f.name: (f.low, f.high) for f in study.factors} if setpoint else {}
    if setpoint:
        for edge in find_edges(good, setpoint, tried_region(readings), study.good_from):
            low, high = ends[edge.factor]
            if edge.median is not None:
                is_low = edge.side == "low"
                ends[edge.factor] = (edge.median, high) if is_low else (low, edge.median)
    return Found(
        likely=window.likely.ravel()[trial.flat],
        sure=window.sure.ravel()[trial.flat],
        stated=window.probability_good.ravel()[trial.flat],
        setpoint=setpoint.settings if setpoint else None,
        ends=ends,
        plan=trial.plan,
        more=halves(trial, good),
        ranks=edge_ranks(trial, good, setpoint.settings) if setpoint else {},
    )


METHODS: dict[str, Callable[[Trial], Found]] = {
    "ours": ours,
    "least-squares": least_squares,
    "gaussian-process": gaussian_process,
    "one-at-a-time": one_at_a_time,
}


def rows_of(
    family: str, seed: int, shots: int, methods: tuple[str, ...], factors: int
) -> list[Row]:
    """Return one row for each method, and one more on the worn press where the seed has one."""
    rows = []
    for worn in (False, True) if has_worn(seed) else (False,):
        trial = make_trial(press_of(family, seed, factors, worn=worn), shots, seed)
        key = {"family": family, "seed": seed, "shots": shots, "factors": factors, "worn": worn}
        for method in methods:
            found, failure = _answer(method, trial)
            rows.append({**key, "method": method, "failure": failure, **judge(trial, found)})
    return rows


def _answer(method: str, trial: Trial) -> tuple[Found, str]:
    """Return what a method says, and why it says nothing: a failure is a result, too."""
    try:
        found = METHODS[method](trial)
    except Exception as error:
        nothing = np.zeros(len(trial.marks), dtype=bool)
        return Found(nothing, nothing, None, None, {}, trial.plan), f"{error!r}"
    return found, ""


def has_worn(seed: int) -> bool:
    """Whether the press of a seed is also tried when it is worn: every fifth is."""
    return seed % 5 == 0


def judge(trial: Trial, found: Found) -> Row:
    """Return how near a method came to the truth."""
    clock = cost(trial.study, found.plan)
    sure = found.sure
    at_setpoint = None
    if found.setpoint is not None:
        at_setpoint = float(true_good(trial.press, np.array([found.setpoint]))[0])
    return {
        "overlap": overlap(found.likely, trial.good),
        "true_share": float(trial.good.mean()),
        "likely_share": float(found.likely.mean()),
        "sure_share": None if sure is None else float(sure.mean()),
        "sure_good": float(trial.good[sure].mean()) if sure is not None and sure.any() else None,
        "best_good": float(trial.truth.max()),
        "setpoint_good": at_setpoint,
        "says_none": found.setpoint is None,
        "edges": edge_distances(trial, found),
        "edge_ranks": found.ranks,
        "bins": None if found.stated is None else bins(found.stated, trial.truth),
        "minutes": clock.minutes,
        "made": clock.shots,
        "groups": clock.groups,
        **found.more,
    }


def overlap(found: Flags, true: Flags) -> float:
    """Return the marks in both as a share of those in either; 0 where both are empty."""
    either = int((found | true).sum())
    return float((found & true).sum() / either) if either else 0.0


def edge_distances(trial: Trial, found: Found) -> dict[str, float]:
    """Return how many marks each end along a line through the setpoint is from the true one.

    Left out are ends where the true window reaches the end of the range, and all of them where
    the setpoint is not in the true window.
    """
    distances: dict[str, float] = {}
    if found.setpoint is None:
        return distances
    for axis, factor in enumerate(trial.study.factors):
        line = line_through(trial.study, found.setpoint, axis)
        good = true_good(trial.press, line) >= trial.study.good_from
        start = int(np.abs(line[:, axis] - found.setpoint[axis]).argmin())
        if not good[start]:
            return {}
        first, last = stretch(good, start)
        low, high = found.ends[factor.name]
        if first > 0:
            distances[f"{factor.name} low"] = abs(low - line[first, axis]) / factor.step
        if last < len(line) - 1:
            distances[f"{factor.name} high"] = abs(high - line[last, axis]) / factor.step
    return {name: float(distance) for name, distance in distances.items()}


def edge_ranks(trial: Trial, good: Goodness, setpoint: tuple[float, ...]) -> dict[str, float]:
    """Return where each true edge falls among the edges of the draws, from 0 to 1.

    Along lines through the setpoint, as far as shots were made; an edge that is not met there is
    farther than any that is, and of several that are not met the order is drawn.
    """
    study, region, found = trial.study, tried_region(trial.readings), {}
    rng = generator(trial.seed, "order of edges that are not met")
    for axis, factor in enumerate(study.factors):
        line = line_through(study, setpoint, axis)
        tiny = 1e-6 * factor.step
        tried = (line[:, axis] >= region.low[axis] - tiny) & (
            line[:, axis] <= region.high[axis] + tiny
        )
        line = line[tried]
        true = true_good(trial.press, line) >= study.good_from
        drawn = good.shares(line) >= study.good_from  # (places, draws)
        start = int(np.abs(line[:, axis] - setpoint[axis]).argmin())
        if not true[start]:
            return {}
        for side, way in (("low", slice(start, None, -1)), ("high", slice(start, None))):
            place, places = _places(true[way][:, None])[0], _places(drawn[way])
            alike = float((places == place).mean())
            found[f"{factor.name} {side}"] = float((places < place).mean() + alike * rng.uniform())
    return found


def _places(inside: Flags) -> NDArray[np.intp]:
    """Return how many places of each column (places, draws) come before the first outside."""
    return np.where(inside.all(axis=0), len(inside), inside.argmin(axis=0))


def bins(stated: Array, truth: Array) -> list[list[float]]:
    """Return number of marks, sum of stated and sum of true chances, for each bin of the stated."""
    found = []
    for low, high in pairwise(BINS):
        chosen = (stated >= low) & (stated < high)  # false where nothing is stated
        found.append([int(chosen.sum()), float(stated[chosen].sum()), float(truth[chosen].sum())])
    return found


def halves(trial: Trial, good: Goodness) -> dict[str, float]:
    """Return the overlap of our window when one of its two edges is replaced by the true one."""
    study, press = trial.study, trial.press
    inside = {}
    for curve in good.curves:
        shares = Goodness(good.surfaces, (curve,)).shares(trial.marks)
        inside[curve.surface.response] = (shares >= study.good_from).mean(axis=1) >= LIKELY
    flash = probability_good(press, trial.marks, fill_good=_ANY_FILL, draws=DRAWS)
    fill = probability_good(
        press, trial.marks, fill_good=FULL_FROM, flash_good=_NO_LIMIT_MM, draws=DRAWS
    )
    return {
        "with_true_flash": overlap(inside["fill"] & (flash >= study.good_from), trial.good),
        "with_true_fill": overlap(inside["flash"] & (fill >= study.good_from), trial.good),
    }
