"""A study and its shots -> everything found in them, as one value for all outputs."""

from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from shotwindow.doe.errors import StudyError, Unanswerable
from shotwindow.doe.rows import Row
from shotwindow.doe.study import Study, read_study
from shotwindow.doe.study_checks import factor_problems, preference_problems
from shotwindow.models.edge_curves import EdgeCurve, find_curves
from shotwindow.models.enough_marks import find_both
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
from shotwindow.models.window import Window
from shotwindow.reports.fitted import Fitted, fit_shots, read_fitted
from shotwindow.reports.narrow import Narrow, find_narrow
from shotwindow.reports.priors import MOLDING


@dataclass(frozen=True, kw_only=True)
class Findings(Fitted):
    """All that one set of draws says of a study.

    Attributes
    ----------
    window : Window or None
        Over fewer marks than the study has, where there are more than a window needs. None where
        the fit did not converge; so is everything below.
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
    narrow : Narrow or None
        Why no mark can be held in the window, and what would help; None where one can be, or
        where not even a setting between the marks is good.
    """

    window: Window | None
    setpoint: Setpoint | None
    ranges: Ranges | None
    edges: tuple[Edge, ...]
    plain: Setpoint | None
    parts: tuple[Part, ...]
    limits: tuple[Limit, ...]
    curves: tuple[EdgeCurve, ...]
    narrow: Narrow | None

    @property
    def best(self) -> tuple[int, ...] | None:
        """Mark of the setpoint, or else the one with the most good shots; None without any."""
        if self.setpoint is not None:
            return self.setpoint.mark
        return None if self.window is None else best_mark(self.window)

    @property
    def best_settings(self) -> tuple[float, ...]:
        """Settings of `best`, or the middle of what was tried."""
        if self.window is None or self.best is None:
            middle = (self.region.low + self.region.high) / 2
            return tuple(float(f.snap(v)) for f, v in zip(self.study.factors, middle, strict=True))
        return self.window.settings_of_mark(self.best)

    @property
    def range_ends(self) -> tuple[tuple[float, float], ...]:
        """First and last setting of each factor's range; empty without ranges."""
        if self.window is None or self.ranges is None:
            return ()
        low, high = (self.window.settings_of_mark(m) for m in (self.ranges.low, self.ranges.high))
        return tuple(zip(low, high, strict=True))

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
    found = find_in(read_fitted(folder, study, seed=seed, prior=prior), curve=curve)
    if curve is not None and found.setpoint is not None and not found.curves:
        needed = "it and a second setting have to vary in the shots; leave out --curve"
        raise Unanswerable(f"the edges of {curve} cannot be drawn as curves: {needed}")
    return found


def find(
    study: Study,
    rows: tuple[Row, ...],
    *,
    seed: int = 1,
    prior: str = MOLDING,
    mark: str = "",
) -> Findings:
    """Fit the surfaces and find window, setpoint, ranges and edges: see `fit_shots`."""
    return find_in(fit_shots(study, rows, seed=seed, prior=prior, mark=mark))


def find_in(fitted: Fitted, *, curve: str | None = None) -> Findings:
    """Find window, setpoint, ranges and edges.

    Parameters
    ----------
    fitted : Fitted
    curve : str, optional
        Factor whose edges are drawn over the others; else the one that acts as pressure.
    """
    study, good, region = fitted.study, fitted.goodness, fitted.region
    window, setpoint = None, None
    if fitted.surfaces.converged:
        window, setpoint = find_both(study, fitted.readings, good, region)
    return Findings(
        **{field.name: getattr(fitted, field.name) for field in fields(Fitted)},
        window=window,
        setpoint=setpoint,
        ranges=find_ranges(window, setpoint) if window and setpoint else None,
        edges=find_edges(good, setpoint, region, study.good_from) if setpoint else (),
        plain=find_setpoint(window, good) if window and study.prefer else None,
        parts=connected_parts(window.likely, window.probability_in_window) if window else (),
        limits=find_limits(window, good) if window else (),
        curves=find_curves(good, setpoint, region, study.good_from, curve) if setpoint else (),
        narrow=find_narrow(study.factors, window, good, setpoint) if window else None,
    )
