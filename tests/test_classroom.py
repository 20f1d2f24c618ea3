"""The class on one page: pictures by what they hold, tables, words, and the page itself."""

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.axes import Axes
from matplotlib.colors import rgb_to_hsv, to_rgb
from matplotlib.contour import QuadContourSet
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.text import Annotation
from test_sheet_page import NASTY, Seen

from shotwindow.models.press import Press
from shotwindow.models.presses import press_for
from shotwindow.models.scoring import score
from shotwindow.reports.class_map import _matched, _shades, class_map, teams_holding
from shotwindow.reports.class_page import class_html
from shotwindow.reports.class_panels import class_panels
from shotwindow.reports.class_rows import class_rows, stretch_of
from shotwindow.reports.class_words import (
    class_document,
    class_lines,
    map_table,
    remarks,
    row_table,
    sentences,
    team_table,
)
from shotwindow.reports.classroom import (
    LIKELY,
    Classroom,
    Team,
    classroom,
    ground,
    in_window,
    true_chance,
)
from shotwindow.reports.findings import Findings, find
from shotwindow.reports.theme import INK, picture


@lru_cache
def weaker() -> Findings:
    """Return the study "map" as a team found it that shot nothing at the highest temperature."""
    whole = findings("map")
    return find(whole.study, tuple(row for row in whole.rows if row.settings[1] < 235), seed=1)


@lru_cache
def press() -> Press:
    return press_for(findings("map").study, "A", 5)


def team(name: str, found: Findings, *, told: bool) -> Team:
    """Return a team; the press is not the one behind its shots, which no press made."""
    at = Team(name, "optimal", 20, 150.0, found=found)
    if not told or found.window is None:
        return at
    near = score(press(), found.study, found.window, found.setpoint)
    return replace(at, press=press(), made_by="simulated press A, seed 5", score=near)


@lru_cache
def room(count: int = 3, *, told: bool = False) -> Classroom:
    """Return a class whose teams found one of two things in turn; the last one found nothing."""
    teams = [
        team(f"team-{n:02d}", weaker() if n % 2 else findings("map"), told=told)
        for n in range(count - 1)
    ]
    return classroom("Clip", [*teams, Team("late", remarks=("no plan yet.",))], told=told)


@lru_cache
def drawn(kind: str, count: int = 3, *, told: bool = False) -> Figure:
    draw = {"map": class_map, "rows": class_rows, "panels": class_panels}[kind]
    return draw(room(count, told=told))


def sets(axes: Axes) -> list[QuadContourSet]:
    return [c for c in axes.collections if isinstance(c, QuadContourSet)]


def place(line: Line2D) -> tuple[float, ...]:
    return tuple(float(v) for v in np.asarray(line.get_xydata())[0])


def truths(axes: Axes) -> list[QuadContourSet]:
    lines = [c for c in sets(axes) if not c.filled]
    return [c for c in lines if np.allclose(np.asarray(c.get_edgecolor())[0][:3], to_rgb(INK))]


def test_class_map__axes__names_units_and_the_widest_range() -> None:
    axes = drawn("map").axes[0]
    assert axes.get_xlabel() == "pressure (bar gauge)"
    assert axes.get_ylabel() == "melt temperature (degC)"
    assert (axes.get_xlim(), axes.get_ylim()) == ((3.0, 5.0), (205.0, 235.0))
    assert drawn("map").axes[1].get_ylabel() == "teams whose likely window holds the setting"


def test_class_map__shade__counts_the_teams() -> None:
    here = ground(room(), room().at)
    counted = teams_holding(room(), here)
    settings = here.settings.reshape(len(here.places[1]), len(here.places[0]), 2)
    every = (slice(None, None, 4), slice(None, None, 4))  # the finer places that are places
    by_hand = sum(
        np.nan_to_num(in_window(found, settings.reshape(-1, 2))).reshape(settings.shape[:2])
        >= LIKELY
        for found in (findings("map"), weaker())
    )
    assert (counted[every] == by_hand).all()
    assert set(np.unique(counted)) == {0, 1, 2}
    (shaded,) = [c for c in sets(drawn("map").axes[0]) if c.filled and not any(c.hatches)]
    assert list(shaded.levels) == [0.5, 1.5, 2.5]


