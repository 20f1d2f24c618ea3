"""Any plan, of any model and size, turned into one number: the error it leaves in predictions.

Plans for different models cannot be compared by their own errors: one that never looks for
curvature is sure of itself. Here every plan is asked for the full quadratic. Effects of first
order may be anything, those of second order are expected within a few times the shot scatter, so a
plan pays for what it cannot see with the size that this may have.
"""

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import coded_settings
from shotwindow.doe.groups import scatter_ratio
from shotwindow.doe.plans import Plan
from shotwindow.doe.region import moments
from shotwindow.doe.study import Study
from shotwindow.doe.tasks import block_columns, grouped_weights
from shotwindow.doe.terms import full_quadratic

Floats = NDArray[np.float64]

# Standard deviations of coefficients before anything is shot, in shot scatters (our judgement).
FIRST_ORDER_SD = 30.0
SECOND_ORDER_SD = 3.0


def expected_error(study: Study, plan: Plan) -> float:
    """Return the root mean square error of prediction over the allowed marks, in shot scatters.

    Examples
    --------
    >>> from shotwindow.doe.plans import make_plan
    >>> from shotwindow.doe.study import parse_study
    >>> from shotwindow.doe.worth import expected_error
    >>> table = "[factors.{}]{n}unit = '{}'{n}low = 1{n}high = 5{n}step = 0.5{n}"
    >>> names = (("pressure", "bar"), ("injection_time", "s"))
    >>> study = parse_study("".join(table.format(*name, n=chr(10)) for name in names))
    >>> square = make_plan(study, kind="factorial", shots=4)
    >>> curved = make_plan(study, kind="composite", shots=12)
    >>> expected_error(study, curved) < 1 < expected_error(study, square)
    True
    """
    terms = full_quadratic(study.names)
    shots = plan.fitted()
    blocks = block_columns([shot.block for shot in shots])
    matrix = np.hstack([terms.matrix(coded_settings(study.factors, plan.settings())), blocks])
    group = np.array([shot.group for shot in shots])
    weights = grouped_weights(group, scatter_ratio(study))
    degree = np.concatenate([terms.powers.sum(axis=1), np.zeros(blocks.shape[1], dtype=int)])
    prior = np.diag(np.where(degree < 2, FIRST_ORDER_SD, SECOND_ORDER_SD) ** -2.0)
    left = np.linalg.inv(matrix.T @ weights @ matrix + prior)
    p = len(terms)
    return float(np.sqrt(np.sum(left[:p, :p] * moments(study, terms))))
