"""A plan already under way turned into a longer one: what was planned stays, a new block is added.

Center shots show curvature, replicates scatter; a fold-over frees main effects, or one factor,
from their aliases; axial shots turn a factorial into a composite; optimal shots help prediction
most, given what was made. A new block may lie higher or lower as a whole, which is fitted. Where
blocks have a reference shot, or the lot has changed, the new one gets a reference shot, too.
"""

from collections.abc import Callable, Collection
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.classical import axial, blocking_alpha
from shotwindow.doe.drafts import Draft, Place, running_order
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.groups import scatter_ratio, slow_positions
from shotwindow.doe.kinds import CENTERS, largest_model, on_marks
from shotwindow.doe.layouts import Layout, fill, task_of
from shotwindow.doe.plans import Plan
from shotwindow.doe.region import check_allowed
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import Task, block_columns, grouped_weights
from shotwindow.doe.terms import MODELS, model_terms
from shotwindow.doe.variance import leverages

Floats = NDArray[np.float64]

# Optimal shots added when no number is given, how many of them make a temperature group, and the
# center shots that come with axial ones.
ADDED = 6
A_GROUP = 3
STAR_CENTERS = 2
Added = tuple[Floats, tuple[str, ...]]


def without(plan: Plan, lost: Collection[int]) -> Plan:
    """Return a plan less the shots with these numbers: what is left after void or skipped ones."""
    return replace(plan, shots=tuple(shot for shot in plan.shots if shot.shot not in lost))


def until(plan: Plan, last: int) -> Plan:
    """Return a plan up to and with the shot of this number: what was made when time ran out."""
    return replace(plan, shots=tuple(shot for shot in plan.shots if shot.shot <= last))


def grow(
    study: Study,
    plan: Plan,
    how: str,
    *,
    shots: int | None = None,
    factor: str | None = None,
    lost: Collection[int] = (),
) -> Plan:
    """Add shots to a plan as a new block; no shot that it has is touched.

    Parameters
    ----------
    study, plan
        The study, and all shots so far.
    how
        One of `WAYS`.
    shots
        How many to add, where the way leaves that open.
    factor
        For a fold-over: the one factor whose sign is turned; by default of all.
    lost
        Numbers of shots that were void or skipped: as if they had not been made. "replicate"
        without a number of shots makes just them again.

    Raises
    ------
    StudyError
        If the plan or the limits do not allow it.

    Examples
    --------
    >>> from shotwindow.doe.growth import grow
    >>> from shotwindow.doe.plans import make_plan
    >>> from shotwindow.doe.study import parse_study
    >>> table = "[factors.{}]{n}unit = '{}'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> names = (("pressure", "bar"), ("injection_time", "s"))
    >>> study = parse_study("".join(table.format(*name, n=chr(10)) for name in names))
    >>> plan = make_plan(study, kind="factorial")
    >>> longer = grow(study, plan, "axial")
    >>> longer.model, longer.shots[: len(plan.shots)] == plan.shots, longer.shots[-1].block
    ('quadratic', True, '2')
    """
    if how not in WAYS:
        raise StudyError.one("plan --grow", how, f"one of {', '.join(WAYS)}")
    made = without(plan, lost)
    last = plan.shots[-1]
    lot = study.material.lot or last.lot
    reference = _reference(study, plan, lot)
    if reference is not None and shots is not None and how in ("optimal", "replicate"):
        shots -= 1  # for the reference shot, which is one of those asked for
    if how == "optimal":
        draft = _optimal(study, made, ADDED if shots is None else shots)
    elif how == "fold":
        draft = _draft(study, how, _folded(study, made, factor))
    elif how == "replicate":
        draft = _draft(study, how, _again(study, plan, made, shots))
    else:
        draft = _draft(study, how, BY_NUMBER[how](study, made, shots))
    if reference is not None:
        draft = _with_reference(study, draft, reference)
    blocks = {shot.block for shot in plan.shots}
    place = Place(_next_block(blocks), lot, last.shot + 1, last.group + 1)
    added = running_order(study, draft, plan.seed, place)
    longer = replace(plan, shots=plan.shots + added)
    kept = without(longer, lost)
    columns = block_columns([shot.block for shot in kept.fitted()])
    model = largest_model(study, kept.settings(), columns)
    return replace(longer, model=model)


def _reference(study: Study, plan: Plan, lot: str) -> tuple[float, ...] | None:
    """Return the setting that a new block repeats; None where its level is not to be looked at."""
    for shot in plan.fitted():
        if shot.kind == "reference":
            return shot.settings
    if lot == plan.shots[-1].lot:
        return None
    center = on_marks(study.factors, np.zeros((1, len(study.factors))))[0]
    return tuple(float(value) for value in center)


def _with_reference(study: Study, draft: Draft, setting: tuple[float, ...]) -> Draft:
    """Return a draft of which one shot is the reference: one of its center shots, or one more."""
    same = np.isclose(draft.settings, setting).all(axis=1) & (np.array(draft.kinds) == "center")
    if same.any():
        first = int(same.argmax())
        kinds = tuple("reference" if r == first else k for r, k in enumerate(draft.kinds))
        return replace(draft, kinds=kinds)
    check_allowed(study, "of a reference shot", np.array([setting]))
    settings = np.vstack([draft.settings, setting])
    return replace(draft, settings=settings, kinds=(*draft.kinds, "reference"), group=None)