@pytest.mark.parametrize("count", [1, 2, 6, 12, 99])
def test_shades__any_number_of_teams__darker_with_each_in_one_hue(count: int) -> None:
    shades = np.array(_shades(count))
    assert len(shades) == count
    light = shades @ (0.2126, 0.7152, 0.0722)
    assert (np.diff(light) < 0).all()
    hues = rgb_to_hsv(shades)[:, 0]
    assert hues.max() - hues.min() < 0.06


@pytest.mark.parametrize(("apart", "farthest"), [(0.1, 0.2), (0.5, 0.5), (0.95, 0.5)])
def test_class_map__labels__near_their_rings_and_on_none(apart: float, farthest: float) -> None:
    found = findings("map")
    assert found.setpoint is not None
    teams = []
    for number in range(7):
        way = number * 2.0 * np.pi / 7
        settings = (4.0 + apart * np.cos(way), 220.0 + 15.0 * apart * np.sin(way))
        own = replace(found, setpoint=replace(found.setpoint, settings=settings))
        teams.append(team(f"team-{number}", own, told=False))
    axes = class_map(classroom("Clip", teams, told=False)).axes[0]
    texts = [text for text in axes.texts if isinstance(text, Annotation)]
    labels = np.array([text.get_position() for text in texts])
    rings = (np.array([text.xy for text in texts]) - [3.0, 205.0]) / [2.0, 30.0]
    assert labels.shape == (7, 2) and ((labels > 0.0) & (labels < 1.0)).all()
    lengths = np.linalg.norm(labels[:, None] - rings, axis=2)
    assert lengths.min() > 0.05 and np.diag(lengths).max() < farthest


def test_class_map__setpoints__a_ring_at_each_and_teams_at_one_mark_share_a_label() -> None:
    axes = drawn("map", 5).axes[0]
    rings = [line for line in axes.lines if (line.get_gid() or "").startswith("setpoint")]
    points = {f.setpoint.settings for _, _, f in room(5).drawn if f.setpoint is not None}
    assert {place(line) for line in rings} == points
    assert sorted(text.get_text() for text in axes.texts) == ["1, 3", "2, 4"]


def test_matched__random_spots__no_two_lines_cross() -> None:
    rng = np.random.default_rng(4)
    for _ in range(50):
        spots, labels = rng.random((8, 2)), rng.random((8, 2))
        ends = _matched(spots, labels)
        assert sorted(map(tuple, ends)) == sorted(map(tuple, labels))
        for i in range(8):
            for j in range(i):
                assert not _cross(spots[i], ends[i], spots[j], ends[j])


def _cross(a: Any, b: Any, c: Any, d: Any) -> bool:
    def side(p: Any, q: Any, r: Any) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def test_class_map__truth__only_when_told_and_where_the_press_is_good() -> None:
    assert not truths(drawn("map").axes[0])
    (line,) = truths(drawn("map", told=True).axes[0])
    assert list(line.levels) == [0.9]
    points = np.concatenate([path.vertices for path in line.get_paths()])
    good = true_chance(findings("map"), press(), points)
    assert np.abs(good - 0.9).max() < 0.05  # straight between the places of a map
    labels = [t.get_text() for t in drawn("map", told=True).legends[0].get_texts()]
    assert labels[:1] == ["true window"]


def test_class_panels__a_map_for_each_team__with_its_windows_and_setpoint() -> None:
    figure = drawn("panels", 5, told=True)
    panels = [axes for axes in figure.axes if axes.get_visible()]
    assert [p.get_title(loc="left") for p in panels] == [
        "1  team-00", "2  team-01", "3  team-02", "4  team-03",
    ]  # fmt: skip
    for axes, (_, _, found) in zip(panels, room(5).drawn, strict=True):
        assert found.setpoint is not None
        (ring,) = [line for line in axes.lines if (line.get_gid() or "").startswith("setpoint")]
        assert place(ring) == found.setpoint.settings
        levels = [float(np.asarray(c.levels)[0]) for c in sets(axes) if not c.filled]
        assert 0.5 in levels and len(truths(axes)) == 1
        assert axes.get_xlim() == (3.0, 5.0)
    assert not any(truths(axes) for axes in drawn("panels").axes)


