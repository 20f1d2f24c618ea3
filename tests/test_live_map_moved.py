"""The live map in a real browser: moved by keys, buttons and clicks, it says what Python says.

Python counts here with the draws that the page holds. The page's own functions are asked for all
digits at each place that was reached, and what the page shows is compared as it is rounded.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browser import PHONE, Window, open_window
from invented_shots import findings, report_page
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys

from shotwindow.models.margins import find_edges
from shotwindow.reports.findings import Findings
from shotwindow.reports.live_map import some_draws
from shotwindow.reports.naming import chance, unit_of
from shotwindow.reports.theme import INK, SIDES

DESK = (1280, 900)
AREA = "[data-part=area]"
#: What the page's script says at a place, in full.
ASK = """
    const m = liveNumbers.model(JSON.parse(document.getElementById("live-data").textContent));
    return [liveNumbers.at(m, arguments[0]), liveNumbers.edges(m, arguments[0])];"""


@contextmanager
def _opened(name: str, folder: Path) -> Iterator[Window]:
    page = folder / "report.html"
    page.write_text(report_page(name), encoding="utf-8")
    with open_window(folder / "profile", DESK) as window:
        window.open(page.as_uri())
        window.wait_for("#live")
        yield window
        assert window.errors() == []
        assert window.requests() == [page.as_uri()]


def _marks(window: Window, found: Findings) -> list[int]:
    """Return the marks that the page shows."""
    factors = found.study.factors
    shown = [output.text for output in window.all("#live output")]
    texts = [[f"{f.text(mark)} {unit_of(f)}" for mark in f.marks] for f in factors]
    return [each.index(text) for each, text in zip(texts, shown, strict=True)]


def _says_the_same(window: Window, found: Findings) -> None:
    """Hold the page's chances and edges at the place that it shows against Python's."""
    factors, limit = found.study.factors, found.study.good_from
    here = [float(f.marks[mark]) for f, mark in zip(factors, _marks(window, found), strict=True)]
    few = some_draws(found.goodness)
    shares = few.shares(np.array([here])).astype(float)[0]
    at, edges = window.driver.execute_script(ASK, here)
    assert at["good"] == pytest.approx(shares.mean(), abs=1e-6)
    assert at["inWindow"] == pytest.approx((shares >= limit).mean(), abs=1e-6)
    said = window.wait_for("[data-part=said]").text
    assert f"Chance of a good shot {chance(float(shares.mean()))};" in said
    inside = (shares >= limit).mean() >= 0.5
    assert ("It fails as" in said) != inside
    if inside:
        _edges_the_same(window, found, here, edges)


def _edges_the_same(
    window: Window, found: Findings, here: list[float], told: list[dict[str, Any]]
) -> None:
    assert found.setpoint is not None
    moved = replace(found.setpoint, settings=tuple(here))
    right = find_edges(some_draws(found.goodness), moved, found.region, found.study.good_from)
    words = [each.text for each in window.all("#live [data-part=edges]")]
    assert len(told) == len(right) == 2 * len(words)
    for edge, theirs in zip(right, told, strict=True):
        assert (edge.side, edge.response) == (theirs["side"], theirs["response"])
        ends = (theirs["median"], *theirs["band50"], *theirs["band90"])
        for end, wanted in zip(ends, (edge.median, *edge.band50, *edge.band90), strict=True):
            assert end is wanted is None or end == pytest.approx(wanted, abs=1e-6)
        shown = words[found.study.names.index(edge.factor)]
        way = "down" if edge.side == "low" else "up"
        assert (f"{way}: no edge in what was tried" in shown) == (edge.median is None)


@pytest.mark.parametrize("name", ["map", "cube", "dial"])
def test_live_map__buttons_of_every_ruler__one_mark_each_and_pythons_numbers(
    name: str, tmp_path: Path
) -> None:
    found = findings(name)
    assert found.best is not None
    start = [int(mark) for mark in found.best]
    with _opened(name, tmp_path) as window:
        assert _marks(window, found) == start
        _says_the_same(window, found)
        for j in range(len(start)):
            down, up = window.all(f'#live [data-factor="{j}"] button')
            down.click()
            assert _marks(window, found) == [m - (i == j) for i, m in enumerate(start)]
            _says_the_same(window, found)
            up.send_keys(Keys.SPACE)  # a button is pressed by the keyboard too
            up.send_keys(Keys.ENTER)
            assert _marks(window, found) == [m + (i == j) for i, m in enumerate(start)]
            _says_the_same(window, found)
            window.tap("Back to", "#live button")
            assert _marks(window, found) == start


def test_live_map__arrow_keys_and_clicks_on_the_map__move_both_axes(tmp_path: Path) -> None:
    found = findings("map")
    assert found.best is not None
    across, up = (int(mark) for mark in found.best)
    with _opened("map", tmp_path) as window:
        area = window.wait_for(AREA)
        for key, place in (
            (Keys.ARROW_RIGHT, [across + 1, up]),
            (Keys.ARROW_UP, [across + 1, up + 1]),
            (Keys.ARROW_LEFT, [across, up + 1]),
            (Keys.ARROW_DOWN, [across, up]),
        ):
            area.send_keys(key)
            assert _marks(window, found) == place
            _says_the_same(window, found)
        canvas = window.wait_for("[data-part=map]")
        ActionChains(window.driver).move_to_element(canvas).click().perform()
        middle = _marks(window, found)
        assert all(
            abs(m - f.count / 2) <= 2 for m, f in zip(middle, found.study.factors, strict=True)
        )


def test_live_map__by_the_keyboard_alone__reached_in_order_and_stops_at_the_end(
    tmp_path: Path,
) -> None:
    found = findings("map")
    with _opened("map", tmp_path) as window:
        reached = []
        window.driver.execute_script(f"document.querySelector('{AREA}').focus()")
        for _ in range(5):
            focus = window.driver.switch_to.active_element
            reached.append(focus.get_attribute("aria-label") or focus.text)
            ActionChains(window.driver).send_keys(Keys.TAB).perform()
        assert reached[0].startswith("Map of pressure and melt temperature; the arrow keys")
        assert reached[1:] == [
            f"{name}, one mark {way}"
            for name in ("pressure", "melt temperature")
            for way in ("down", "up")
        ]
        up = window.all('#live [data-factor="0"] button')[1]
        for _ in range(found.study.factors[0].count + 2):
            up.send_keys(Keys.ENTER)
        assert _marks(window, found)[0] == found.study.factors[0].count - 1
        assert up.get_attribute("aria-disabled") == "true"
        assert window.driver.switch_to.active_element == up  # the keyboard keeps its place


#: Notes what is written and filled on each canvas: its font, corners in the page's pixels, color.
WATCH = """
    window.seen = { texts: [], fills: [] };
    const own = CanvasRenderingContext2D.prototype;
    const { fillText, fillRect } = own, { hypot } = Math;
    own.fillText = function (text, x, y, room) {
      fillText.call(this, ...(room === undefined ? [text, x, y] : [text, x, y, room]));
      const by = this.canvas.clientWidth / this.canvas.width, size = this.measureText(text);
      const at = { left: 0, center: size.width / 2, right: size.width }[this.textAlign];
      const [one, other] = [
        [x - at, y - size.actualBoundingBoxAscent],
        [x - at + size.width, y + size.actualBoundingBoxDescent],
      ].map(([a, b]) => this.getTransform().transformPoint({ x: a, y: b }));
      window.seen.texts.push({
        text, canvas: [...document.querySelectorAll("#live canvas")].indexOf(this.canvas),
        letter: parseFloat(this.font) * by * hypot(this.getTransform().a, this.getTransform().b),
        room: [this.canvas.clientWidth, this.canvas.clientHeight],
        across: [one.x * by, other.x * by].sort((a, b) => a - b),
        down: [one.y * by, other.y * by].sort((a, b) => a - b),
      });
    };
    own.fillRect = function (...box) {
      fillRect.call(this, ...box);
      window.seen.fills.push([this.fillStyle, box[3]]);
    };
    document.querySelector("[data-part=back]").click();
    return window.seen;"""


def _apart(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Tell whether two texts of a canvas leave at least two pixels between them, either way."""
    return any(
        one[way][1] + 2 <= other[way][0] or other[way][1] + 2 <= one[way][0]
        for way in ("across", "down")
    )


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_live_map__phone_and_desk__letters_of_ten_pixels_that_do_not_touch(
    size: tuple[int, int], tmp_path: Path
) -> None:
    page = tmp_path / "report.html"
    # marks of a finer dial, whose names are long
    named = re.sub(r'"(2[0-9][0-9])"', r'"\1.25"', report_page("map"))
    page.write_text(named, encoding="utf-8")
    with open_window(tmp_path / "profile", DESK) as window:
        window.open(page.as_uri())
        window.wait_for("#live")
        window.resize(size)  # it is drawn anew where the window grows or shrinks
        texts = window.driver.execute_script(WATCH)["texts"]
    assert {text["canvas"] for text in texts} == {0, 1, 2}
    assert len(texts) > 20 and any(text["text"] == "205.25" for text in texts)
    assert {text["text"] for text in texts} >= {"pressure (bar gauge)", "melt temperature (degC)"}
    for i, text in enumerate(texts):
        assert text["letter"] >= 10
        for way, room in zip(("across", "down"), text["room"], strict=True):
            assert text[way][0] >= 0 and text[way][1] <= room, text
        others = [other for other in texts[:i] if other["canvas"] == text["canvas"]]
        assert [other["text"] for other in others if not _apart(text, other)] == [], text["text"]


def test_live_map__edge_that_no_shot_has_seen__bands_without_the_color_of_a_side(
    tmp_path: Path,
) -> None:
    found, thick = findings("graded"), 6
    assert found.edges
    with _opened("graded", tmp_path) as window:
        fills = window.driver.execute_script(WATCH)["fills"]
    bands = [color for color, high in fills if high == thick]
    edges = [edge for edge in found.edges]
    assert bands == [INK if e.median is None else SIDES[str(e.response)].color for e in edges]
    assert INK in bands and len(set(bands)) > 1
