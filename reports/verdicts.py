"""Findings -> what they come down to: the margins of the setpoint, and one verdict."""

from dataclasses import dataclass
from math import floor

import numpy as np

from shotwindow.models.margins import Edge
from shotwindow.models.window import SURE
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import (
    WORDS_OF,
    chance,
    listed,
    percent,
    setting_words,
    spoken,
    with_unit,
)
from shotwindow.reports.narrow import Narrow, Remedy
from shotwindow.reports.own_marks import marks_along, own_place

MAY_BE = 0.1  # chance of lying in the window from which more shots are worth while
HEADROOM = 0.1  # of the limit of a pressure, to be left above the setpoint (common practice)
NOTHING = 0.005  # chance of a good shot below which there is as good as none


@dataclass(frozen=True)
class Margin:
    """How far the setpoint is from an edge along one factor, the others at the setpoint.

    Attributes
    ----------
    factor, side : str
    response : str or None
        What fails first there; None where no draw has an edge.
    distance : float or None
        To the median edge, in the factor's unit; None where that lies beyond what was tried.
    marks : int or None
        How many whole marks fit in between.
    sure_marks : int
        How many marks on that way stay in the sure window, one after the other.
    tried : float
        Distance to the end of what was tried.
    scatters : float or None
        The distance in standard deviations of a new shot.
    """

    factor: str
    side: str
    response: str | None
    distance: float | None
    marks: int | None
    sure_marks: int
    tried: float
    scatters: float | None = None


def margins(found: Findings) -> tuple[Margin, ...]:
    """Return the margin toward each edge; none without a setpoint."""
    return tuple(_margin(found, edge) for edge in found.edges)


def _margin(found: Findings, edge: Edge) -> Margin:
    assert found.setpoint is not None  # edges lie around one
    j = found.study.names.index(edge.factor)
    (factor, chances), here = marks_along(found, j), found.setpoint.settings[j]
    is_low = edge.side == "low"
    end = max(factor.low, found.region.low[j]) if is_low else min(factor.high, found.region.high[j])
    distance = None if edge.median is None else abs(edge.median - here)
    sure, at = chances >= SURE, own_place(found)[j]
    way = sure[at::-1] if is_low else sure[at:]
    return Margin(
        factor=edge.factor,
        side=edge.side,
        response=edge.response,
        distance=distance,
        marks=None if distance is None else floor(distance / factor.step + 1e-6),
        sure_marks=max(0, int(np.argmin(np.append(way, False))) - 1),
        tried=float(abs(end - here)),
        scatters=edge.scatters,
    )


def verdict(found: Findings) -> str:
    """Return the answer in a sentence or two."""
    parts = [_main_verdict(found), _headroom(found), _edges_verdict(found)]
    return " ".join(part for part in parts if part)


def _main_verdict(found: Findings) -> str:
    if found.window is None:
        return fit_failed(found)
    if found.narrow is not None:
        return narrow_words(found.narrow, found.study.good_from)
    if found.setpoint is None:
        return _none_good(found)
    where = setting_words(found.study.factors, found.setpoint.settings)
    held = chance(found.setpoint.probability_held)
    return f"Run at {where}: the chance of a good shot stays at {held} over what the press holds."


def _headroom(found: Findings) -> str:
    """Return that too little pressure is left above the setpoint; common practice, no source."""
    if found.setpoint is None:
        return ""
    missing = [
        f"{spoken(f.name)} {f.text(value)} of {with_unit(f, f.limits[1])}"
        for f, value in zip(found.study.factors, found.setpoint.settings, strict=True)
        if f.role == "pressure" and value > (1.0 - HEADROOM) * f.limits[1] + 1e-9
    ]
    if not missing:
        return ""
    return (
        f"{100 * HEADROOM:g} % pressure headroom is missing: it takes {listed(missing)}, the limit "
        "in study.toml; little is left when material or heat drift."
    )


def fit_failed(found: Findings) -> str:
    """Return that the draws cannot be used, and for which surface."""
    failed = [s.response for s in found.surfaces.each if not s.diagnostics.converged]
    return (
        f"The fit of {listed(failed)} did not converge, so that no window is given. Look for a "
        "mistyped reading first, then try another --seed; if both change nothing, a few more "
        "shots near the edge that is in doubt will help."
    )