def test_class_rows__bars__reach_half_a_step_beyond_the_marks_of_the_window() -> None:
    figure = drawn("rows", told=True)
    assert [axes.get_xlabel() for axes in figure.axes] == [
        "pressure (bar gauge)", "melt temperature (degC)",
    ]  # fmt: skip
    for j, axes in enumerate(figure.axes):
        for row, (_, one, found) in enumerate(room(told=True).drawn):
            step = found.study.factors[j].step
            for which in ("likely", "sure"):
                bars = [
                    p
                    for p in axes.patches
                    if isinstance(p, Rectangle) and str(p.get_gid()).startswith(f"{which}-{row}-")
                ]
                ends = [(p.get_x() + step / 2, p.get_x() + p.get_width() - step / 2) for p in bars]
                assert np.allclose(ends, stretch_of(found, j, which))
            lines = {line.get_gid(): line for line in axes.lines}
            assert found.setpoint is not None and one.score is not None
            assert place(lines[f"setpoint-{row}-{j}"])[0] == found.setpoint.settings[j]
            assert (f"truth-{row}-{j}" in lines) == (one.score.true_ranges[j] is not None)
    names = [label.get_text() for label in figure.axes[0].get_yticklabels()]
    assert names == ["1  team-00", "2  team-01"]


def test_stretch_of__likely__as_the_window_itself_says() -> None:
    found = findings("map")
    assert found.window is not None and found.best is not None
    for low, high in stretch_of(found, 0, "likely"):
        marks = found.study.factors[0].marks
        inside = found.window.likely[:, found.best[1]]
        assert inside[(marks >= low) & (marks <= high)].all()
    total = sum(round((b - a) / 0.1) + 1 for a, b in stretch_of(found, 0, "likely"))
    assert total == found.window.likely[:, found.best[1]].sum()


@pytest.mark.parametrize("kind", ["map", "rows", "panels"])
def test_pictures__same_class__same_bytes(kind: str) -> None:
    draw = {"map": class_map, "rows": class_rows, "panels": class_panels}[kind]
    assert picture(draw(room()), "svg") == picture(drawn(kind), "svg")


def test_classroom__other_factors__in_the_tables_but_not_drawn() -> None:
    teams = [
        team(name, findings(study), told=False)
        for name, study in zip("ab", ("map", "dial"), strict=True)
    ]
    mixed = classroom("Two molds", teams, told=False)
    assert [number for number, _, _ in mixed.drawn] == [1]
    assert "2 b: not drawn, since its factors are others." in remarks(mixed)
    assert team_table(mixed).rows[1][4] != ""


def test_classroom__own_presses__no_common_truth_but_each_panel_its_own() -> None:
    teams = [team(name, findings("map"), told=True) for name in "ab"]
    other = replace(teams[1], press=press_for(findings("map").study, "B", 8))
    own = classroom("Own", [teams[0], other], told=True)
    assert own.press is None and not truths(class_map(own).axes[0])
    assert all(truths(axes) for axes in class_panels(own).axes if axes.get_visible())
    assert classroom("Same", teams, told=True).press is not None


def test_classroom__no_team_with_an_answer__a_page_all_the_same() -> None:
    empty = classroom("None", [Team("a", remarks=("no plan yet.",)), Team("b", left=4)], told=True)
    page = class_html(empty, ("Mind your hands.",))
    assert "<svg" not in page and "no plan yet." in page and "4 shots still to be made" in page
    assert sentences(empty) == ["2 teams: 0 with a likely window, 0 with a setpoint."]


@pytest.mark.parametrize("name", ["dial", "cube", "full"])
def test_class_html__one_factor_three_or_an_open_edge__pictures_as_there_can_be(name: str) -> None:
    one = classroom("x", [team("a", findings(name), told=False)] * 2, told=False)
    page = class_html(one, ())
    assert page.count('role="img"') == (1 if len(findings(name).study.factors) == 1 else 3)


