"""Several days or lots turned into one plan whose blocks do not bias what it estimates.

Each block may lie higher or lower as a whole, which is fitted. Every block holds the same reference
shot at the center, so that a look at these tells what the day or the lot has changed. An optimal
plan is chosen with its blocks; the shots of a textbook plan are shared out among them.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.drafts import Draft, Place, PlannedShot, running_order
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import natural_settings, snap_settings
from shotwindow.doe.groups import same_slow, scatter_ratio, slow_positions
from shotwindow.doe.kinds import classical_draft, largest_model, on_marks
from shotwindow.doe.layouts import STARTS, Layout, slow_terms, task_of
from shotwindow.doe.optimal import exchange
from shotwindow.doe.plans import CRITERIA, Plan, check_model, check_request
from shotwindow.doe.region import check_allowed, coarse_marks, marks_of
from shotwindow.doe.seeds import generator
from shotwindow.doe.splitting import split
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import block_columns, grouped_weights
from shotwindow.doe.terms import MODELS, model_terms

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

# Shots beyond the terms and the reference shots.
SPARE = 5


class Shared(NamedTuple):
    """Shots with their blocks, in no order; their groups within a block where that is chosen."""

    settings: Floats  # (n, k)
    kinds: tuple[str, ...]
    block: Ints  # (n,)
    group: Ints  # (n,)


def plan_blocks(
    study: Study,
    blocks: Sequence[tuple[str, str]],
    *,
    kind: str = "optimal",
    shots: int | None = None,
    seed: int = 1,
    model: str | None = None,
) -> Plan:
    """Choose the shots of a study that takes more than one day or lot.

    Parameters
    ----------
    study
        Factors, marks, limits, rules and times.
    blocks
        Name and lot of each, such as ``[("Monday", "lot A"), ("Tuesday", "lot B")]``.
    kind
        One of `shotwindow.doe.plans.PLANS` but the ladder.
    shots
        Number of shots of all blocks together, reference shots counted, met exactly.
    seed
        The same seed gives the same plan.
    model
        As for `shotwindow.doe.plans.make_plan`.

    Raises
    ------
    StudyError
        If there are too few shots, or the center or everything is forbidden.

    Examples
    --------
    >>> from shotwindow.doe.blocks import plan_blocks
    >>> from shotwindow.doe.study import parse_study
    >>> table = "[factors.{}]{n}unit = '{}'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> names = (("pressure", "bar"), ("injection_time", "s"))
    >>> study = parse_study("".join(table.format(*name, n=chr(10)) for name in names))
    >>> plan = plan_blocks(study, [("1", "lot A"), ("2", "lot B")], shots=12)
    >>> [(s.block, s.kind) for s in plan.fitted() if s.kind == "reference"]
    [('1', 'reference'), ('2', 'reference')]
    """
    check_request(kind, shots, None)
    check_model(study, kind, model)
    if kind == "ladder":
        raise StudyError.one(
            "plan --day",
            "a ladder",
            "another kind: a ladder is climbed in one go, or a change of day would look like "
            "pressure",
            "plan a ladder for each day in a folder of its own",
        )
    if coarse_marks(study):
        raise StudyError(coarse_marks(study))
    marks_of(study)  # raises where the rules leave nothing
    center = on_marks(study.factors, np.zeros((1, len(study.factors))))
    check_allowed(study, "in blocks", center)
    if kind in CRITERIA:
        names = tuple(reversed(MODELS)) if model is None else (model,)
        own, shared = _chosen(study, (names, CRITERIA[kind]), shots, len(blocks), seed)
    else:
        own, shared = _shared_out(study, kind, shots, len(blocks), seed)
    return Plan(kind, own, seed, _ordered(study, own, shared, blocks, seed))


def _chosen(
    study: Study, wanted: tuple[Sequence[str], str], shots: int | None, count: int, seed: int
) -> tuple[str, Shared]:
    """Return the first of the models wanted that can be told apart in blocks, and its shots."""
    models, criterion = wanted
    needed = {model: len(model_terms(model, study.names)) + 2 * count - 1 for model in models}
    total = needed[models[0]] + SPARE if shots is None else shots
    for model in models:
        if total < needed[model]:
            continue
        shared = _settings(study, (model, criterion), total, count, seed)
        if shared is not None:
            return model, shared
    raise StudyError.one(
        "plan --shots", f"{total}", f"{min(needed.values())} or more in {count} blocks"
    )


def _shared_out(
    study: Study, kind: str, shots: int | None, count: int, seed: int
) -> tuple[str, Shared]:
    """Return a textbook plan's shots shared out, and the model that they then tell apart."""
    draft = classical_draft(study, kind, shots)
    centers = [row for row, name in enumerate(draft.kinds) if name == "center"]
    if len(centers) < count:
        least = len(draft.kinds) - len(centers) + count
        raise StudyError.one(
            f"shots for {kind} in {count} blocks",
            f"{len(draft.kinds)}, {len(centers)} of them at the center",
            f"{least} or more, with one at the center for each block to be its reference shot",
        )
    terms = model_terms(draft.model, study.names)
    block = split(study, draft, terms, count, generator(seed, "days", kind, count))
    reference = {next(row for row in centers if block[row] == number) for number in range(count)}
    kinds = tuple("reference" if r in reference else name for r, name in enumerate(draft.kinds))
    shared = Shared(draft.settings, kinds, block, same_slow(study, draft.settings))
    columns = block_columns([str(number) for number in block])
    return largest_model(study, draft.settings, columns), shared


