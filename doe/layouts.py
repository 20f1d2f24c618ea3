"""A layout (model, shots, temperature groups) turned into the draft that predicts best.

Groups that share a slow setting are one unit: they are changed together while the plan is sought,
so repeated groups stay repeated.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.drafts import Draft, Place, running_order
from shotwindow.doe.factors import natural_settings, snap_settings
from shotwindow.doe.groups import day_minutes, scatter_ratio, slow_positions, soak_minutes
from shotwindow.doe.optimal import exchange
from shotwindow.doe.region import coded_levels, coded_rule, moments
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import Task, grouped_weights
from shotwindow.doe.terms import Terms, full_quadratic, model_terms

Floats = NDArray[np.float64]

STARTS = 50
# Of a few plans this close to the best, the one that takes the fewest minutes is chosen.
NEAR = 1.01
# Where minutes are short, one that is worse by so much will do.
TOLERABLE = 1.1
TIMED = 12


@dataclass(frozen=True)
class Layout:
    """How large an optimal plan is.

    Attributes
    ----------
    model : str
        As `shotwindow.doe.terms.model_terms` takes it: its terms are all told apart.
    shots : int
        Without warm-up shots.
    units : int
        Different slow settings; 1 where nothing is slow.
    repeats : int
        How many of the units are set a second time.
    criterion : str
        "I" for the smallest mean variance of prediction, "D" for the largest determinant.
    """

    model: str
    shots: int
    units: int
    repeats: int
    criterion: str = "I"

    @property
    def groups(self) -> int:
        """Number of temperature groups."""
        return self.units + self.repeats

    @cached_property
    def group(self) -> NDArray[np.int_]:
        """Group 0, 1, ... of each shot, (n,): of sizes as equal as can be."""
        return np.sort(np.arange(self.shots) % self.groups)

    @cached_property
    def unit(self) -> NDArray[np.int_]:
        """Unit of each shot, (n,): the last groups repeat the first units."""
        return self.group % self.units


@dataclass(frozen=True)
class Filled:
    """A layout with its settings.

    Attributes
    ----------
    layout : Layout
    draft : Draft
    minutes : float
        By the clock, in the running order that the same seed gives.
    loss : float
        As `shotwindow.doe.tasks.Task.loss` gives it, shot scatter 1.
    """

    layout: Layout
    draft: Draft
    minutes: float
    loss: float


def slow_terms(study: Study, model: str) -> int:
    """Return how many terms hold slow factors alone, the constant counted.

    So many different slow settings, and as many groups, are needed at least.
    """
    terms = model_terms(model, study.names)
    fast = [j for j in range(len(study.factors)) if j not in slow_positions(study)]
    return int((terms.powers[:, fast] == 0).all(axis=1).sum())


def least_minutes(study: Study, layout: Layout) -> float:
    """Return minutes that no plan of this layout stays below: every change the smallest."""
    soaks = [0.0]
    for j in slow_positions(study):
        ends = coded_levels(study.factors[j])[:2]
        near = study.factors[j].natural(ends)
        soaks += [
            float(soak_minutes(study.factors[j], old, new)) for old, new in (near, near[::-1])
        ]
    still = np.zeros((layout.groups, len(study.factors)))
    changes = (layout.groups - 1) * min(soaks[1:], default=0.0)
    return day_minutes(study, still, layout.shots) + changes


def task_of(study: Study, layout: Layout) -> Task:
    """Return what is asked of an optimal plan of this layout.

    Terms of the full quadratic beyond the layout's model are wished for, not demanded: they enter
    with a prior of the size of the scatter (W. DuMouchel and B. Jones, Technometrics 36 (1994) 37,
    from memory), so that a small plan still looks at more than its model's corners.
    """
    terms = _wished(study)
    demanded = set(model_terms(layout.model, study.names).exponents)
    prior = np.diag([0.0 if powers in demanded else 1.0 for powers in terms.exponents])
    slow = tuple(factor.is_slow for factor in study.factors)
    ratio = scatter_ratio(study) if layout.groups > 1 else 0.0
    return Task(
        terms=terms,
        levels=tuple(coded_levels(factor) for factor in study.factors),
        weights=grouped_weights(layout.group, ratio),
        moments=moments(study, terms) if layout.criterion == "I" else None,
        prior=prior,
        slow=slow,
        unit=tuple(int(unit) for unit in layout.unit) if any(slow) else None,
        allowed=coded_rule(study),
    )


def _wished(study: Study) -> Terms:
    """Return the full quadratic less the squares of factors with only two marks."""
    terms = full_quadratic(study.names)
    coarse = [factor.count < 3 for factor in study.factors]
    return terms.subset(~(terms.powers[:, coarse] == 2).any(axis=1))


def fill(
    study: Study,
    layout: Layout,
    seed: int,
    *,
    task: Task | None = None,
    budget: float = np.inf,
    starts: int = STARTS,
) -> Filled | None:
    """Return the settings that predict best, or of the nearly best those that take least time.

    Where that is more than the budget of minutes, a somewhat worse plan that keeps it is taken.
    None where no settings tell the model's terms apart. The task is that of the layout alone
    unless another is given.
    """
    task = task_of(study, layout) if task is None else task
    found = exchange(task, starts, generator(seed, "optimal", layout.shots, layout.groups))
    if not np.isfinite(found.loss[0]):
        return None
    count = int((found.loss[:TIMED] <= found.loss[0] * TOLERABLE).sum())
    drafts = [_draft(study, layout, coded) for coded in found.coded[:count]]
    filled = [
        Filled(layout, draft, draft_minutes(study, draft, seed), float(loss))
        for draft, loss in zip(drafts, found.loss[:count], strict=True)
    ]
    near = [plan for plan in filled if plan.loss <= filled[0].loss * NEAR]
    quickest = min(near, key=lambda plan: plan.minutes)
    if quickest.minutes <= budget:
        return quickest
    return next((plan for plan in filled if plan.minutes <= budget), quickest)


def _draft(study: Study, layout: Layout, coded: Floats) -> Draft:
    settings = snap_settings(study.factors, natural_settings(study.factors, coded))
    return Draft(settings, ("optimal",) * layout.shots, layout.model, layout.group)


def draft_minutes(study: Study, draft: Draft, seed: int) -> float:
    """Return the minutes by the clock of a draft in the running order that the seed gives."""
    shots = running_order(study, draft, seed, Place())
    openings = {shot.group: shot.settings for shot in reversed(shots)}
    ordered = np.array([openings[group] for group in sorted(openings)])
    return day_minutes(study, ordered, len(draft.settings))