def test_team_table__a_team__what_it_spent_and_found() -> None:
    table = team_table(room(told=True))
    found = findings("map")
    assert found.setpoint is not None
    row = dict(zip(table.heads, table.rows[0], strict=True))
    point = found.setpoint.settings
    assert row["setpoint"] == f"{point[0]:g} bar, {point[1]:g} degC"
    assert (row["shots"], row["minutes"], row["plan"]) == ("20", "150", "optimal")
    near = room(told=True).teams[0].score
    assert near is not None and row["overlap"] == f"{near.overlap:.2f}"
    assert table.rows[2][4:] == ("",) * 7
    assert len(team_table(room()).heads) == 8


def test_map_table__row__is_where_windows_are_held() -> None:
    table = map_table(room())
    assert table.heads[1:] == (
        "held by 1 or more of 2, pressure (bar gauge)",
        "held by 2 or more of 2, pressure (bar gauge)",
    )
    found = (findings("map"), weaker())
    for row in table.rows:
        marks = findings("map").study.factors[0].marks
        settings = np.column_stack([marks, np.full(len(marks), float(row[0]))])
        held = sum(np.nan_to_num(in_window(one, settings)) >= LIKELY for one in found)
        for least, text in zip((1, 2), row[1:], strict=True):
            inside = marks[held >= least]
            assert text == "none" if not inside.size else text.startswith(f"{inside[0]:g}")


def test_row_table__a_row_for_each_team_and_setting() -> None:
    rows = row_table(room(told=True)).rows
    assert [row[:2] for row in rows] == [
        ("1 team-00", "pressure"), ("1 team-00", "melt temperature"),
        ("2 team-01", "pressure"), ("2 team-01", "melt temperature"),
    ]  # fmt: skip


def test_sentences__nearest_and_works__by_the_scores() -> None:
    teams = list(room(told=True).teams)
    assert teams[0].score is not None
    low = replace(teams[0].score, overlap=0.1, setpoint_good=0.5)
    high = replace(teams[0].score, overlap=0.7, setpoint_good=0.95)
    told = replace(
        room(told=True),
        teams=(replace(teams[0], score=low), replace(teams[1], score=high), teams[2]),
    )
    said = sentences(told)
    assert "Nearest to the truth: team-01, with an overlap of 0.70." in said
    works = "1 of 2 setpoints truly reach the wanted share of good shots; not that of team-00."
    assert works in said
    assert any(said[1] in line for line in [" ".join(class_lines(told))])


def test_class_document__hidden_truth__null() -> None:
    hidden = class_document(room())["teams"][0]
    assert hidden["overlap"] is None and hidden["setpoint"]["pressure"] > 0
    assert class_document(room(told=True))["teams"][0]["overlap"] is not None


def test_class_html__pictures__have_words_and_numbers_and_nothing_is_loaded() -> None:
    page = class_html(room(told=True), ("Mind your hands.",))
    seen = Seen(page)
    images = [a for tag, a in seen.tags if tag == "div" and a.get("role") == "img"]
    words = [(image["aria-label"] or "").split(" ")[0] for image in images]
    assert words == ["Map", "Maps", "A"]
    for caption in ("The picture in numbers", "Windows along each setting", "Mind your hands."):
        assert caption in seen.text
    assert "default-src 'none'" in page and "<script" not in page and "@import" not in page
    for tag, attrs in seen.tags:
        assert tag not in ("link", "iframe", "object", "base"), tag
        for name, value in attrs.items():
            if name in ("src", "href", "xlink:href", "action"):
                assert (value or "").startswith("#"), (tag, name, value)
    assert "prefers-color-scheme: dark" in page and "@media print" in page
    ids = [attrs["id"] for _, attrs in seen.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    assert {(a["href"] or "")[1:] for tag, a in seen.tags if tag == "a"} <= set(ids)


def test_class_html__users_markup__is_shown_and_harmless() -> None:
    named = replace(room(told=True).teams[0], name="<b>red</b>", remarks=(NASTY,))
    page = class_html(classroom(NASTY, [named], told=True), ())
    assert "<script>alert" not in page and "<b>red</b>" not in page
    assert "<b>red</b>" in Seen(page).text and NASTY.strip() in Seen(page).text


def test_class_html__twelve_teams__small() -> None:
    assert len(class_html(room(13, told=True), ()).encode()) < 3_000_000
