"""Minutes at the press turned into the best optimal plan that fits them.

What is given up when minutes are short: first shots, down to a few more than terms, then repeated
groups, then terms of the model. Whatever was given up, the plan's restrictions say.
"""

from collections.abc import Iterator
from dataclasses import replace
from math import ceil
from typing import NamedTuple

import numpy as np

from shotwindow.doe.errors import StudyError
from shotwindow.doe.groups import slow_positions
from shotwindow.doe.layouts import Filled, Layout, fill, least_minutes, slow_terms
from shotwindow.doe.region import coarse_marks, marks_of
from shotwindow.doe.study import Study
from shotwindow.doe.terms import MODELS, model_terms

# Shots beyond the terms of the model: a comfortable plan; one that still shows shot-to-shot
# scatter; one whose number of shots was given.
USUAL_SPARE = 5
LEAST_SPARE = 2
GIVEN_SPARE = 1
# More shots than so many a term add little for their minutes.
MOST_A_TERM = 3
# Groups set twice: with two, group-to-group scatter has two degrees of freedom.
REPEATS = 2
# Where minutes are to be used up, so many more slow settings than the model needs are tried.
EXTRA_UNITS = 4
# Enough starts to see what size a plan can have; the plan itself is sought with more.
SIZING_STARTS = 12


class Wish(NamedTuple):
    """What is asked for: all that `make_plan` was given, None where it was not.

    Criterion as in `shotwindow.doe.layouts.Layout`.
    """

    shots: int | None = None
    minutes: float | None = None
    model: str | None = None
    criterion: str = "I"


def optimal_draft(study: Study, wish: Wish, seed: int) -> Filled:
    """Return the optimal plan of a number of shots, or the best that fits the minutes.

    Parameters
    ----------
    study
        Its `time.budget_min` counts where the wish names no minutes.
    wish
        Shots are met exactly; without them a plan has about five more than terms, fewer where the
        minutes end earlier. Minutes named without shots are used up as far as that helps. The
        model is the largest that shots, minutes and temperature groups allow unless it is named.
    seed
        The same seed gives the same plan.

    Raises
    ------
    StudyError
        If no plan fits, with what would be needed.
    """
    _check_marks(study, wish.model or MODELS[-1])
    marks_of(study)  # raises where the rules leave nothing
    budget = study.time.budget_min if wish.minutes is None else wish.minutes
    layouts = list(_layouts(study, wish))
    if not layouts:
        raise _too_few_shots(study, wish)
    for wanted, least in layouts:
        fitting = _shrunk(study, wanted, least, budget, seed)
        if fitting is not None:
            if wish.minutes is not None and wish.shots is None:
                fitting = _grown(study, wanted, fitting, budget, seed)
            return _polished(study, fitting, budget, seed)
    return _over_budget(study, wish, layouts, budget, seed)


def _check_marks(study: Study, model: str) -> None:
    """Raise where a factor whose square is asked for has too few marks for a curve."""
    terms = model_terms(model, study.names)
    curved = np.flatnonzero((terms.powers == 2).any(axis=0))
    problems = coarse_marks(study, [study.names[j] for j in curved])
    if problems:
        raise StudyError(problems)


def _layouts(study: Study, wish: Wish) -> Iterator[tuple[Layout, int]]:
    """Give layouts from the most wanted on, each with the fewest shots that are worth it."""
    for model in reversed(MODELS) if wish.model is None else [wish.model]:
        terms, units = len(model_terms(model, study.names)), slow_terms(study, model)
        most = REPEATS if slow_positions(study) else 0
        for repeats in range(min(most, units), -1, -1):
            least = max(terms + repeats + _spare(wish, model), units + repeats)
            usual = terms + USUAL_SPARE if wish.minutes is None else MOST_A_TERM * terms
            shots = usual if wish.shots is None else wish.shots
            if shots >= least:
                layout = Layout(model, shots, units, repeats, wish.criterion)
                yield layout, least if wish.shots is None else shots


def _spare(wish: Wish, model: str) -> int:
    """Return how many shots more than terms a plan must have to be worth the model."""
    if wish.shots is None:
        return LEAST_SPARE
    return 0 if wish.model is not None or model == MODELS[0] else GIVEN_SPARE


def _shrunk(study: Study, wanted: Layout, least: int, budget: float, seed: int) -> Filled | None:
    """Return the layout with as many of its shots as fit the minutes, if those are enough."""
    layout = wanted
    while layout.shots >= least:
        excess = least_minutes(study, layout) - budget
        if excess <= 0:
            filled = fill(study, layout, seed, budget=budget, starts=SIZING_STARTS)
            if filled is None:
                return None
            excess = filled.minutes - budget
            if excess <= 0:
                return filled
        layout = replace(layout, shots=layout.shots - ceil(excess / study.time.shot_min))
    return None


def _grown(study: Study, wanted: Layout, fitting: Filled, budget: float, seed: int) -> Filled:
    """Return the plan that predicts best of those with some more slow settings and fewer shots."""
    best = fitting
    least = len(model_terms(wanted.model, study.names)) + wanted.repeats + LEAST_SPARE
    for extra in range(1, EXTRA_UNITS + 1 if slow_positions(study) else 1):
        layout = replace(wanted, units=wanted.units + extra)
        tried = _shrunk(study, layout, least, budget, seed)
        if tried is None or tried.loss >= best.loss:
            break
        best = tried
    return best


def _polished(study: Study, sized: Filled, budget: float, seed: int) -> Filled:
    """Return the best plan of the size that was found, sought with more starts."""
    best = fill(study, sized.layout, seed, budget=budget)
    return sized if best is None or best.minutes > budget else best


def _over_budget(
    study: Study, wish: Wish, layouts: list[tuple[Layout, int]], budget: float, seed: int
) -> Filled:
    """Return a plan of the given shots that takes longer, or raise where the minutes were meant."""
    if wish.shots is not None and wish.minutes is None:
        # the largest model in the fewest groups that it can do with
        model = layouts[0][0].model
        fewest = [layout for layout, _ in layouts if layout.model == model][-1]
        filled = fill(study, fewest, seed)
        if filled is not None:
            return filled
    smallest, least = layouts[-1]
    needed = fill(study, replace(smallest, shots=least), seed)
    if needed is None:
        raise StudyError.one(
            "study.toml [[avoid]]",
            "rules that leave too few different settings",
            f"settings that tell the {len(study.factors)} factors apart",
            "remove or narrow a rule",
        )
    many = f"{smallest.groups} temperature groups" if smallest.groups > 1 else "one group"
    raise StudyError.one(
        "study.toml [time] budget_min" if wish.minutes is None else "plan --minutes",
        f"{budget:.10g}",
        f"{ceil(needed.minutes)} or more for {least} shots in {many}",
        "give more minutes, or move a factor to [held]",
    )


def _too_few_shots(study: Study, wish: Wish) -> StudyError:
    """Return the error that says how many shots are needed, and for which smaller model."""
    smaller = [m for m in MODELS if len(model_terms(m, study.names)) <= (wish.shots or 0)]
    model = wish.model or MODELS[0]
    needed = len(model_terms(model, study.names))
    least = max(needed, slow_terms(study, model))
    return StudyError.one(
        "plan --shots",
        f"{wish.shots}",
        f"{least} or more for the {needed} terms of the {model} model",
        f"so few suffice for the {smaller[-1]} model"
        if smaller
        else f"take {least} shots or move a factor to [held]",
    )