def _none_good(found: Findings) -> str:
    assert found.window is not None
    wanted = f"No setting reaches {found.study.good_from:g}"
    if found.best is None:
        return f"{wanted}: no mark that may be set lies where shots were made."
    chances = float(found.window.probability_good[found.best])
    if chances < NOTHING:
        return f"{wanted}: nowhere in what was tried are good shots to be expected. {_way(found)}"
    where = setting_words(found.study.factors, found.best_settings)
    return f"{wanted}: the best is {chance(chances)} at {where}. {_way(found)}"


def _way(found: Findings) -> str:
    """Return what would lead on from the best mark, if anything is seen that would."""
    assert found.window is not None and found.best is not None
    inside = float(found.window.probability_in_window[found.best])
    if inside >= MAY_BE:
        return (
            f"It may yet lie in the window (chance {chance(inside)}): more shots around it would "
            "tell."
        )
    here = np.array([found.best_settings])
    shares = {
        curve.surface.response: min(float(s.mean()) for s in curve.shares(here))
        for curve in found.goodness.curves
    }
    failing = [response for response, share in shares.items() if share < found.study.good_from]
    if len(failing) == 1:
        return _WAYS[failing[0]]
    names = listed([WORDS_OF[response] for response in failing or shares])
    return (
        f"There {names} meet, with no room between: another setting, more even cavities or less "
        "scatter would have to open it."
    )


_WAYS = {
    "fill": "What fails there is short: try beyond the high ends of pressure, heat or time.",
    "flash": "What fails there is flash: try below the low ends of pressure, heat or time.",
    "other": "What fails there are other rejects: look at their cause first.",
}


def _edges_verdict(found: Findings) -> str:
    if found.window is None:
        return ""
    if set(found.window.open_edges) == {"fill", "flash"}:
        return (
            "No shot was short and none flashed over the limit: no edge was seen, and where the "
            "window ends is unknown."
        )
    sentences = {
        "fill": "No shot was short: where the window ends on the short side is unknown.",
        "flash": "No shot flashed over the limit: where the window ends on the flash side is "
        "unknown.",
    }
    return " ".join(sentences[response] for response in found.window.open_edges)


def narrow_words(narrow: Narrow, good_from: float) -> str:
    """Return that the window cannot be held, where it lies, and what would help."""
    tight = narrow.tight
    names = f"{spoken(tight.name)} held to +/-{tight.holds:g} {tight.unit}"
    place = with_unit(tight, narrow.tight_setting)
    lies = f"{place}, between two marks," if narrow.between else place
    return (
        f"Narrower than your gauge can hold: {lies} would give {chance(narrow.probability_good)} "
        f"good shots, but with {names} it can fall to {chance(narrow.probability_held)}, below "
        f"{good_from:g}. {_help(narrow)}"
    )


def _help(narrow: Narrow) -> str:
    would = [_remedy_words(remedy) for remedy in narrow.remedies]
    if would:
        helps = f"What would help: {listed(would, 'or')}."
    else:
        helps = "No single factor set or held more finely would be enough."
    for factor, end in narrow.wider:
        last = factor.low if end == "low" else factor.high
        way = "below" if end == "low" else "above"
        helps += (
            f" The good stretch of {spoken(narrow.tight.name)} still grows toward {end} "
            f"{spoken(factor.name)}: try {way} {with_unit(factor, last)}."
        )
    return helps


def _remedy_words(remedy: Remedy) -> str:
    factor = remedy.factor
    hold = f"+/-{remedy.holds:g} {factor.unit}"
    if remedy.step == factor.step:
        return f"holding {spoken(factor.name)} to {hold}"
    return (
        f"setting {spoken(factor.name)} in steps of {remedy.step:g} {factor.unit}, held to {hold}"
    )


def share_words(found: Findings) -> tuple[str, str]:
    """Return the shares of the likely and the sure window in percent."""
    assert found.window is not None
    return percent(found.window.share_likely), percent(found.window.share_sure)


def fails_as(response: str | None) -> str:
    """Return what goes wrong beyond an edge."""
    return WORDS_OF.get(response or "", "no edge")
