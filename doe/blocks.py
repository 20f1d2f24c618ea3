"""Several days or lots turned into one optimal plan whose blocks do not bias what it estimates.

Each block may lie higher or lower as a whole, which is fitted. Every block holds the same reference
shot at the center, so that a look at these tells what the day or the lot has changed.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.drafts import Draft, Place, PlannedShot, running_order
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import natural_settings, snap_settings
from shotwindow.doe.groups import scatter_ratio, slow_positions
from shotwindow.doe.kinds import on_marks
from shotwindow.doe.layouts import STARTS, Layout, slow_terms, task_of
from shotwindow.doe.optimal import exchange
from shotwindow.doe.plans import Plan
from shotwindow.doe.region import check_allowed, coarse_marks, marks_of
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import block_columns, grouped_weights
from shotwindow.doe.terms import MODELS, model_terms

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

# Shots beyond the terms and the reference shots.
SPARE = 5


def plan_blocks(
    study: Study, blocks: Sequence[tuple[str, str]], *, shots: int | None = None, seed: int = 1
) -> Plan:
    """Choose the shots of a study that takes more than one day or lot.

    Parameters
    ----------
    study
        Factors, marks, limits, rules and times.
    blocks
        Name and lot of each, such as ``[("Monday", "lot A"), ("Tuesday", "lot B")]``.
    shots
        Number of shots of all blocks together, reference shots counted, met exactly.
    seed
        The same seed gives the same plan.

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
    if coarse_marks(study):
        raise StudyError(coarse_marks(study))
    marks_of(study)  # raises where the rules leave nothing
    center = on_marks(study.factors, np.zeros((1, len(study.factors))))
    check_allowed(study, "in blocks", center)
    count = len(blocks)
    terms = len(model_terms(MODELS[-1], study.names))
    total = terms + SPARE + 2 * count - 1 if shots is None else shots
    for model in reversed(MODELS):
        if total < len(model_terms(model, study.names)) + 2 * count - 1:
            continue
        found = _settings(study, model, total, count, seed)
        if found is not None:
            return _ordered(study, model, found, blocks, seed)
    least = len(model_terms(MODELS[0], study.names)) + 2 * count - 1
    raise StudyError.one("plan --shots", f"{total}", f"{least} or more in {count} blocks")


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
    study: Study, model: str, total: int, count: int, seed: int
) -> tuple[Floats, Ints, Ints] | None:
    """Return settings (n, k), block and group (n,), or None where terms cannot be told apart."""
    block, group = _layout(study, model, total, count)
    reference = np.unique(block, return_index=True)[1]
    given = np.full((total, len(study.factors)), np.nan)
    given[reference] = 0.0
    at_reference = np.isin(group, group[reference])
    is_slow = np.array([factor.is_slow for factor in study.factors])
    given[at_reference[:, None] & is_slow] = 0.0
    task = replace(
        task_of(study, Layout(model, total, 1, 0)),
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
    return snap_settings(study.factors, natural), block, group


def _on_center_marks(study: Study, given: Floats) -> Floats:
    """Return the given settings with each center moved to the mark nearest to it."""
    center = on_marks(study.factors, np.zeros((1, len(study.factors))))[0]
    coded = np.array([f.coded(c) for f, c in zip(study.factors, center, strict=True)])
    return np.where(np.isnan(given), np.nan, coded)


def _ordered(
    study: Study,
    model: str,
    found: tuple[Floats, Ints, Ints],
    blocks: Sequence[tuple[str, str]],
    seed: int,
) -> Plan:
    settings, block, group = found
    shots: list[PlannedShot] = []
    for number, (name, lot) in enumerate(blocks):
        members = np.flatnonzero(block == number)
        kinds = ("reference",) + ("optimal",) * (members.size - 1)
        draft = Draft(settings[members], kinds, model, group[members])
        place = Place(name, lot, len(shots) + 1, shots[-1].group + 1 if shots else 1)
        shots += running_order(study, draft, seed, place)
    return Plan("optimal", model, seed, tuple(shots))
