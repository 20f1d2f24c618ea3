"""A study and a kind of plan turned into shots in running order: the front door of the planner."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.budgets import Wish, optimal_draft
from shotwindow.doe.drafts import KINDS, Place, PlannedShot, running_order
from shotwindow.doe.errors import Problem, StudyError, guess
from shotwindow.doe.kinds import TEXTBOOK, classical_draft
from shotwindow.doe.ladders import ladder_draft
from shotwindow.doe.layouts import draft_minutes
from shotwindow.doe.study import Study
from shotwindow.doe.terms import MODELS, model_terms

__all__ = ["KINDS", "PLANS", "Plan", "PlannedShot", "make_plan"]

# What the two kinds of optimal plan make small, and all kinds that can be asked for.
CRITERIA = {"optimal": "I", "d-optimal": "D"}
PLANS = (*CRITERIA, *TEXTBOOK, "ladder")


@dataclass(frozen=True)
class Plan:
    """Shots in running order, and what they are for.

    Attributes
    ----------
    kind : str
        One of `PLANS`.
    model : str
        The model that the plan is meant to tell apart, as `shotwindow.doe.terms.model_terms`
        takes it: the largest of `shotwindow.doe.terms.MODELS`, unless another was asked for.
    seed : int
        What the random choices came from.
    shots : tuple of PlannedShot
        In running order, warm-up shots included.
    """

    kind: str
    model: str
    seed: int
    shots: tuple[PlannedShot, ...]

    def fitted(self) -> tuple[PlannedShot, ...]:
        """Return the shots that are fitted: all but warm-up shots."""
        return tuple(shot for shot in self.shots if shot.kind != "warm-up")

    def settings(self, fitted_only: bool = True) -> NDArray[np.float64]:
        """Return the settings in running order, (n, k), in the factors' units."""
        shots: Sequence[PlannedShot] = self.fitted() if fitted_only else self.shots
        return np.array([shot.settings for shot in shots])


def make_plan(
    study: Study,
    *,
    kind: str = "optimal",
    shots: int | None = None,
    minutes: float | None = None,
    seed: int = 1,
    model: str | None = None,
) -> Plan:
    """Choose the shots of a study and put them in running order.

    Parameters
    ----------
    study
        Factors, marks, limits, rules and times.
    kind
        One of `PLANS`. "optimal" predicts best over the marks, in temperature groups of which two
        are set twice where the minutes allow; "d-optimal" makes the terms of its model as
        certain as can be instead.
    shots
        Number of shots without warm-up shots, met exactly; the kind's own number by default.
    minutes
        Time at the press, in place of the study's budget. An optimal plan without a number of
        shots uses it up; another plan must fit into it.
    seed
        The same seed gives the same plan.
    model
        For an optimal plan: what `shotwindow.doe.terms.model_terms` takes, in place of the
        largest model that shots and minutes allow.

    Raises
    ------
    StudyError
        If nothing of the kind can be planned: too few shots or minutes, marks too coarse, rules
        that leave nothing, a kind that does not suit the number of factors.

    Examples
    --------
    >>> from shotwindow.doe.plans import make_plan
    >>> from shotwindow.doe.study import parse_study
    >>> table = "[factors.{}]{n}unit = '{}'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> names = (("pressure", "bar"), ("injection_time", "s"))
    >>> study = parse_study("".join(table.format(*name, n=chr(10)) for name in names))
    >>> plan = make_plan(study, shots=9, seed=3)
    >>> plan.model, plan.settings().shape
    ('quadratic', (9, 2))
    """
    check_request(kind, shots, minutes)
    check_model(study, kind, model)
    if kind in CRITERIA:
        wish = Wish(shots, minutes, model, CRITERIA[kind])
        draft = optimal_draft(study, wish, seed).draft
    elif kind == "ladder":
        draft = ladder_draft(study, shots)
    else:
        draft = classical_draft(study, kind, shots)
    needed = draft_minutes(study, draft, seed)
    if minutes is not None and needed > minutes:
        raise StudyError.one(
            "plan --minutes",
            f"{minutes:.10g}",
            f"{np.ceil(needed):.0f} or more for the {len(draft.settings)} shots of this plan",
            "give more minutes or take the kind optimal, which fits itself to them",
        )
    ordered = running_order(study, draft, seed, Place(lot=study.material.lot))
    return Plan(kind, draft.model, seed, ordered)


def check_model(study: Study, kind: str, model: str | None) -> None:
    """Raise where a model is asked for that there is not, or of a plan that has its own.

    Raises
    ------
    StudyError
        With what would be right.
    """
    if model is None:
        return
    if kind not in CRITERIA:
        chosen = " and ".join(CRITERIA)
        raise StudyError.one(
            "plan --model", model, f"it beside the kinds {chosen} alone: {kind} has its own"
        )
    try:
        model_terms(model, study.names)
    except ValueError as fault:
        example = f"{MODELS[0]} + {study.names[0]}^2"
        expected = f"one of {', '.join(MODELS)}, and single terms after it, such as '{example}'"
        raise StudyError.one("plan --model", model, expected, str(fault)) from None


def check_request(kind: str, shots: int | None, minutes: float | None) -> None:
    """Raise where the kind is unknown, or a number is not one that can be planned for.

    Raises
    ------
    StudyError
        With what would be right.
    """
    problems = []
    if kind not in PLANS:
        meant = guess(kind, PLANS)
        do = f"did you mean {meant}?" if meant else ""
        problems.append(Problem("plan --kind", kind, f"one of {', '.join(PLANS)}", do))
    if shots is not None and shots < 1:
        problems.append(Problem("plan --shots", f"{shots}", "1 or more"))
    if minutes is not None and not 0 < minutes < float("inf"):
        problems.append(Problem("plan --minutes", f"{minutes:.10g}", "more than 0"))
    if problems:
        raise StudyError(problems)
