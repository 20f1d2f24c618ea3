"""Settings of a study turned into one quantity in one unit, whether it is varied or held."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from shotwindow.doe.quantities import convert, unit_kind
from shotwindow.doe.study import Study


def column_in(
    study: Study, name: str, settings: ArrayLike, unit: str
) -> NDArray[np.float64] | None:
    """Return a factor's column, or a held value repeated, in a unit.

    Parameters
    ----------
    study : Study
    name : str
        Of a factor or of a held setting.
    settings : array_like, shape (n, k)
        In the units of the study's factors.
    unit : str
        The unit wanted.

    Returns
    -------
    array of shape (n,), or None
        None where the study has no such quantity, or has it in a unit of another kind.

    Examples
    --------
    >>> from shotwindow.doe.settings import column_in
    >>> from shotwindow.doe.study import parse_study
    >>> study = parse_study('''
    ... [factors.pressure]
    ... unit = "bar"
    ... low = 3.0
    ... high = 5.0
    ... step = 0.1
    ... [held.melt_temperature]
    ... value = 392
    ... unit = "degF"
    ... ''')
    >>> column_in(study, "melt_temperature", [[3.0], [4.0]], "degC").tolist()
    [200.0, 200.0]
    """
    columns = np.asarray(settings, dtype=np.float64)
    for j, factor in enumerate(study.factors):
        if factor.name == name:
            return _in_unit(columns[:, j], factor.unit, unit)
    for held in study.held:
        if held.name == name and not isinstance(held.value, str):
            return _in_unit(np.full(len(columns), held.value), held.unit, unit)
    return None


def _in_unit(values: NDArray[np.float64], have: str, want: str) -> NDArray[np.float64] | None:
    if unit_kind(have) != unit_kind(want):
        return None
    return np.array([convert(value, have, want) for value in values], dtype=np.float64)
