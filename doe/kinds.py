"""A study and the name of a textbook plan turned into a draft in real units.

A given number of shots is met exactly: what the plan itself does not need goes into repeats of
the whole and into center shots.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe import classical
from shotwindow.doe.aliases import rank
from shotwindow.doe.drafts import Draft
from shotwindow.doe.errors import StudyError
from shotwindow.doe.factors import Factor, coded_settings
from shotwindow.doe.groups import same_slow, slow_positions
from shotwindow.doe.region import check_allowed, coarse_marks
from shotwindow.doe.study import Study
from shotwindow.doe.terms import MODELS, model_terms

Floats = NDArray[np.float64]

CENTERS = 4
# Shots of one kind each: the coded rows and the name of the kind.
Part = tuple[Floats, str]


def classical_draft(study: Study, kind: str, shots: int | None) -> Draft:
    r"""Return the textbook plan of a kind, its shots not yet in order.

    Parameters
    ----------
    study
        Its factors, limits and rules.
    kind
        A key of `TEXTBOOK`.
    shots
        Number of shots without warm-up shots; None for the plan's own number.

    Raises
    ------
    StudyError
        If the factors, marks, limits or rules do not suit the plan, or the shots do not suffice.

    Examples
    --------
    >>> from shotwindow.doe.kinds import classical_draft
    >>> from shotwindow.doe.study import parse_study
    >>> table = "\n[factors.{}]\nunit = '{}'\nlow = 1\nhigh = 5\nstep = 1\n"
    >>> study = parse_study(table.format("pressure", "bar") + table.format("injection_time", "s"))
    >>> draft = classical_draft(study, "composite", None)
    >>> draft.model, len(draft.settings), draft.kinds.count("center")
    ('quadratic', 12, 4)
    """
    parts = TEXTBOOK[kind](study, shots)
    coded = np.vstack([rows for rows, _ in parts])
    kinds = tuple(name for rows, name in parts for _ in rows)
    settings = on_marks(study.factors, coded)
    check_allowed(study, kind, settings)
    group = same_slow(study, settings)
    if slow_positions(study):
        group = _center_group_twice(group, np.array(kinds) == "center")
    return Draft(settings, kinds, largest_model(study, settings), group)


def largest_model(study: Study, settings: Floats, blocks: Floats | None = None) -> str:
    """Return the largest model whose terms the settings can tell apart, or first order.

    Columns of blocks, (n, b - 1), count as explained before any term.
    """
    coded = coded_settings(study.factors, settings)
    for model in reversed(MODELS):
        terms = model_terms(model, study.names)
        if rank(terms, coded, blocks) == len(terms):
            return model
    return MODELS[0]


def on_marks(factors: tuple[Factor, ...], coded: Floats) -> Floats:
    """Return coded rows (n, k) in real units on the nearest marks, beyond low and high too."""
    columns = []
    for factor, column in zip(factors, coded.T, strict=True):
        beyond = int(np.ceil(max(0.0, np.abs(column).max() - 1) * factor.count))
        wide = replace(
            factor,
            low=round(factor.low - beyond * factor.step, 10),
            high=round(factor.high + beyond * factor.step, 10),
        )
        columns.append(wide.snap(factor.natural(column)))
    return np.stack(columns, axis=1)


def _center_group_twice(group: NDArray[np.int_], center: NDArray[np.bool_]) -> NDArray[np.int_]:
    """Split the group of the center shots in two, so that one slow setting is set twice."""
    if center.sum() < 2 or np.ptp(group) == 0:
        return group
    members = np.flatnonzero(group == group[center.argmax()])
    ordered = members[np.argsort(~center[members], kind="stable")]  # centers go to both halves
    split = group.copy()
    split[ordered[::2]] = group.max() + 1
    return split


def _filled(study: Study, kind: str, base: list[Part], shots: int | None, least: int) -> list[Part]:
    """Add repeats and center shots until the number of shots is met."""
    once = sum(len(rows) for rows, _ in base)
    k = len(study.factors)
    if shots is None:
        centers = max(least, 0 if coarse_marks(study) else CENTERS)
        return [*base, (np.zeros((centers, k)), "center")]
    if shots < once + least:
        needed = once + least
        raise StudyError.one(
            f"shots for {kind}",
            f"{shots}",
            f"{needed} or more",
            f"take {needed} or the kind optimal",
        )
    # of what is left over, two shots at least are center shots: they show curvature and scatter
    repeats = max(0, (shots - 2) // once - 1)
    centers = shots - once * (1 + repeats)
    if centers and coarse_marks(study):
        raise StudyError(coarse_marks(study))
    copies = [(rows, "replicate") for rows, _ in base] * repeats
    return [*base, *copies, (np.zeros((centers, k)), "center")]


def _factorial(study: Study, shots: int | None) -> list[Part]:
    rows = classical.two_level(len(study.factors))
    return _filled(study, "factorial", [(rows, "factorial")], shots, 0)


def _fraction(study: Study, shots: int | None) -> list[Part]:
    k = len(study.factors)
    halvings = [p for (factors, p) in classical.GENERATORS if factors == k]
    if not halvings:
        raise StudyError.one("factors for fraction", f"{k}", "3 or more", "take the kind factorial")
    # half of the factorial where that is small; else the one that fits
    most = 16 if shots is None else shots
    fitting = [p for p in halvings if 2 ** (k - p) <= most] or halvings[-1:]
    rows = classical.fraction(k, fitting[0])
    return _filled(study, "fraction", [(rows, "factorial")], shots, 0)


def _composite(
    alpha_of: Callable[[int], float], shrink: bool
) -> Callable[[Study, int | None], list[Part]]:
    """Return what makes a composite with this axial distance, shrunk into the cube or not."""

    def parts(study: Study, shots: int | None) -> list[Part]:
        k = len(study.factors)
        if k < 2:
            raise StudyError.one("factors for composite", "1", "2 or more", "take the kind optimal")
        if coarse_marks(study):
            raise StudyError(coarse_marks(study))
        cube = _cube(k, shots)
        alpha = alpha_of(len(cube))
        scale = 1 / alpha if shrink else 1.0
        base = [(cube * scale, "factorial"), (classical.axial(k, alpha) * scale, "axial")]
        return _filled(study, "composite", base, shots, 1)

    return parts


def _cube(k: int, shots: int | None) -> Floats:
    """Return the cube: of resolution V or full by default, else the largest that fits."""
    halvings = [0, *(p for (factors, p) in classical.GENERATORS if factors == k)]
    if shots is None:
        clear = [p for p in halvings if p == 0 or classical.RESOLUTIONS[k, p] >= 5]
        return classical.fraction(k, clear[-1])
    fitting = [p for p in halvings if 2 ** (k - p) + 2 * k + 1 <= shots] or halvings[-1:]
    return classical.fraction(k, fitting[0])


def _box_behnken(study: Study, shots: int | None) -> list[Part]:
    k = len(study.factors)
    if not 3 <= k <= 5:
        raise StudyError.one("factors for box-behnken", f"{k}", "3 to 5", "take the kind optimal")
    if coarse_marks(study):
        raise StudyError(coarse_marks(study))
    return _filled(study, "box-behnken", [(classical.box_behnken(k), "factorial")], shots, 1)


def _screening(study: Study, shots: int | None) -> list[Part]:
    """Definitive screening, unless slow factors or coarse marks make two levels better."""
    _check_screening(study, "screening")
    if slow_positions(study) or coarse_marks(study):
        return _plackett_burman(study, shots)
    return _definitive(study, shots)


def _check_screening(study: Study, kind: str) -> int:
    k = len(study.factors)
    if k < 5:
        raise StudyError.one(
            f"factors for {kind}",
            f"{k}",
            "5 to 8",
            "take the kind optimal or fraction, which cost few shots for so few factors",
        )
    return k


def _plackett_burman(study: Study, shots: int | None) -> list[Part]:
    k = _check_screening(study, "plackett-burman")
    most = 12 if shots is None else shots
    fitting = [runs for runs in (8, 12, 16, 20, 24) if k < runs <= most] or [8 if k < 8 else 12]
    rows = classical.plackett_burman(k, fitting[-1])
    return _filled(study, "plackett-burman", [(rows, "factorial")], shots, 0)


def _definitive(study: Study, shots: int | None) -> list[Part]:
    k = _check_screening(study, "definitive")
    if coarse_marks(study):
        raise StudyError(coarse_marks(study))
    rows = classical.definitive(k)[:-1]  # its one center comes with the other center shots
    return _filled(study, "definitive", [(rows, "factorial")], shots, 1)


TEXTBOOK: dict[str, Callable[[Study, int | None], list[Part]]] = {
    "factorial": _factorial,
    "fraction": _fraction,
    "composite": _composite(lambda cube: 1.0, shrink=False),
    "composite-inscribed": _composite(classical.rotatable_alpha, shrink=True),
    "composite-rotatable": _composite(classical.rotatable_alpha, shrink=False),
    "box-behnken": _box_behnken,
    "screening": _screening,
    "plackett-burman": _plackett_burman,
    "definitive": _definitive,
}
