"""A plan turned into what it can tell apart, see, predict and lose, before a shot is made.

Shots are judged with the model that the plan is for, in coded settings and in units of shot
scatter; groups are taken to scatter as study.toml says, as much as shots do unless it does.
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.aliases import (
    ZERO,
    aliases,
    defining_relation,
    rank,
    resolution,
    told_apart,
    word_lengths,
    word_means,
)
from shotwindow.doe.factors import coded_settings
from shotwindow.doe.groups import scatter_ratio, slow_positions
from shotwindow.doe.plans import Plan
from shotwindow.doe.power import smallest_effect
from shotwindow.doe.region import marks_of
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import block_columns, grouped_weights
from shotwindow.doe.terms import MODELS, Terms, model_terms
from shotwindow.doe.variance import (
    Efficiency,
    covariance,
    efficiency,
    leverages,
    prediction_variance,
)

Floats = NDArray[np.float64]

# Leverage from which a shot is the only one that shows some term.
ALONE = 1 - 1e-6


@dataclass(frozen=True)
class Effect:
    """What a plan sees of one term.

    Attributes
    ----------
    name : str
        In factor names.
    against : str
        "group" where it is judged against group-to-group scatter, else "shot".
    df : int
        Degrees of freedom of that scatter.
    error : float
        Standard error of the effect from low to high (a square: from center to edge).
    smallest : float or None
        Effect seen with power 0.8; None where no scatter can be estimated.
    """

    name: str
    against: str
    df: int
    error: float
    smallest: float | None


@dataclass(frozen=True)
class Prediction:
    """Standard error of a predicted response: at the center, on faces, corners, over all marks.

    Faces and corners are means over those that are allowed; None where none is.
    """

    center: float | None
    faces: float | None
    corners: float | None
    mean: float
    worst: float


@dataclass(frozen=True)
class Judgement:
    """Answers to what is asked of a plan before it is shot.

    Attributes
    ----------
    ranks : tuple of (str, int, int)
        For each model how many of its terms are told apart, and how many there are; the full
        quadratic last.
    resolution : int or None
        Of the two-level shots; None where no word binds them.
    relation : tuple of str
        Signed words of the defining relation.
    word_lengths : tuple of float
        Words of length 1, 2, ... k of the two-level shots; empty where there are none.
    aliases : tuple of str
        Such as "pressure = + melt_temperature x injection_time".
    shots, groups : int
        Fitted shots, temperature groups.
    group_df, shot_df : int
        Degrees of freedom of group-to-group and shot-to-shot scatter.
    effects : tuple of Effect
    prediction : Prediction
    efficiency : Efficiency
    costly_shots : tuple of int
        Numbers of the shots of which each alone, when void, would cost a term.
    """

    ranks: tuple[tuple[str, int, int], ...]
    resolution: int | None
    relation: tuple[str, ...]
    word_lengths: tuple[float, ...]
    aliases: tuple[str, ...]
    shots: int
    groups: int
    group_df: int
    shot_df: int
    effects: tuple[Effect, ...]
    prediction: Prediction
    efficiency: Efficiency
    costly_shots: tuple[int, ...]


def judge(study: Study, plan: Plan) -> Judgement:
    """Return what a plan is worth; warm-up shots do not count.

    Examples
    --------
    >>> from shotwindow.doe.judging import judge
    >>> from shotwindow.doe.plans import make_plan
    >>> from shotwindow.doe.study import parse_study
    >>> table = "[factors.{}]{n}unit = '{}'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> names = (("pressure", "bar"), ("melt_temperature", "degC"), ("injection_time", "s"))
    >>> study = parse_study("".join(table.format(*name, n=chr(10)) for name in names))
    >>> judge(study, make_plan(study, kind="fraction", shots=4)).aliases[0]
    'pressure = + melt_temperature x injection_time'
    """
    shots = plan.fitted()
    coded = coded_settings(study.factors, plan.settings())
    model = model_terms(plan.model, study.names)
    group = np.array([shot.group for shot in shots])
    blocks = block_columns([shot.block for shot in shots])
    terms = model.subset(told_apart(model, coded, blocks))
    spread = covariance(
        np.hstack([terms.matrix(coded), blocks]),
        grouped_weights(group, scatter_ratio(study)),
    )[: len(terms), : len(terms)]
    corners = _two_level(coded)
    group_df, shot_df = scatter_df(terms.matrix(coded), blocks, group)
    lever = leverages(np.hstack([terms.matrix(coded), blocks]))
    return Judgement(
        ranks=tuple(_rank(name, study, coded, blocks) for name in _models(plan)),
        resolution=resolution(corners) if len(corners) else None,
        relation=defining_relation(study.names, corners) if len(corners) else (),
        word_lengths=word_lengths(corners) if len(corners) else (),
        aliases=_aliases(plan.model, study, coded, corners),
        shots=len(shots),
        groups=len(set(group.tolist())),
        group_df=group_df,
        shot_df=shot_df,
        effects=_effects(study, terms, spread, (group_df, shot_df)),
        prediction=_prediction(study, terms, spread),
        efficiency=efficiency(terms, coded, marks_of(study)),
        costly_shots=tuple(s.shot for s, h in zip(shots, lever, strict=True) if h > ALONE),
    )


def scatter_df(matrix: Floats, blocks: Floats, group: NDArray[np.int_]) -> tuple[int, int]:
    """Return the degrees of freedom of group-to-group and of shot-to-shot scatter."""
    indicators = (group[:, None] == np.unique(group)).astype(float)
    fixed = int(np.linalg.matrix_rank(np.hstack([matrix, blocks])))
    every = int(np.linalg.matrix_rank(np.hstack([matrix, blocks, indicators])))
    return every - fixed, len(matrix) - every


def _models(plan: Plan) -> tuple[str, ...]:
    """Return the models that a plan is held against: its own first, if it is none of the usual."""
    return MODELS if plan.model in MODELS else (plan.model, *MODELS)


def _rank(name: str, study: Study, coded: Floats, blocks: Floats) -> tuple[str, int, int]:
    terms = model_terms(name, study.names)
    return name, rank(terms, coded, blocks), len(terms)


def _aliases(model: str, study: Study, coded: Floats, corners: Floats) -> tuple[str, ...]:
    """Return the aliases of all terms of second order in a regular fraction, else of the model."""
    partial = (
        [ZERO < abs(mean) < 1 - ZERO for mean in word_means(corners).values()]
        if len(corners)
        else []
    )
    regular = len(corners) > 0 and not any(partial)
    terms = model_terms(MODELS[-1] if regular else model, study.names)
    return aliases(terms, coded, degree=3 if len(corners) else 2)


def _two_level(coded: Floats) -> Floats:
    """Return the corner shots (m, k) if they make a balanced two-level plan, else none."""
    corners: Floats = coded[(np.abs(np.abs(coded) - 1) < 1e-9).all(axis=1)]
    balanced = len(corners) >= 4 and bool(np.allclose(corners.sum(axis=0), 0))
    return corners if balanced else corners[:0]


def _effects(study: Study, terms: Terms, spread: Floats, df: tuple[int, int]) -> tuple[Effect, ...]:
    slow = slow_positions(study)
    fast = [j for j in range(len(study.factors)) if j not in slow]
    effects = []
    for name, powers, variance in zip(terms.names, terms.powers, np.diag(spread), strict=True):
        if name == "1":
            continue
        of_group = bool(slow) and not powers[fast].any()
        # from low to high a term changes by two, a square from center to edge by one
        error = float(np.sqrt(variance)) * (1 if (powers % 2 == 0).all() else 2)
        freedom = df[0] if of_group else df[1]
        against = "group" if of_group else "shot"
        effects.append(Effect(name, against, freedom, error, smallest_effect(error, freedom)))
    return tuple(effects)


def _prediction(study: Study, terms: Terms, spread: Floats) -> Prediction:
    k = len(study.factors)
    settings = {
        "center": np.zeros((1, k)),
        "faces": np.vstack([np.eye(k), -np.eye(k)]),
        "corners": np.array(list(product((-1.0, 1.0), repeat=k))),
    }
    means: dict[str, float | None] = {}
    for name, coded in settings.items():
        natural = np.stack([f.natural(coded[:, j]) for j, f in enumerate(study.factors)], axis=1)
        allowed = coded[study.allowed(natural)]
        variance = prediction_variance(terms, spread, allowed)
        means[name] = float(np.sqrt(variance).mean()) if len(allowed) else None
    everywhere = np.sqrt(prediction_variance(terms, spread, marks_of(study)))
    return Prediction(
        center=means["center"],
        faces=means["faces"],
        corners=means["corners"],
        mean=float(everywhere.mean()),
        worst=float(everywhere.max()),
    )
