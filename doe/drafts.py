"""A draft (settings in no order) turned into planned shots in running order.

Shots are grouped by their slow settings, the groups put in an order that saves soaks, the shots of
a group in random order after its opening, and warm-up shots set before each opening.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.groups import order_groups, order_shots, same_slow
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

KINDS = (
    "warm-up",
    "ladder",
    "factorial",
    "axial",
    "center",
    "optimal",
    "replicate",
    "reference",
    "next",
    "confirm",
)


@dataclass(frozen=True)
class PlannedShot:
    """One shot to be made.

    Attributes
    ----------
    shot : int
        Number in running order, from 1.
    block, lot : str
        Day or other block, and lot of material.
    group : int
        Temperature group, counted in running order from 1.
    kind : str
        One of `KINDS`; "warm-up" shots are made and never fitted.
    settings : tuple of float
        In the factors' units, in the order of the study.
    """

    shot: int
    block: str
    lot: str
    group: int
    kind: str
    settings: tuple[float, ...]


@dataclass(frozen=True)
class Draft:
    """Shots chosen but not yet ordered.

    Attributes
    ----------
    settings : ndarray
        In the factors' units, on marks, (n, k).
    kinds : tuple of str
        Kind of each shot, (n,).
    model : str
        The model that the plan is for, as `shotwindow.doe.terms.model_terms` takes it.
    group : ndarray or None
        Shots with the same number are made in one group, (n,); None: one group a slow setting.
    in_order : bool
        True where the shots must be made as they stand.
    """

    settings: Floats
    kinds: tuple[str, ...]
    model: str
    group: Ints | None = None
    in_order: bool = False


@dataclass(frozen=True)
class Place:
    """Where a draft goes: its block and lot, and the numbers of its first shot and group."""

    block: str = "1"
    lot: str = ""
    shot: int = 1
    group: int = 1


def running_order(study: Study, draft: Draft, seed: int, place: Place) -> tuple[PlannedShot, ...]:
    """Return the draft's shots in running order, warm-up shots placed.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.doe.drafts import Draft, Place, running_order
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.5
    ... ''')
    >>> draft = Draft(np.array([[5.0], [3.0]]), ("factorial",) * 2, "first-order")
    >>> [(s.kind, s.settings) for s in running_order(study, draft, 1, Place())]
    [('warm-up', (3.0,)), ('warm-up', (3.0,)), ('factorial', (3.0,)), ('factorial', (5.0,))]
    """
    group = same_slow(study, draft.settings) if draft.group is None else draft.group
    numbers = np.unique(group)
    rows = [np.flatnonzero(group == number) for number in numbers]
    if not draft.in_order:
        rng = generator(seed, "run order", place.block)
        rows = [r[order_shots(study, draft.settings[r], rng)] for r in rows]
        openings = draft.settings[[r[0] for r in rows]]
        rows = [rows[g] for g in order_groups(study, openings, rng)]
    shots: list[PlannedShot] = []
    for number, members in enumerate(rows, start=place.group):
        kinds = ["warm-up"] * study.time.warm_up_shots + [draft.kinds[r] for r in members]
        which = [members[0]] * study.time.warm_up_shots + list(members)
        for kind, row in zip(kinds, which, strict=True):
            settings = tuple(float(value) for value in draft.settings[row])
            planned = PlannedShot(0, place.block, place.lot, number, kind, settings)
            shots.append(replace(planned, shot=place.shot + len(shots)))
    return tuple(shots)
