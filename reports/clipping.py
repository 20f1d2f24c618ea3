"""Findings -> where and why least squares on clipped readings puts the edges wrong, in numbers."""

from dataclasses import dataclass
from math import isinf

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import coded_settings
from shotwindow.models.scales import fill_percent, flash_width
from shotwindow.reports.crossings import crossing
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import plural, spoken
from shotwindow.reports.plain_fit import (
    PlainFit,
    only_words,
    plain_crossing,
    plain_surface,
    worst_readings,
)
from shotwindow.reports.questions import Cell, Question
from shotwindow.reports.slices import map_axes

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Clipped:
    """How many shots of a response read no more than an end of the scale."""

    shots: int
    of: int
    taken_as: float


def clipped(found: Findings, response: str) -> Clipped:
    """Count the shots whose worst cavity is full, or without flash that could be seen."""
    readings = found.readings
    worst = worst_readings(readings, response)
    seen = int(np.isfinite(worst).sum())
    end = readings.fill_good if response == "fill" else 0.0
    if only_words(found, response):
        return Clipped(len(worst), len(worst), end)
    at_end = worst >= end if response == "fill" else worst <= end
    return Clipped(int(at_end.sum()), seen, end)


def clipping_question(found: Findings) -> Question:
    """Set the edges of least squares beside ours, and say what clipping does to them."""
    factor = found.study.factors[map_axes(found.study.factors)[0]]
    asked = (
        f"Why does least squares put the edges elsewhere along {spoken(factor.name)} "
        f"({factor.unit})?"
    )
    said: list[str] = []
    rows: list[tuple[Cell, ...]] = []
    for response in ("fill", "flash"):
        plain = found.least_squares[response]
        cut = clipped(found, response)
        if response == "flash" and found.readings.flash_grade is not None:
            said.append("Flash was graded, so its readings are words in order and not clipped.")
            continue
        said.append(_count_words(found, response, cut))
        if plain is not None:
            said += _why(found, plain, cut)
            rows.append(_edge_row(found, plain))
    heads = ("edge", "ours", "least squares")
    return Question(asked, tuple(said), heads if rows else (), tuple(rows))


def _count_words(found: Findings, response: str, cut: Clipped) -> str:
    if only_words(found, response):
        return "Parts were called full or short only: every fill reading is clipped at one end."
    unit = "%" if response == "fill" else f" {found.study.flash.unit}"
    what = "are full" if response == "fill" else "show no flash"
    takes = f"{cut.taken_as:g}{unit}"
    if cut.shots == 0:
        return f"None of {plural(cut.of, 'shot')} {what}: no reading of {response} is clipped."
    one = "is" if response == "fill" else "shows"
    verb = what if cut.shots > 1 else f"{one} {what.split(' ', 1)[1]}"
    least = "at least" if response == "fill" else "less than can be seen, however much less:"
    tail = f"{least} {takes}" if response == "fill" else "only that it is too little to see"
    return (
        f"{cut.shots} of {plural(cut.of, 'shot')} {verb}. Such a reading says {tail}; least "
        f"squares takes it as {takes} exactly."
    )


def _why(found: Findings, plain: PlainFit, cut: Clipped) -> list[str]:
    if cut.shots == 0:
        return []
    way = (
        "So its surface is held down where parts are full, and comes out too flat"
        if plain.response == "fill"
        else "So its surface is held up where nothing shows, and comes out too flat"
    )
    here = _at_best(found, plain)
    return [f"{way}.{here}"]


def _at_best(found: Findings, plain: PlainFit) -> str:
    """Say what both expect at the setpoint, or where the most shots are good."""
    if found.best is None:
        return ""
    settings = np.array([found.best_settings])
    theirs = float(plain_surface(plain, coded_settings(found.study.factors, settings))[0])
    surface = found.surfaces.fill if plain.response == "fill" else found.surfaces.flash
    latent = (surface.latent(settings) + surface.worst(settings))[0]
    where = "At the setpoint" if found.setpoint is not None else "Where the most shots are good"
    if plain.response == "fill":
        ours = float(fill_percent(np.median(latent)))
        flow = f"melt enough for {ours:.3g} %"
        return f" {where} it expects {theirs:.3g} % fill in the worst cavity; ours, {flow}."
    scale = found.study.flash
    ours, unit = float(np.median(flash_width(latent, scale.good, surface.power))), scale.unit
    return f" {where} it expects {theirs:.2g} {unit} of flash; ours {ours:.2g}."


def _edge_row(found: Findings, plain: PlainFit) -> tuple[Cell, ...]:
    j = map_axes(found.study.factors)[0]
    factor = found.study.factors[j]
    surface = found.surfaces.fill if plain.response == "fill" else found.surfaces.flash
    ours, theirs = crossing(found, surface, j).middle, plain_crossing(found, plain, j)
    name = "full from" if plain.response == "fill" else "flash over the limit from"
    found_at = (None if at is None or isinf(at) else at for at in (ours, theirs))
    return (
        name,
        *("beyond" if at is None else factor.text(round(at / factor.step, 1) * factor.step)
          for at in found_at),
    )  # fmt: skip
