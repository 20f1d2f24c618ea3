"""A study and its shots -> the surfaces fitted to them, before any window is looked for."""

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from shotwindow.doe.readings import Readings, readings
from shotwindow.doe.rows import Row
from shotwindow.doe.runs import read_runs
from shotwindow.doe.store import fingerprint
from shotwindow.doe.study import Study
from shotwindow.models.goodness import Goodness, goodness
from shotwindow.models.holding import Holding, as_held, find_holdings
from shotwindow.models.surface import Surfaces, fit_surfaces
from shotwindow.models.window import Region, tried_region
from shotwindow.reports.grading import GradingCheck, read_checks
from shotwindow.reports.priors import MOLDING, has_directions, other_prior

if TYPE_CHECKING:  # it imports this module
    from shotwindow.reports.plain_fit import PlainFit

#: Readings times squared terms from which a second fit would take longer than the rest of a page.
LARGE = 40_000


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """All that one set of draws says of the shots; what hangs on no window.

    Attributes
    ----------
    study : Study
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
    holdings : tuple of Holding
        How the factors were held of which enough actual readings were taken.
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
    holdings: tuple[Holding, ...]
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


def read_fitted(folder: Path, study: Study, *, seed: int = 1, prior: str = MOLDING) -> Fitted:
    """Read what was shot of a study, and fit it.

    Parameters
    ----------
    folder : Path
    study : Study
        As read from the folder.
    seed, prior
        See `fit_shots`.

    Raises
    ------
    StudyError
        With everything that is wrong in the runs or the grading checks, or if no shot has a result.
    """
    rows, gradings = read_runs(folder, study), read_checks(folder, study)
    runs = folder / "runs.csv"
    told = (folder / "study.toml").read_bytes() + (runs.read_bytes() if runs.exists() else b"")
    fitted = fit_shots(study, rows, seed=seed, prior=prior, mark=fingerprint(told))
    return replace(fitted, gradings=gradings)


def fit_shots(
    study: Study,
    rows: tuple[Row, ...],
    *,
    seed: int = 1,
    prior: str = MOLDING,
    mark: str = "",
) -> Fitted:
    """Fit the surfaces.

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

    Raises
    ------
    StudyError
        If no shot has a result.
    """
    seen = readings(study, rows)
    surfaces = fit_surfaces(seen, seed=seed, signs=has_directions(prior))
    holdings = find_holdings(study.factors, rows)
    return Fitted(
        study=replace(study, factors=as_held(study.factors, holdings)),
        rows=rows,
        readings=seen,
        seed=seed,
        prior=prior,
        surfaces=surfaces,
        goodness=goodness(surfaces),
        region=tried_region(seen),
        holdings=holdings,
        fingerprint=mark,
    )
