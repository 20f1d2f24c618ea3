"""A table of settings -> what a new shot would be at each of them."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.cells import Wrong, read_real
from shotwindow.doe.columns import heading_key
from shotwindow.doe.errors import Problem, StudyError
from shotwindow.doe.factors import Factor
from shotwindow.doe.seeds import generator
from shotwindow.doe.study import Study
from shotwindow.doe.tables import Cell, Table, read_table
from shotwindow.models.scales import fill_percent, flash_width
from shotwindow.models.surface import Surface
from shotwindow.reports.fitted import Fitted

Array = NDArray[np.float64]

LEVEL = 0.9  # of the interval in which a new shot is expected
REPEATS = 8  # new shots for each draw; their mean differs from endless ones by less than 1 %


@dataclass(frozen=True)
class Predicted:
    """A new shot: its median, and the ends between which nine of ten lie."""

    median: float
    low: float
    high: float


@dataclass(frozen=True)
class Point:
    """What is known of one setting.

    Attributes
    ----------
    settings : tuple of float, length k
    probability_good, probability_in_window : float or None
    fill : Predicted or None
        Percent of the least filled cavity, 100 for a full one.
    flash : Predicted or None
        Widest flash of all cavities in the study's unit, or its worst grade.
    reason : str
        Why there is no answer; "" where there is one.
    """

    settings: tuple[float, ...]
    probability_good: float | None = None
    probability_in_window: float | None = None
    fill: Predicted | None = None
    flash: Predicted | None = None
    reason: str = ""


def read_points(path: Path, study: Study) -> Array:
    """Return the settings (n, k) of a table with the factor columns of runs.csv.

    Raises
    ------
    StudyError
        With every column that is missing and every cell that holds no number.
    """
    table = read_table(path.name, path.read_bytes(), key=study.factors[0].label)
    places = _columns(table, study)
    problems: list[Problem] = []
    rows = [
        [
            _value(table, row, place, factor, problems)
            for place, factor in zip(places, study.factors, strict=True)
        ]
        for row in table.rows
    ]
    if problems:
        raise StudyError(problems)
    return np.array(rows, dtype=float).reshape(len(rows), len(study.factors))


def _columns(table: Table, study: Study) -> list[int]:
    """Return where each factor stands; its name alone will do where that is the heading."""
    where = {heading_key(cell.text): place for place, cell in enumerate(table.header)}
    found = [where.get(heading_key(f.label), where.get(heading_key(f.name))) for f in study.factors]
    missing = [
        Problem(
            f"{table.name}, row {table.header[0].row}",
            "no such column",
            f'a column "{factor.label}"',
            "head the columns as in runs.csv",
        )
        for factor, place in zip(study.factors, found, strict=True)
        if place is None
    ]
    if missing:
        raise StudyError(missing)
    return [place for place in found if place is not None]


def _value(
    table: Table, row: tuple[Cell, ...], place: int, factor: Factor, problems: list[Problem]
) -> float:
    cell = row[place] if place < len(row) else Cell("", row[0].row, place + 1)
    try:
        return read_real(cell, unit=factor.unit)
    except Wrong as wrong:
        heading = table.header[place].text
        problems.append(wrong.at(table.place(cell.row, heading, cell.column), cell))
        return np.nan


def predict_points(found: Fitted, settings: Array) -> tuple[Point, ...]:
    """Return what a new shot would be at each of settings (n, k), in order.

    A shot is taken at random from the posterior: a draw of the surface, a lot among those shot, a
    new temperature group, a new shot and what is left between its cavities. ``low`` and ``high``
    hold its worst cavity with a probability of 0.9.
    """
    reasons = [_reason(found, row) for row in settings]
    answered = np.array([not reason for reason in reasons], dtype=bool)
    inside = settings[answered]
    shares = found.goodness.shares(inside).astype(float) if len(inside) else np.zeros((0, 1))
    fill, flash = _new_shots(found, inside)
    chances = zip(
        shares.mean(axis=1),
        (shares >= found.study.good_from).mean(axis=1),
        fill,
        flash,
        strict=True,
    )
    points = []
    for row, reason in zip(settings, reasons, strict=True):
        place = tuple(float(value) for value in row)
        if reason:
            points.append(Point(place, reason=reason))
        else:
            good, in_window, filled, flashed = next(chances)
            points.append(Point(place, float(good), float(in_window), filled, flashed))
    return tuple(points)


def _reason(found: Fitted, settings: Array) -> str:
    """Return why a setting has no answer; "" where it has one."""
    if not found.surfaces.converged:
        return "the fit did not converge"
    for j, factor in enumerate(found.study.factors):
        low, high = found.region.low[j], found.region.high[j]
        if not low - 1e-6 * factor.step <= settings[j] <= high + 1e-6 * factor.step:
            ends = f"{factor.text(low)} to {factor.text(high)} {factor.unit}"
            return f"outside what was shot: {factor.name.replace('_', ' ')} was tried from {ends}"
    if not found.region.holds(settings[None, :])[0]:
        return "outside what was shot: no shot comes near this combination of settings"
    if not found.study.allowed(settings[None, :])[0]:
        return "an [[avoid]] rule of study.toml keeps this setting out"
    return ""


def _new_shots(found: Fitted, settings: Array) -> tuple[list[Predicted], list[Predicted]]:
    surfaces = found.surfaces
    fill = new_worst(surfaces.fill, settings, found.seed)
    flash = new_worst(surfaces.flash, settings, found.seed)
    limits = surfaces.flash.grade_limits
    if limits is None:
        seen = flash_width(flash, found.study.flash.good, surfaces.flash.power)
    else:  # a grade is the number of limits passed
        seen = (flash[..., None] > limits).sum(axis=-1).astype(float)
    return _intervals(np.minimum(fill_percent(fill), 100.0)), _intervals(seen)


def new_worst(
    surface: Surface, settings: Array, seed: int, lot: NDArray[np.int_] | None = None
) -> Array:
    """Latent value of the worst cavity of new shots, shape (n, REPEATS, draws).

    Parameters
    ----------
    surface : Surface
    settings : ndarray, shape (n, k)
    seed : int
    lot : ndarray of int, shape (n,), optional
        Number of the lot of each shot; any of those shot by default.
    """
    rng = generator(seed, "new shots", surface.response)
    draws, cavities = surface.cavity.shape
    size = (REPEATS, draws)
    any_lot = surface.lot[np.arange(draws), rng.integers(surface.lot.shape[1], size=size)]
    offset = any_lot[None] if lot is None else surface.lot.T[lot][:, None, :]
    shared = np.hypot(surface.shot_sd, surface.group_sd) * rng.standard_normal(size)
    rest = surface.rest_sd[:, None] * rng.standard_normal((*size, cavities))
    # (n or 1, repeats, draws, cavities)
    each = surface.offsets(settings)[:, None] + rest + shared[..., None]
    worst = each.min(axis=-1) if surface.above else each.max(axis=-1)
    return np.asarray(surface.latent(settings)[:, None, :] + worst + offset)


def _intervals(values: Array) -> list[Predicted]:
    """Return the median and the ends that hold 90 % of values (n, REPEATS, draws)."""
    if not len(values):
        return []
    # values that occurred: half of a grade does not exist
    quantiles = [0.5, (1 - LEVEL) / 2, (1 + LEVEL) / 2]
    flat = values.reshape(len(values), -1)
    ends = np.quantile(flat, quantiles, axis=1, method="inverted_cdf")
    return [Predicted(*(float(v) for v in column)) for column in ends.T]
