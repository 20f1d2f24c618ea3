"""A study and its shots -> everything found in them, as one value for all outputs."""

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.readings import Readings, readings
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_runs
from shotwindow.doe.store import fingerprint
from shotwindow.doe.study import Study, read_study
from shotwindow.doe.study_checks import factor_problems, preference_problems
from shotwindow.models.edge_curves import EdgeCurve, find_curves
from shotwindow.models.enough_marks import find_both
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.holding import Holding, as_held, find_holdings
from shotwindow.models.limiting import Limit, find_limits
from shotwindow.models.margins import Edge, find_edges
from shotwindow.models.parts import Part, connected_parts
from shotwindow.models.setpoint import (
    Ranges,
    Setpoint,
    best_mark,
    find_ranges,
    find_setpoint,
)
from shotwindow.models.surface import Surfaces, fit_surfaces
from shotwindow.models.window import Region, Window, tried_region
from shotwindow.reports.grading import GradingCheck, read_checks
from shotwindow.reports.narrow import Narrow, find_narrow
from shotwindow.reports.priors import MOLDING, has_directions, other_prior

if TYPE_CHECKING:  # it imports this module
    from shotwindow.reports.plain_fit import PlainFit

#: Readings times squared terms from which a second fit would take longer than the rest of a page.
LARGE = 40_000


@dataclass(frozen=True)
class Findings:
    """All that one set of draws says of a study.

    Attributes
    ----------
    study : Study
        Its marks thinned out where there are more than a window needs.
    rows : tuple of Row
        All shots in running order, fitted or not.
    readings : Readings
        The fitted ones.
    seed : int
        Of the draws.
    prior : str
        What the surfaces were told before the shots: one of `PRIORS`.
    surfaces : Surfaces
    goodness : Goodness
    region : Region
    window : Window or None
        None where the fit did not converge; so is everything below.
    setpoint : Setpoint or None
        None where no mark reaches the wanted share of good shots.
    ranges : Ranges or None
    edges : tuple of Edge
        Around the setpoint; empty without one.
    plain : Setpoint or None
        The setpoint if nothing were preferred; None where nothing is.
    parts : tuple of Part
        Of the likely window, the largest first.
    limits : tuple of Limit
        What each response keeps out of the window.
    curves : tuple of EdgeCurve
        The edges around the setpoint over the other factors; empty without one.
    holdings : tuple of Holding
        How the factors were held of which enough actual readings were taken.
    narrow : Narrow or None
        Why no mark can be held in the window, and what would help; None where one can be, or
        where not even a setting between the marks is good.
    fingerprint : str
        SHA-256 of study.toml and runs.csv, so that a report can be told from one of other data.
    gradings : tuple of GradingCheck
        How far second persons agree with the readings.
    """

    study: Study
    rows: tuple[Row, ...]
    readings: Readings
    seed: int
    prior: str
    surfaces: Surfaces
    goodness: Goodness
    region: Region
    window: Window | None
    setpoint: Setpoint | None
    ranges: Ranges | None
    edges: tuple[Edge, ...]
    plain: Setpoint | None
    parts: tuple[Part, ...]
    limits: tuple[Limit, ...]
    curves: tuple[EdgeCurve, ...]
    holdings: tuple[Holding, ...]
    narrow: Narrow | None
    fingerprint: str
    gradings: tuple[GradingCheck, ...] = ()

    @cached_property
    def beside(self) -> Surfaces | None:
        """The same shots fitted with the other prior, when first asked for.

        None for a study so large that a second fit would take longer than all the rest; there the
        shots outweigh the prior.
        """
        terms = len(self.surfaces.fill.terms)
        if self.readings.fill_low.size * terms**2 > LARGE:
            return None
        signs = has_directions(other_prior(self.prior))
        return fit_surfaces(self.readings, seed=self.seed, signs=signs)

    @cached_property
    def least_squares(self) -> "dict[str, PlainFit | None]":
        """The textbook's fit of fill and flash, when first asked for; None where there is none."""
        from shotwindow.reports.plain_fit import plain_fit  # which imports this module

        return {response: plain_fit(self, response) for response in ("fill", "flash")}

    @property
    def best(self) -> tuple[int, ...] | None:
        """Mark of the setpoint, or else the one with the most good shots; None without any."""
        if self.setpoint is not None:
            return self.setpoint.mark
        return None if self.window is None else best_mark(self.window)

    @property
    def best_settings(self) -> tuple[float, ...]:
        """Settings of `best`, or the middle of what was tried."""
        if self.best is None:
            middle = (self.region.low + self.region.high) / 2
            return tuple(float(f.snap(v)) for f, v in zip(self.study.factors, middle, strict=True))
        return tuple(float(f.marks[m]) for f, m in zip(self.study.factors, self.best, strict=True))

    def _repr_html_(self) -> str:
        """Return what a notebook shows."""
        from shotwindow.reports.notebook import findings_html  # which draws: slow

        return findings_html(self)

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        """Print what `window` prints, where a notebook or an IPython shell shows only text."""
        from shotwindow.reports.words import window_lines

        printer.text("\n".join(window_lines(self)))


