"""What several teams found -> one class: their windows on common ground, and beside the truth."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.models.press import Press
from shotwindow.models.scoring import Score, true_share_good
from shotwindow.reports.findings import Findings
from shotwindow.reports.slices import map_axes

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

PLACES = 61  # along each axis of a map
FINER = 4  # times as many places where areas are counted, so that their rims are no stairs
LIKELY, SURE = 0.5, 0.9


@dataclass(frozen=True)
class Team:
    """One team: what it spent, what it found, and how near that is to the truth.

    Attributes
    ----------
    name : str
    plan : str
        Kind of its plan; empty where there is none.
    shots : int
        Made, warm-up shots too.
    minutes : float
        That these take at a press.
    left : int
        Shots of the plan that are still to be made.
    remarks : tuple of str
        Whatever has to be said about its folder, a sentence each.
    found : Findings or None
        None where the folder gives no answer; a remark says why.
    press : Press or None
        The simulated press that it shot on; None for a real one, or where the truth is not told.
    made_by : str
        What that press is called; empty without it.
    score : Score or None
        None without a press or a window.
    """

    name: str
    plan: str = ""
    shots: int = 0
    minutes: float = 0.0
    left: int = 0
    remarks: tuple[str, ...] = ()
    found: Findings | None = None
    press: Press | None = None
    made_by: str = ""
    score: Score | None = None


@dataclass(frozen=True)
class Classroom:
    """Teams on common ground.

    Attributes
    ----------
    title : str
    teams : tuple of Team
        All of them; each goes by its place in this order, from 1.
    told : bool
        Whether the truth about the press is told.
    factors : tuple of Factor
        With the widest range that a team has; empty where no team found a window.
    at : tuple of float
        The middle of the setpoints, on a mark: what a common map keeps the other factors at.
    """

    title: str
    teams: tuple[Team, ...]
    told: bool
    factors: tuple[Factor, ...]
    at: tuple[float, ...]

    @property
    def axes(self) -> tuple[int, ...]:
        """The factors of the map, the horizontal one first."""
        return map_axes(self.factors)

    @property
    def drawn(self) -> tuple[tuple[int, Team, Findings], ...]:
        """Number, team and findings of those with a window over these factors."""
        return tuple(
            (number, team, team.found)
            for number, team in enumerate(self.teams, 1)
            if team.found is not None and _kind(team.found) == _named(self.factors)
        )

    @property
    def press(self) -> Press | None:
        """The press of the class; None where the truth is not told, or each team has its own."""
        told = [team.press for _, team, _ in self.drawn]
        presses = [replace(press, factors=self.factors) for press in told if press is not None]
        same = presses and len(presses) == len(told) and all(p == presses[0] for p in presses)
        return presses[0] if same else None


def classroom(title: str, teams: Sequence[Team], *, told: bool) -> Classroom:
    """Put teams on common ground: the factors of the first one that found a window.

    Teams with other factors stay in the tables and are not drawn.
    """
    found = [t.found for t in teams if t.found is not None and t.found.window is not None]
    alike = [one for one in found if _kind(one) == _kind(found[0])]
    if not alike:
        return Classroom(title, tuple(teams), told, (), ())
    factors = tuple(
        _widest(column) for column in zip(*(f.study.factors for f in alike), strict=True)
    )
    with_point = [one for one in alike if one.setpoint is not None] or alike
    middle = np.median([one.best_settings for one in with_point], axis=0)
    at = tuple(float(f.snap(v)) for f, v in zip(factors, middle, strict=True))
    return Classroom(title, tuple(teams), told, factors, at)


def _kind(found: Findings) -> tuple[tuple[str, str, str], ...]:
    return _named(found.study.factors) if found.window is not None else ()


def _named(factors: Sequence[Factor]) -> tuple[tuple[str, str, str], ...]:
    return tuple((factor.name, factor.unit, factor.reads) for factor in factors)


def _widest(factors: Sequence[Factor]) -> Factor:
    """Return the first of several tables of one factor with the range of all of them."""
    return replace(factors[0], low=min(f.low for f in factors), high=max(f.high for f in factors))


@dataclass(frozen=True)
class Ground:
    """Settings over the map of a class, all other factors kept.

    Attributes
    ----------
    places : tuple of ndarray, shape (n,)
        Values along each of the two axes.
    settings : ndarray, shape (n * n, k)
    """

    places: tuple[Array, Array]
    settings: Array

    @property
    def finer(self) -> "tuple[Array, Array]":
        """The places with `FINER` times as many steps in between."""
        across, up = (np.linspace(p[0], p[-1], FINER * (len(p) - 1) + 1) for p in self.places)
        return across, up

    def refined(self, field: Array) -> Array:
        """Return a field over the map at the finer places, straight in between."""
        old, new = self.places, self.finer
        wide = np.array([np.interp(new[0], old[0], row) for row in field])
        return np.array([np.interp(new[1], old[1], column) for column in wide.T]).T

    def shaped(self, values: NDArray[Any]) -> NDArray[Any]:
        """Return values (n * n,) as a map, rows upward."""
        return values.reshape(len(self.places[1]), len(self.places[0]))


def ground(room: Classroom, at: Sequence[float]) -> Ground:
    """Return the settings of a map with the other factors at some setting; needs two factors."""
    across, up = (np.linspace(room.factors[j].low, room.factors[j].high, PLACES) for j in room.axes)
    grids = np.meshgrid(across, up)
    settings = np.tile(np.array(at), (grids[0].size, 1))
    for j, grid in zip(room.axes, grids, strict=True):
        settings[:, j] = grid.ravel()
    return Ground((across, up), settings)


def in_window(found: Findings, settings: Array) -> Array:
    """Return the chance that settings (n, k) are in a team's window, (n,).

    It is not a number where the team has no answer.
    """
    chances = np.full(len(settings), np.nan)
    answered = found.region.holds(settings) & found.study.allowed(settings)
    if answered.any():
        shares = found.goodness.shares(settings[answered])
        chances[answered] = (shares >= found.study.good_from).mean(axis=1)
    return chances


def true_chance(found: Findings, press: Press, settings: Array) -> Array:
    """Return the true share of good shots at settings (n, k), by the limits of a team's study."""
    return true_share_good(press, found.study, settings)
