"""Two studies' folders, or two lots of one -> where their windows differ."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from shotwindow.doe.common_factors import Match, match_factors
from shotwindow.doe.errors import Problem, StudyError, Unanswerable
from shotwindow.doe.study import read_study
from shotwindow.models.comparison import Comparison, compare_windows
from shotwindow.models.goodness import goodness
from shotwindow.models.lots import of_one_lot
from shotwindow.models.shifts import Side
from shotwindow.reports.findings import Findings, read_findings
from shotwindow.reports.naming import listed
from shotwindow.reports.priors import MOLDING
from shotwindow.reports.verdicts import fit_failed


@dataclass(frozen=True)
class Compared:
    """Two studies, or two lots of one, with what sets them apart.

    Attributes
    ----------
    a, b : Findings
    match : Match
    comparison : Comparison
    lots : tuple of str, or None
        The two lots, of which `a` and `b` then hold one each; None for two studies.
    """

    a: Findings
    b: Findings
    match: Match
    comparison: Comparison
    lots: tuple[str, str] | None = None

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        """Print what `compare` prints, in a notebook or an IPython shell."""
        from shotwindow.reports.compare_words import compare_lines  # which imports this module

        printer.text("\n".join(compare_lines(self)))


def compare(a: Path, b: Path, *, seed: int = 1, prior: str = MOLDING) -> Compared:
    """Compare the windows of two studies.

    Raises
    ------
    StudyError
        If a study needs mending, or their factors do not match.
    Unanswerable
        If a fit did not converge, or the studies have no setting in common.
    """
    match = match_factors(read_study(a), read_study(b))  # before the fits, which take a while
    one, other = (read_findings(folder, seed=seed, prior=prior) for folder in (a, b))
    for found in (one, other):
        if found.window is None:
            raise Unanswerable(fit_failed(found))
    comparison = compare_windows(_side(one), _side(other), match, seed=seed)
    return Compared(one, other, match, comparison)


def compare_lots(
    folder: Path, lots: tuple[str, str], *, seed: int = 1, prior: str = MOLDING
) -> Compared:
    """Compare the windows of two lots of material that were shot in one study.

    Raises
    ------
    StudyError
        If the study needs mending, or a lot was never shot or is named twice.
    Unanswerable
        If the fit did not converge.
    """
    found = read_findings(folder, seed=seed, prior=prior)
    _check_lots(found.surfaces.lots, lots)
    if found.window is None:
        raise Unanswerable(fit_failed(found))
    one, other = (_of_lot(found, lot) for lot in lots)
    match = replace(match_factors(found.study, found.study), by_melt=(), by_gauge=())
    comparison = compare_windows(_side(one), _side(other), match, seed=seed, one_fit=True)
    return Compared(one, other, match, comparison, lots)


def _check_lots(shot: tuple[str, ...], lots: tuple[str, str]) -> None:
    there = f"two of the lots that were shot: {listed([name or '(unnamed)' for name in shot])}"
    if len(shot) < 2:
        there = f"two lots, but {shot[0] or 'one without a name'} is the only one that was shot"
    problems = [
        Problem("compare --lots", f'"{lot}"', there, "as in the column lot of runs.csv")
        for lot in dict.fromkeys(lots)
        if lot not in shot
    ]
    if not problems and lots[0] == lots[1]:
        problems = [Problem("compare --lots", f'"{lots[0]}" twice', there)]
    if problems:
        raise StudyError(problems)


def _of_lot(found: Findings, lot: str) -> Findings:
    surfaces = of_one_lot(found.surfaces, lot)
    return replace(found, surfaces=surfaces, goodness=goodness(surfaces))


def _side(found: Findings) -> Side:
    return Side(found.study, found.goodness, found.region)