def renamed(plan: Plan, block: str, name: str) -> Plan:
    """Return a plan one of whose blocks has another name, such as that of a day."""
    shots = (replace(s, block=name) if s.block == block else s for s in plan.shots)
    return replace(plan, shots=tuple(shots))


def _next_block(blocks: set[str]) -> str:
    number = len(blocks) + 1
    while str(number) in blocks:
        number += 1
    return str(number)


def _draft(study: Study, how: str, added: Added) -> Draft:
    settings, kinds = added
    check_allowed(study, f"--grow {how}", settings)
    return Draft(settings, kinds, MODELS[0])


def _center(study: Study, made: Plan, shots: int | None) -> Added:
    count = CENTERS if shots is None else shots
    return on_marks(study.factors, np.zeros((count, len(study.factors)))), ("center",) * count


def _corners(study: Study, made: Plan) -> Floats:
    """Return the coded factorial shots, (m, k)."""
    corners = [shot.settings for shot in made.fitted() if shot.kind == "factorial"]
    if not corners:
        raise StudyError.one(
            "plan --grow",
            f"a plan of the kind {made.kind}",
            "one with factorial shots",
            "add optimal shots instead",
        )
    return coded_settings(study.factors, np.array(corners))


def _folded(study: Study, made: Plan, factor: str | None) -> Added:
    """Return the mirror image of the factorial shots, in all factors or in one."""
    corners = _corners(study, made)
    if factor is not None and factor not in study.names:
        raise StudyError.one(
            "plan --grow fold", factor, f"one of the factors {', '.join(study.names)}"
        )
    turned = [factor in (None, name) for name in study.names]
    mirrored = np.where(turned, -corners, corners)
    if sorted(mirrored.round(6).tolist()) == sorted(corners.round(6).tolist()):
        raise StudyError.one(
            "plan --grow fold",
            "a plan that is its own mirror image",
            "one of odd resolution, or one factor to fold",
            "fold the factor whose aliases matter most",
        )
    settings = on_marks(study.factors, mirrored)
    return settings, ("factorial",) * len(settings)


def _again(study: Study, plan: Plan, made: Plan, shots: int | None) -> Added:
    """Return settings again: those of lost shots, or those whose response is known least well."""
    numbers = {shot.shot for shot in made.shots}
    lost = [shot.settings for shot in plan.fitted() if shot.shot not in numbers]
    if shots is None and lost:
        return np.array(lost), ("replicate",) * len(lost)
    settings = np.unique(made.settings(), axis=0)
    terms = model_terms(made.model, study.names)
    lever = leverages(terms.matrix(coded_settings(study.factors, settings)))
    count = len(settings) if shots is None else shots
    least_known = np.argsort(-lever.round(9), kind="stable")
    return settings[np.resize(least_known, count)], ("replicate",) * count


def _star(study: Study, made: Plan, shots: int | None, *, orthogonal: bool) -> Added:
    """Return axial shots on the faces, or where the two blocks are orthogonal, and centers."""
    k = len(study.factors)
    cube = len(_corners(study, made))
    cube_centers = sum(shot.kind == "center" for shot in made.fitted())
    centers = STAR_CENTERS if shots is None else shots - 2 * k
    if centers < 0:
        raise StudyError.one("plan --grow axial --shots", f"{shots}", f"{2 * k} or more")
    alpha = blocking_alpha(k, cube, cube_centers, centers) if orthogonal else 1.0
    coded = np.vstack([axial(k, alpha), np.zeros((centers, k))])
    return on_marks(study.factors, coded), ("axial",) * 2 * k + ("center",) * centers


def _optimal(study: Study, made: Plan, shots: int) -> Draft:
    """Return the shots that, with those made, predict best."""
    slow = slow_positions(study)
    units = max(1, round(shots / A_GROUP)) if slow else 1
    for model in reversed(MODELS):
        layout = Layout(model, shots, units, 0)
        filled = fill(study, layout, made.seed, task=_task_after(study, made, layout))
        if filled is not None:
            return filled.draft
    raise StudyError.one(
        "plan --grow optimal --shots", f"{shots}", "enough to tell the factors apart", "add more"
    )


def _task_after(study: Study, made: Plan, layout: Layout) -> Task:
    """Return the layout's task given the shots that were made; new shots are another block."""
    task = task_of(study, layout)
    shots = made.fitted()
    blocks = block_columns([shot.block for shot in shots] + ["new"] * layout.shots)
    matrix = task.terms.matrix(coded_settings(study.factors, made.settings()))
    known = np.hstack([matrix, blocks[: len(shots)]])
    group = np.array([shot.group for shot in shots])
    weights = grouped_weights(group, scatter_ratio(study))
    prior = np.zeros((known.shape[1],) * 2)
    if task.prior is not None:
        prior[: len(task.terms), : len(task.terms)] = task.prior
    return replace(task, prior=prior + known.T @ weights @ known, beside=blocks[len(shots) :])


# Ways to grow that take the number of shots alone, and all ways.
BY_NUMBER: dict[str, Callable[[Study, Plan, int | None], Added]] = {
    "center": _center,
    "axial": partial(_star, orthogonal=False),
    "axial-orthogonal": partial(_star, orthogonal=True),
}
WAYS = ("center", "replicate", "fold", "axial", "axial-orthogonal", "optimal")
