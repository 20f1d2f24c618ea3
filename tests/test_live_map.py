"""The map to move about in: its numbers are the program's, by its own script and counted by hand.

The page's data are read back and summed in the slow plain way, which needs nothing but Python;
where node is at hand, the page's own script does the same sums.
"""

import json
import shutil
import subprocess
from base64 import b64decode, b64encode
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from itertools import product
from math import exp, log, prod
from pathlib import Path
from struct import unpack
from typing import Any

import numpy as np
import pytest
from invented_shots import findings

from shotwindow.doe.factors import Factor
from shotwindow.models.goodness import ShareCurve, goodness
from shotwindow.models.margins import find_edges
from shotwindow.reports.findings import Findings
from shotwindow.reports.live_map import MOST_DRAWS, MOST_UNLIKE, live_map, map_data, some_draws

SCRIPT = Path(__file__).parent.parent / "reports" / "live_numbers.js"
Shares = list[list[float]]


def _marks(found: Findings) -> list[list[int]]:
    """Marks here and there over the study, ends included."""
    few = [sorted({0, f.count // 3, f.count // 2, f.count - 1}) for f in found.study.factors]
    return [list(marks) for marks in product(*few)]


def _settings(found: Findings) -> list[list[float]]:
    factors = found.study.factors
    return [
        [float(f.marks[m]) for f, m in zip(factors, marks, strict=True)] for marks in _marks(found)
    ]


def _with_lots(found: Findings) -> Findings:
    """The same with a third response and a second lot, which is worse in some draws only."""
    curves = tuple(
        replace(
            c, handicap=np.hstack([c.handicap, c.handicap + (-1) ** i * 0.3 * c.width[:, None]])
        )
        for i, c in enumerate((*found.goodness.curves, found.goodness.curves[1]))
        if isinstance(c, ShareCurve)
    )
    return replace(found, goodness=replace(found.goodness, curves=curves))


def _floats(text: str) -> list[float]:
    raw = b64decode(text)
    return list(unpack(f"<{len(raw) // 4}f", raw))


def _coded(factor: dict[str, Any], value: float) -> float:
    low, high = factor["low"], factor["high"]
    if factor["log"]:
        low, high, value = log(low), log(high), log(value)
    return float((2 * value - low - high) / (high - low))


def _shares(data: dict[str, Any], settings: list[float]) -> list[float]:
    """Share of good shots for each draw, one number after the other."""
    place = [_coded(f, v) for f, v in zip(data["factors"], settings, strict=True)]
    bad = [[1.0] * data["lots"] for _ in range(data["draws"])]
    for curve in data["curves"]:
        terms = [prod(x**p for x, p in zip(place, e, strict=True)) for e in curve["exponents"]]
        scaled, offset, powers = (_floats(curve[name]) for name in ("scaled", "offset", "curve"))
        size, degrees = len(terms), len(powers) // data["draws"]
        for d, lot in product(range(data["draws"]), range(data["lots"])):
            height = sum(scaled[d * size + t] * term for t, term in enumerate(terms))
            height += offset[d * data["lots"] + lot]
            height = min(data["reach"], max(-data["reach"], height))
            logit = sum(powers[d * degrees + p] * height**p for p in range(degrees))
            bad[d][lot] *= 1 + exp(-logit)
    return [1 / max(lots) for lots in bad]


def _by_hand(data: dict[str, Any], places: list[list[float]]) -> list[tuple[float, float]]:
    found = []
    for place in places:
        each = _shares(data, place)
        inside = sum(share >= data["goodFrom"] for share in each)
        found.append((sum(each) / len(each), inside / len(each)))
    return found


def _node(data: dict[str, Any], call: str, places: list[list[float]]) -> Any:
    """Return what a function of the page's script says at each place."""
    code = (
        f"const n = require({json.dumps(str(SCRIPT))});"
        'const { data, places } = JSON.parse(require("fs").readFileSync(0));'
        f"const m = n.model(data); console.log(JSON.stringify(places.map((p) => n.{call}(m, p))))"
    )
    told = json.dumps({"data": data, "places": places})
    done = subprocess.run(
        ["node", "-e", code], input=told, capture_output=True, text=True, check=True
    )
    return json.loads(done.stdout)


def _by_script(data: dict[str, Any], places: list[list[float]]) -> list[tuple[float, float]]:
    return [(one["good"], one["inWindow"]) for one in _node(data, "at", places)]


def _with_own_slopes(found: Findings) -> Findings:
    """The same with cavities that answer to the settings each in its own way."""
    fill, rng = found.surfaces.fill, np.random.default_rng(2)
    size = (*fill.cavity.shape, len(found.study.factors))
    fill = replace(fill, slope=rng.normal(0, 0.05, size), own_slopes=1.0)
    surfaces = replace(found.surfaces, fill=fill)
    return replace(found, surfaces=surfaces, goodness=goodness(surfaces))


Counter = Callable[[dict[str, Any], list[list[float]]], list[tuple[float, float]]]
HAS_NODE = shutil.which("node") is not None
COUNTERS: list[Counter] = [_by_hand, *([_by_script] if HAS_NODE else [])]


@pytest.mark.parametrize("counter", COUNTERS)
@pytest.mark.parametrize("name", ["map", "cube", "lots"])
def test_map_data__any_setting__the_programs_numbers(name: str, counter: Counter) -> None:
    found = _with_lots(findings("map")) if name == "lots" else findings(name)
    _same_numbers(found, counter)


@pytest.mark.skipif(not HAS_NODE, reason="needs node")
def test_map_data__cavities_with_slopes_of_their_own__the_programs_numbers() -> None:
    found = _with_own_slopes(findings("cube"))
    assert map_data(found)["draws"] == MOST_UNLIKE
    _same_numbers(found, _by_script)


def _same_numbers(found: Findings, counter: Counter) -> None:
    places = [
        place
        for place in _settings(found)
        if found.region.holds(np.array([place]))[0] and found.study.allowed([place])[0]
    ]
    assert len(places) > 8
    shares = some_draws(found.goodness).shares(np.array(places)).astype(float)
    told = np.array(counter(map_data(found), places))
    assert told[:, 0] == pytest.approx(shares.mean(axis=1), abs=1e-6)
    # single precision against double: a draw on the very limit may count on either side
    open_draws = (np.abs(shares - found.study.good_from) < 1e-5).mean(axis=1)
    off = np.abs(told[:, 1] - (shares >= found.study.good_from).mean(axis=1))
    assert (off <= open_draws + 1e-9).all()


Edges = Callable[[Findings, list[list[float]]], list[list[tuple[Any, ...]]]]


def _edges_by_script(found: Findings, places: list[list[float]]) -> list[list[tuple[Any, ...]]]:
    told = _node(map_data(found), "edges", places)
    return [
        [(e["side"], e["response"], e["median"], *e["band50"], *e["band90"]) for e in one]
        for one in told
    ]


def _edges_by_hand(found: Findings, places: list[list[float]]) -> list[list[tuple[Any, ...]]]:
    """Edges from the page's data in the plain way; what fails first is left to the script."""
    data = map_data(found)
    return [
        [
            (side, None, *_edge(data, place, j, side))
            for j in range(len(place))
            for side in ("low", "high")
        ]
        for place in places
    ]


def _edge(data: dict[str, Any], here: list[float], j: int, side: str) -> list[float | None]:
    at = data["factors"][j]["line"]
    line = np.linspace(at["low"], at["high"], at["count"])
    start = int(np.abs(line - here[j]).argmin())
    way = line[start::-1] if side == "low" else line[start:]
    rows = [_shares(data, [*here[:j], float(v), *here[j + 1 :]]) for v in way]
    places = []
    for each in zip(*rows, strict=True):
        out = [i for i, share in enumerate(each) if share < data["goodFrom"]]
        beyond = -np.inf if side == "low" else np.inf
        places.append((way[out[0]] + way[max(out[0] - 1, 0)]) / 2 if out else beyond)
    ranked = [float(sorted(places)[rank]) for rank in data["ranks"]]
    return [end if np.isfinite(end) else None for end in ranked]


@pytest.mark.parametrize("counter", [_edges_by_hand, *([_edges_by_script] if HAS_NODE else [])])
def test_map_data__edges__the_programs_places_and_bands(counter: Edges) -> None:
    found = findings("dial")
    assert found.setpoint is not None
    here = list(found.setpoint.settings)
    places = [here, [here[0] + 2]]
    for place, told in zip(places, counter(found, places), strict=True):
        moved = replace(found.setpoint, settings=tuple(place))
        right = find_edges(some_draws(found.goodness), moved, found.region, found.study.good_from)
        assert len(told) == len(right) == 2
        for edge, (side, response, median, *bands) in zip(right, told, strict=True):
            assert side == edge.side and response in (None, edge.response)
            wanted = (edge.median, *edge.band50, *edge.band90)
            assert [e is None for e in (median, *bands)] == [e is None for e in wanted]
            pairs = zip((median, *bands), wanted, strict=True)
            assert all(a == pytest.approx(b, abs=1e-6) for a, b in pairs if b is not None)


def test_map_data__avoided_and_untried__no_answer() -> None:
    found = findings("map")
    rule = {"pressure": (">=", 4.5), "melt_temperature": (">", 220.0)}
    found = replace(found, study=replace(found.study, avoid=(rule,)))
    data = map_data(found)
    assert data["rules"] == [[[0, ">=", 4.5], [1, ">", 220.0]]]
    if HAS_NODE:
        places = [[4.5, 221.0], [4.5, 220.0], [4.4, 221.0], [5.1, 220.0]]
        told = [one is not None for one in _node(data, "at", places)]
        region, allowed = found.region, found.study.allowed(places)
        assert told == (region.holds(np.array(places)) & allowed).tolist()
        assert told == [False, True, True, False]


def test_some_draws__no_more_than_asked_and_spread() -> None:
    good = findings("dial").goodness
    few = some_draws(good)
    assert len(few.curves[0].width) == MOST_DRAWS < len(good.curves[0].width)
    assert few.curves[0].width[-1] == good.curves[0].width[-1]
    assert len(some_draws(good, 10_000).curves[0].width) == len(good.curves[0].width)


def test_live_map__user_text__cannot_end_the_script() -> None:
    found = findings("dial")
    factor = replace(found.study.factors[0], unit="</script><b>&")
    made = live_map(replace(found, study=replace(found.study, factors=(factor,))))
    assert made is not None and not set("<>&") & set(made.data)
    assert json.loads(made.data)["factors"][0]["bare"] == "</script><b>&"


def test_live_map__guard__is_the_hash_of_the_script_and_one_dial_has_no_map() -> None:
    made = live_map(findings("dial"))
    assert made is not None
    digest = b64encode(sha256(str(made.script).encode()).digest()).decode()
    assert made.guard == f"sha256-{digest}" and made.axes == ""
    both = live_map(findings("map"))
    assert both is not None and both.axes == "pressure and melt temperature"
    assert "://" not in both.script and "fetch(" not in both.script


def test_live_map__fit_that_failed__none() -> None:
    assert live_map(replace(findings("dial"), window=None, setpoint=None)) is None


@pytest.mark.parametrize("name", ["map", "cube"])
def test_map_data__marks__as_on_the_dial(name: str) -> None:
    found = findings(name)
    for told, factor in zip(map_data(found)["factors"], found.study.factors, strict=True):
        assert isinstance(factor, Factor)
        assert told["marks"] == factor.marks.tolist()
        assert told["texts"] == [factor.text(mark) for mark in factor.marks]
