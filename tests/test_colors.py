"""Colors of pictures and pages: words can be read, areas stand out, and every vision tells them."""

import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from seeing import VISION, apart, contrast, lab

from shotwindow.reports.theme import (
    INK,
    LIKELY_FILL,
    MARKS,
    PAPER,
    SIDES,
    SURE_FILL,
    UNTRIED_COLOR,
    WINDOW_LINE,
)

REPORTS = Path(__file__).parent.parent / "reports"
#: What WCAG 2.1 asks of words (success criterion 1.4.3) and of graphics (1.4.11).
WORDS, GRAPHICS = 4.5, 3.0
#: Least CIEDE2000 of what is drawn in lines and hatches, and of fills that touch: so far apart is
#: seen at a glance; common practice, no source.
LINES_APART, FILLS_APART = 10.0, 4.0
FILLS = (SURE_FILL, LIKELY_FILL, PAPER)
#: Page -> words that may stand on each ground, and lines that must be seen on it.
PAGES: dict[str, dict[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "page_style.html": {
        "paper": (("ink", "faint", "accent"), ("ink", "accent")),
        "card": (("ink", "faint", "accent"), ("ink", "accent")),
    },
    "record.css": {
        "paper": (("ink", "faint", "accent"), ("rule", "accent")),
        "card": (("ink", "faint"), ("accent",)),
        "key": (("ink",), ("accent",)),
        "accent": (("on-accent",), ()),
        "warn-card": (("warn",), ()),
    },
}


def _schemes(page: str) -> dict[str, dict[str, str]]:
    """Return the colors of a page by name: light, dark, and on paper where it says so."""
    blocks = re.findall(r"(@media [^{]*\{\s*)?:root \{([^}]*)\}", (REPORTS / page).read_text())
    found: dict[str, dict[str, str]] = {}
    for media, block in blocks:
        name = "print" if "print" in media else "dark" if "dark" in media else "light"
        own = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6})", block))
        found[name] = {**found.get("light", {}), **own}
    return found


def test_words_on_areas__contrast__at_least_4_5() -> None:
    for side in SIDES.values():
        assert contrast(side.color, PAPER) >= WORDS, side
    for fill in FILLS:
        assert contrast(INK, fill) >= WORDS


def test_lines_and_hatches__on_what_they_are_drawn__contrast_at_least_3() -> None:
    for fill in FILLS:
        assert contrast(WINDOW_LINE, fill) >= GRAPHICS
    assert contrast(UNTRIED_COLOR, PAPER) >= GRAPHICS
    for mark in MARKS.values():  # its rim is ink
        assert max(contrast(mark.face, INK), contrast(mark.face, PAPER)) >= GRAPHICS


def test_fills__in_grey__stay_apart() -> None:
    assert min(np.diff([lab(color)[0] for color in FILLS])) >= 6


@pytest.mark.parametrize("vision", VISION)
def test_ways_to_fail__any_vision__colors_stay_apart(vision: str) -> None:
    """Short and other rejects once had a difference of 2 without the long cones."""
    colors = {name: side.color for name, side in SIDES.items()}
    colors |= {"untried": UNTRIED_COLOR, "ink": INK}
    near = {
        pair: apart(colors[pair[0]], colors[pair[1]], vision) for pair in combinations(colors, 2)
    }
    assert {pair: round(far, 1) for pair, far in near.items() if far < LINES_APART} == {}
    for one, other in combinations(FILLS, 2):
        assert apart(one, other, vision) >= FILLS_APART


@pytest.mark.parametrize("page", PAGES)
def test_page__light_dark_and_paper__words_and_lines_stand_out(page: str) -> None:
    schemes = _schemes(page)
    assert {"light", "dark"} <= set(schemes)
    faint = [
        (scheme, name, ground, round(contrast(colors[name], colors[ground]), 2))
        for scheme, colors in schemes.items()
        for ground, kinds in PAGES[page].items()
        for names, least in zip(kinds, (WORDS, GRAPHICS), strict=True)
        for name in names
        if contrast(colors[name], colors[ground]) < least
    ]
    assert faint == []


def test_page__report__is_black_on_white_on_paper() -> None:
    schemes = _schemes("page_style.html")
    assert list(schemes) == ["light", "dark", "print"]
    assert schemes["print"]["ink"] == "#000" and schemes["print"]["card"] == "#fff"


@pytest.mark.parametrize("vision", VISION)
def test_record_page__warning_and_accent__any_vision_tells_them(vision: str) -> None:
    for scheme, colors in _schemes("record.css").items():
        assert apart(colors["warn"], colors["accent"], vision) >= LINES_APART, scheme
        assert apart(colors["warn"], colors["ink"], vision) >= LINES_APART, scheme