def _layout(study: Study, model: str, total: int, count: int) -> tuple[Ints, Ints]:
    """Return block and group of each shot, (n,); the first shot of each block is the reference."""
    block = np.sort(np.arange(total) % count)
    others = -(-(slow_terms(study, model) - 1) // count) if slow_positions(study) else 0
    group = np.empty(total, dtype=int)
    for number in range(count):
        members = np.flatnonzero(block == number)
        group[members] = number * (others + 1) + np.arange(members.size) % (others + 1)
    return block, group


def _settings(
    study: Study, wanted: tuple[str, str], total: int, count: int, seed: int
) -> Shared | None:
    """Return the optimal shots of a model, or None where its terms cannot be told apart."""
    model, criterion = wanted
    block, group = _layout(study, model, total, count)
    reference = np.unique(block, return_index=True)[1]
    given = np.full((total, len(study.factors)), np.nan)
    given[reference] = 0.0
    at_reference = np.isin(group, group[reference])
    is_slow = np.array([factor.is_slow for factor in study.factors])
    given[at_reference[:, None] & is_slow] = 0.0
    task = replace(
        task_of(study, Layout(model, total, 1, 0, criterion)),
        weights=grouped_weights(group, scatter_ratio(study)),
        unit=tuple(int(number) for number in group),
        beside=block_columns([str(number) for number in block]),
        given=_on_center_marks(study, given),
    )
    if task.prior is not None:
        task = replace(task, prior=np.pad(task.prior, (0, count - 1)))
    found = exchange(task, STARTS, generator(seed, "blocks", total, count))
    if not np.isfinite(found.loss[0]):
        return None
    natural = natural_settings(study.factors, found.coded[0])
    kinds = tuple("reference" if row in reference else "optimal" for row in range(total))
    return Shared(snap_settings(study.factors, natural), kinds, block, group)


def _on_center_marks(study: Study, given: Floats) -> Floats:
    """Return the given settings with each center moved to the mark nearest to it."""
    center = on_marks(study.factors, np.zeros((1, len(study.factors))))[0]
    coded = np.array([f.coded(c) for f, c in zip(study.factors, center, strict=True)])
    return np.where(np.isnan(given), np.nan, coded)


def _ordered(
    study: Study, model: str, shared: Shared, blocks: Sequence[tuple[str, str]], seed: int
) -> tuple[PlannedShot, ...]:
    shots: list[PlannedShot] = []
    for number, (name, lot) in enumerate(blocks):
        members = np.flatnonzero(shared.block == number)
        kinds = tuple(shared.kinds[row] for row in members)
        draft = Draft(shared.settings[members], kinds, model, shared.group[members])
        place = Place(name, lot, len(shots) + 1, shots[-1].group + 1 if shots else 1)
        shots += running_order(study, draft, seed, place)
    return tuple(shots)