def read_findings(
    folder: Path,
    *,
    seed: int = 1,
    prior: str = MOLDING,
    prefer: str | None = None,
    curve: str | None = None,
) -> Findings:
    """Read a study and what was shot of it, and find everything in it.

    Parameters
    ----------
    folder : Path
    seed, prior
        See `find`.
    prefer : str, optional
        In place of what study.toml prefers.
    curve : str, optional
        See `find`.

    Returns
    -------
    Findings
        As the last line of a notebook's cell it shows itself.

    Raises
    ------
    StudyError
        With everything that is wrong in the study or its runs, or if no shot has a result.
    Unanswerable
        If there is nothing over which the edges of `curve` could be drawn.
    """
    study = read_study(folder)
    problems = []
    if prefer is not None:
        problems += preference_problems(study.factors, prefer, "--prefer")
    if curve is not None:
        problems += factor_problems(study.factors, curve, "--curve")
    if problems:
        raise StudyError(problems)
    if prefer is not None:
        study = replace(study, prefer=prefer)
    rows = read_runs(folder, study)
    runs = folder / "runs.csv"
    told = (folder / "study.toml").read_bytes() + (runs.read_bytes() if runs.exists() else b"")
    found = find(study, rows, seed=seed, prior=prior, mark=fingerprint(told), curve=curve)
    if curve is not None and found.setpoint is not None and not found.curves:
        needed = "it and a second setting have to vary in the shots; leave out --curve"
        raise Unanswerable(f"the edges of {curve} cannot be drawn as curves: {needed}")
    return replace(found, gradings=read_checks(folder, study))


def find(
    study: Study,
    rows: tuple[Row, ...],
    *,
    seed: int = 1,
    prior: str = MOLDING,
    mark: str = "",
    curve: str | None = None,
) -> Findings:
    """Fit the surfaces and find window, setpoint, ranges and edges.

    Parameters
    ----------
    study : Study
    rows : tuple of Row
    seed : int, optional
        The same seed gives the same numbers.
    prior : str, optional
        What is believed before the shots: one of `PRIORS`.
    mark : str, optional
        Fingerprint of the data.
    curve : str, optional
        Factor whose edges are drawn over the others; else the one that acts as pressure.

    Raises
    ------
    StudyError
        If no shot has a result.
    """
    seen = readings(study, rows)
    surfaces = fit_surfaces(seen, seed=seed, signs=has_directions(prior))
    good = goodness(surfaces)
    region = tried_region(seen)
    holdings = find_holdings(study.factors, rows)
    study = replace(study, factors=as_held(study.factors, holdings))
    window, setpoint = None, None
    if surfaces.converged:
        window, setpoint = find_both(study, seen, good, region)
        study = replace(study, factors=window.factors)
    return Findings(
        study=study,
        rows=rows,
        readings=seen,
        seed=seed,
        prior=prior,
        surfaces=surfaces,
        goodness=good,
        region=region,
        window=window,
        setpoint=setpoint,
        ranges=find_ranges(window, setpoint) if window and setpoint else None,
        edges=find_edges(good, setpoint, region, study.good_from) if setpoint else (),
        plain=find_setpoint(window, good) if window and study.prefer else None,
        parts=connected_parts(window.likely, window.probability_in_window) if window else (),
        limits=find_limits(window, good) if window else (),
        curves=find_curves(good, setpoint, region, study.good_from, curve) if setpoint else (),
        holdings=holdings,
        narrow=find_narrow(window, good, setpoint) if window else None,
        fingerprint=mark,
    )
