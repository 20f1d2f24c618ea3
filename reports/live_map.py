"""Findings -> the numbers and the script of a map to move about in, for one page that stands alone.

The page holds some of the stored draws, packed, and sums over them as the program does: what it
shows at a setting is what the program would say with the same draws.
"""

import json
from base64 import b64encode
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.factors import Factor
from shotwindow.doe.quantities import decimals
from shotwindow.models.cavity_shares import CUBE, FAR, LINE, NODES, WEIGHTS, CavityShares, reach_of
from shotwindow.models.goodness import REACH, Curve, Goodness
from shotwindow.reports.findings import Findings
from shotwindow.reports.naming import WORDS_OF, listed, spoken, unit_of
from shotwindow.reports.own_marks import own_place
from shotwindow.reports.slices import map_axes
from shotwindow.reports.theme import (
    INK,
    LIKELY_FILL,
    PAPER,
    SIDES,
    SURE_FILL,
    UNTRIED_COLOR,
    WINDOW_LINE,
)

MOST_DRAWS = 256  # enough for chances to 0.03, and small enough for a page
MOST_UNLIKE = 64  # where each cavity is looked at by itself, which takes a page much longer
BANDS = (0.5, 0.25, 0.75, 0.05, 0.95)  # the median of an edge, then the ends of both bands
SCRIPTS = ("live_numbers.js", "live_map.js")
#: How the hatches of `theme` lean, and the same as strokes on 22 by 14.
LEANS = {"fill": "down", "flash": "up", "other": "dots"}
_DOWN, _UP = "M0 0L14 14M8 0L22 14", "M0 14L14 0M8 14L22 0"
_UPRIGHT = "M4 0v14M11 0v14M18 0v14M0 4h22M0 11h22"
STROKES = {"down": _DOWN, "up": _UP, "upright": _UPRIGHT, "dots": "M5 7h3M14 7h3"}


@dataclass(frozen=True)
class Swatch:
    """One kind of area: its fill, the color and the strokes of its hatch, and what it means."""

    fill: str
    color: str
    strokes: str
    words: str


@dataclass(frozen=True)
class LiveMap:
    """What the page needs.

    Attributes
    ----------
    axes : str
        What the map is of; "" where there is only one factor, so that there is no map.
    names : tuple of str
        The factors.
    place : str
        Where it starts: "the setpoint" or "the best mark".
    key : tuple of Swatch
    draws : int
    data : Markup
        JSON that is safe within a page.
    script : Markup
    guard : str
        What a content security policy knows the script by.
    """

    axes: str
    names: tuple[str, ...]
    place: str
    key: tuple[Swatch, ...]
    draws: int
    data: Any
    script: Any
    guard: str


def live_map(found: Findings) -> LiveMap | None:
    """Return the map of a study; None where there is no mark to start from."""
    from markupsafe import Markup

    if found.best is None:
        return None
    data, axes = map_data(found), map_axes(found.study.factors)
    text = json.dumps(data, separators=(",", ":"), allow_nan=False)
    for sign in "&<>":  # nothing in a name can end the script
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    folder = files("shotwindow.reports")
    script = "".join(folder.joinpath(name).read_text("utf-8") for name in SCRIPTS)
    return LiveMap(
        axes=listed([spoken(found.study.names[j]) for j in axes]) if len(axes) > 1 else "",
        names=tuple(spoken(name) for name in found.study.names),
        place="the setpoint" if found.setpoint is not None else "the best mark",
        key=tuple(_key(found)),
        draws=data["draws"],
        data=Markup(text),
        script=Markup(script),
        guard=f"sha256-{b64encode(sha256(script.encode()).digest()).decode()}",
    )


def _key(found: Findings) -> Iterator[Swatch]:
    good = f"{100 * found.study.good_from:g} % good"
    yield Swatch(SURE_FILL, WINDOW_LINE, "", f"sure window: {good}, chance 0.9+")
    yield Swatch(LIKELY_FILL, WINDOW_LINE, "", f"likely window: {good}, chance 0.5+")
    for surface in found.surfaces.each:
        side = SIDES[surface.response]
        yield Swatch(PAPER, side.color, STROKES[LEANS[surface.response]], side.name)
    yield Swatch(PAPER, UNTRIED_COLOR, STROKES["upright"], "not tried or ruled out: no answer")


