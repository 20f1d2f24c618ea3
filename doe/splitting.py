"""The shots of a textbook plan shared out among days or lots, which may lie higher or lower.

What a block adds must not look like what a setting does. With R = I - H, where H = X (X'X)^-1 X'
is the hat matrix of the model's terms and Z tells the block of each shot, |Z' R Z| without one
block is large where blocks and terms are told apart, and largest where they are orthogonal. Shots
are swapped between blocks until nothing helps. The shots of one temperature group stay together,
but for those at the slow center, which every block visits for its reference shot.
"""

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.aliases import told_apart
from shotwindow.doe.drafts import Draft
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.groups import same_slow
from shotwindow.doe.study import Study
from shotwindow.doe.terms import Terms

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

STARTS = 30
# A swap must help by this share, or rounding would go on for ever.
LEAST_GAIN = 1e-9
# Center shots are dealt out among themselves; every other unit among those of its number of shots.
CENTER = 0


def split(study: Study, draft: Draft, terms: Terms, count: int, rng: np.random.Generator) -> Ints:
    """Return the block 0, 1, ... of each shot of a draft, (n,).

    Parameters
    ----------
    draft
        Some of its shots are center shots, as many as blocks at least.
    terms
        What is to be told apart from the blocks.
    count
        Number of blocks, of sizes as equal as temperature groups allow.
    rng
        The same generator gives the same blocks.

    Examples
    --------
    Half of a 2^2 and a center on each day: a x b changes with the day, a and b do not.

    >>> import numpy as np
    >>> from shotwindow.doe.kinds import classical_draft
    >>> from shotwindow.doe.splitting import split
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.doe.terms import first_order
    >>> table = "[factors.{}]{n}unit = 'u'{n}low = -1{n}high = 1{n}step = 1{n}"
    >>> study = parse_study("".join(table.format(name, n=chr(10)) for name in "ab"))
    >>> draft = classical_draft(study, "factorial", 6)
    >>> block = split(study, draft, first_order("ab"), 2, np.random.default_rng(1))
    >>> first = draft.settings[block == 0]
    >>> sorted(set(first.prod(axis=1).tolist()))
    [0.0, 1.0]
    """
    coded = coded_settings(study.factors, draft.settings)
    matrix = terms.subset(told_apart(terms, coded)).matrix(coded)
    basis = np.linalg.qr(matrix)[0]
    rest = np.eye(len(coded)) - basis @ basis.T
    unit = _units(study, draft)
    member = (np.arange(unit.max() + 1) == unit[:, None]).astype(float)  # (n, units)
    left = member.T @ rest @ member
    is_center = np.array([draft.kinds[row] == "center" for row in member.argmax(axis=0)])
    classes = np.where(is_center, CENTER, member.sum(axis=0).astype(int))
    found = [_improved(left, _dealt(classes, count, rng), classes, count) for _ in range(STARTS)]
    best: Ints = max(found, key=lambda one: one[1])[0]
    return best[unit]


def _units(study: Study, draft: Draft) -> Ints:
    """Return shots that stay together: a temperature group, or one shot of the slow center."""
    groups = same_slow(study, draft.settings)
    at_center = groups == groups[draft.kinds.index("center")]
    alone = groups.max() + 1 + np.arange(len(groups))
    return np.unique(np.where(at_center, alone, groups), return_inverse=True)[1].reshape(-1)


def _dealt(classes: Ints, count: int, rng: np.random.Generator) -> Ints:
    """Deal out the units, each at random to the block that has least: centers, then the largest."""
    block = np.empty(len(classes), dtype=int)
    load = np.zeros(count)
    for one in sorted(np.unique(classes), key=lambda size: (size != CENTER, -size)):
        for unit in rng.permutation(np.flatnonzero(classes == one)):
            block[unit] = load.argmin()
            load[block[unit]] += max(one, 1)
    return block


def _improved(left: Floats, block: Ints, classes: Ints, count: int) -> tuple[Ints, float]:
    """Swap units of one class as long as that helps; the blocks and their determinant."""
    one, other = np.triu_indices(len(block), 1)
    alike = classes[one] == classes[other]
    one, other = one[alike], other[alike]
    size = left[one, one] + left[other, other] - 2 * left[one, other]
    eye = np.eye(count)
    while True:
        across = left @ eye[block]  # (units, count)
        now = eye[block].T @ across
        pull = across[one] - across[other]  # (m, count)
        turn = eye[block[other]] - eye[block[one]]
        cross = pull[:, :, None] * turn[:, None]
        square = size[:, None, None] * turn[:, :, None] * turn[:, None]
        worth = np.linalg.det((now + cross + np.swapaxes(cross, 1, 2) + square)[:, 1:, 1:])
        kept = float(np.linalg.det(now[1:, 1:]))
        best = worth.argmax()
        if worth[best] <= kept + LEAST_GAIN * (1 + abs(kept)):
            return block, kept
        block[[one[best], other[best]]] = block[[other[best], one[best]]]
