"""Least-squares fit -> analysis of variance with blocks, lack of fit and pure error."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.terms import Terms
from shotwindow.models.textbook import Fit, f_test

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """One line of an analysis of variance; ``f`` and ``p`` are None where nothing is tested."""

    source: str
    ss: float
    df: int
    f: float | None = None
    p: float | None = None

    @property
    def ms(self) -> float | None:
        """Mean square."""
        return self.ss / self.df if self.df > 0 else None


@dataclass(frozen=True)
class Anova:
    """Sequential sums of squares, each line corrected for those above it.

    Parameters
    ----------
    lines : tuple of Line
        The sources in their order, tested against the residual.
    residual : Line
    lack_of_fit, pure_error : Line or None
        The two parts of the residual; None when nothing was repeated. Lack of fit is tested
        against pure error.
    total : Line
        About the mean when the constant was left out of the sources, else about zero.
    """

    lines: tuple[Line, ...]
    residual: Line
    lack_of_fit: Line | None
    pure_error: Line | None
    total: Line


def sources_of(terms: Terms) -> tuple[str | None, ...]:
    """Name the line of the analysis of variance that each term belongs to.

    Returns
    -------
    tuple of str or None
        ``"first-order"``, ``"interactions"``, ``"squares"`` or ``"higher"``; None for a constant.
    """
    words: list[str | None] = []
    for powers in terms.exponents:
        order = sum(powers)
        second = "squares" if max(powers, default=0) == 2 else "interactions"
        words.append((None, "first-order", second)[order] if order < 3 else "higher")
    return tuple(words)


def pure_error(repeats: Array, response: Array) -> tuple[float, int]:
    """Sum of squares and degrees of freedom between readings at the same settings.

    Parameters
    ----------
    repeats : ndarray, shape (n, m)
        Rows that are equal are repeats of one another: settings, and block and temperature group
        where these matter.
    response : ndarray, shape (n,)
    """
    _, place = np.unique(np.round(repeats, 9), axis=0, return_inverse=True)
    count = np.bincount(place.ravel())
    means = np.bincount(place.ravel(), weights=response) / count
    ss = float(np.square(response - means[place.ravel()]).sum())
    return ss, len(response) - len(count)


def anova(fitted: Fit, sources: Sequence[str | None], repeats: Array | None = None) -> Anova:
    """Split the sum of squares of a fit into its sources, in the order of the columns.

    Parameters
    ----------
    fitted : Fit
    sources : sequence of str or None, length p
        The line each column belongs to, see `sources_of`; None for the constant. Columns of one
        line stand next to each other.
    repeats : ndarray, shape (n, m), optional
        Rows that are equal are repeats, see `pure_error`. Without it the residual stays whole.

    Examples
    --------
    >>> import numpy as np
    >>> from shotwindow.models.anova import anova
    >>> from shotwindow.models.textbook import fit
    >>> x = np.array([-1.0, -1, 0, 0, 1, 1])
    >>> line = fit(np.column_stack([np.ones(6), x]), np.array([1.0, 2, 5, 6, 3, 4]))
    >>> table = anova(line, (None, "first-order"), x[:, None])
    >>> round(table.lines[0].ss, 9), round(table.lack_of_fit.f, 9)
    (4.0, 24.0)
    """
    squares = np.square(fitted.basis.T @ fitted.response)
    total = float(fitted.response @ fitted.response)
    names = [name for name in dict.fromkeys(sources) if name is not None]
    member = {name: [source == name for source in sources] for name in names}
    if None in sources:
        total = float(squares[[source is not None for source in sources]].sum()) + fitted.rss
    lines = tuple(
        _tested(name, float(squares[own].sum()), sum(own), fitted.variance, fitted.df)
        for name, own in member.items()
    )
    lack, pure = _split_residual(fitted, repeats)
    total_df = len(fitted.response) - sum(source is None for source in sources)
    return Anova(
        lines,
        Line("residual", fitted.rss, fitted.df),
        lack,
        pure,
        Line("total", total, total_df),
    )


def _split_residual(fitted: Fit, repeats: Array | None) -> tuple[Line | None, Line | None]:
    ss, df = (0.0, 0) if repeats is None else pure_error(repeats, fitted.response)
    if df < 1:
        return None, None
    pure = Line("pure error", ss, df)
    # rounding may leave a hair less than nothing when the model passes through every mean
    lack_ss = max(fitted.rss - ss, 0.0)
    return _tested("lack of fit", lack_ss, fitted.df - df, pure.ms, df), pure


def _tested(source: str, ss: float, df: int, error: float | None, error_df: int) -> Line:
    return Line(source, ss, df, *f_test(ss, df, error, error_df))