def some_draws(goodness: Goodness, most: int = MOST_DRAWS) -> Goodness:
    """Return the same with so many of the draws at the most, evenly spread over them."""
    unlike = any(isinstance(curve, CavityShares) for curve in goodness.curves)
    count = len(goodness.curves[0].width)
    most = min(most, count, MOST_UNLIKE if unlike else count)
    return goodness.of_draws(np.linspace(0, count - 1, most).round().astype(int))


def map_data(found: Findings) -> dict[str, Any]:
    """Return everything that the script counts and draws with."""
    assert found.best is not None
    study, region, few = found.study, found.region, some_draws(found.goodness)
    draws = len(few.curves[0].width)
    return {
        "factors": [_factor(found, j) for j in range(len(study.factors))],
        "axes": map_axes(study.factors),
        "start": own_place(found),
        "goodFrom": study.good_from,
        "draws": draws,
        "lots": few.curves[0].lots,
        "reach": REACH,
        "ranks": [int(np.quantile(np.arange(draws), q, method="nearest")) for q in BANDS],
        "curves": [_curve(curve) for curve in few.curves],
        "unlike": {
            "nodes": NODES.tolist(),
            "weights": WEIGHTS.tolist(),
            "far": FAR,
            "line": LINE,
            "cube": CUBE,
        },
        "region": {
            "low": region.low.tolist(),
            "high": region.high.tolist(),
            "center": region.center.tolist(),
            "root": region.root.tolist(),
            "reach": region.reach,
        },
        "rules": [
            [[study.names.index(name), *when] for name, when in rule.items()]
            for rule in study.avoid
        ],
        "look": _look(),
    }


def _factor(found: Findings, j: int) -> dict[str, Any]:
    factor, region = found.study.factors[j], found.region
    ends = (float(max(factor.low, region.low[j])), float(min(factor.high, region.high[j])))
    return {
        "name": spoken(factor.name),
        "unit": unit_of(factor),
        "bare": factor.unit,
        "low": factor.low,
        "high": factor.high,
        "step": factor.step,
        "limits": factor.limits,
        "log": factor.role in ("pressure", "time") and factor.low > 0,
        "marks": factor.marks.tolist(),
        "texts": [factor.text(mark) for mark in factor.marks],
        "places": decimals(factor.step) + 1,  # of an edge: a tenth of a mark
        "line": _line(factor, ends),
    }


def _line(factor: Factor, ends: tuple[float, float]) -> dict[str, float] | None:
    """Return where edges are looked for, as `find_edges` does; None for a factor that was held."""
    if not ends[0] < ends[1]:
        return None
    count = int(np.clip(10 * (factor.count - 1), 100, 400)) + 1
    return {"low": ends[0], "high": ends[1], "count": count}


def _curve(curve: Curve) -> dict[str, Any]:
    # the very numbers that the program counts with
    surface = curve.surface
    if isinstance(curve, CavityShares):
        scaled, offset, shared = curve.packed
        last = {
            "shared": _packed(shared),
            "cavities": surface.cavity.shape[1],
            "reach": reach_of(surface.cavity.shape[1]),
        }
    else:
        scaled, offset = curve.scaled
        last = {"curve": _packed(curve.curve)}
    return {
        "response": surface.response,
        "exponents": surface.terms.exponents,
        "scaled": _packed(scaled),
        "offset": _packed(offset),
        **last,
    }


def _packed(numbers: NDArray[np.float32]) -> str:
    """Return an array row by row as text: four bytes a number, the lowest first."""
    return b64encode(np.ascontiguousarray(numbers, dtype="<f4").tobytes()).decode()


def _look() -> dict[str, Any]:
    """Return inks and hatches, the same as in the other pictures."""
    return {
        "ink": INK,
        "paper": PAPER,
        "sure": SURE_FILL,
        "likely": LIKELY_FILL,
        "line": WINDOW_LINE,
        "untried": UNTRIED_COLOR,
        "sides": {
            name: {"name": WORDS_OF[name], "color": side.color, "lean": LEANS[name]}
            for name, side in SIDES.items()
        },
    }
