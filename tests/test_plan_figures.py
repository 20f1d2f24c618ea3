"""The plan in its settings and in time: every shot is there, with its kind, units and minutes."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import planned, study
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.transforms import Bbox

from shotwindow.doe.plans import make_plan
from shotwindow.doe.study import parse_study
from shotwindow.doe.timeline import timeline
from shotwindow.reports.plan_space_figure import (
    SHAPES,
    plan_space_exhibit,
    plan_space_figure,
)
from shotwindow.reports.plan_time_figure import plan_time_exhibit, plan_time_figure
from shotwindow.reports.theme import MARKS, UNTRIED_HATCH, picture

TWO_DAYS = """
[factors.pressure]
unit = "bar"
low = 3.0
high = 5.0
step = 0.1
[factors.injection_time]
unit = "s"
low = 4
high = 10
step = 0.5
"""


def test_plan_space_figure__neighbors__no_number_on_a_sign_or_another_number() -> None:
    moved = tuple(  # so that each place has another to its upper right, where numbers stand
        replace(shot, settings=tuple(np.add(shot.settings, (0.1, 1.2, 0.25)).tolist()))
        if shot.shot % 2
        else shot
        for shot in planned("cube").shots
    )
    figure = plan_space_figure(study("cube"), replace(planned("cube"), shots=moved))
    canvas = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    numbers = 0
    for axes in figure.axes:
        boxes = [text.get_window_extent(canvas) for text in axes.texts]
        signs = [box for line in axes.lines for box in _boxes_of(line)]
        numbers += len(boxes)
        for i, box in enumerate(boxes):
            assert not any(box.overlaps(other) for other in boxes[:i])
            assert not any(box.overlaps(sign) for sign in signs)
    assert numbers > 12


def test_shapes__none_is_an_outcomes_and_none_comes_twice() -> None:
    assert len(set(SHAPES.values())) == len(SHAPES)
    assert not set(SHAPES.values()) & {mark.shape for mark in MARKS.values()}


def test_plan_space_figure__a_panel_a_pair__names_and_units_outside() -> None:
    figure = plan_space_figure(study("cube"), planned("cube"))
    assert len(figure.axes) == 3
    below = [axes.get_xlabel() for axes in figure.axes]
    assert below == ["", "pressure\n(bar gauge)", "melt temperature\n(degC)"]
    beside = [axes.get_ylabel() for axes in figure.axes]
    assert beside == ["melt temperature\n(degC)", "injection time\n(s)", ""]


def test_plan_space_figure__every_place__once_with_its_count() -> None:
    plan = planned("cube")
    axes = plan_space_figure(study("cube"), plan).axes[0]  # pressure across, melt upward
    drawn = [(place, line) for line in axes.lines for place in _places_of(line)]
    signs = dict(drawn)
    places = [shot.settings[:2] for shot in plan.fitted()]
    assert set(signs) == set(places) and len(drawn) == len(set(places))
    for place, line in signs.items():
        count = places.count(place)
        assert line.get_markersize() == pytest.approx(5.0 * np.sqrt(count))
        assert line.get_marker() == SHAPES["factorial"]
    assert [text.get_text() for text in axes.texts] == ["3"] * 9  # three times each


def _boxes_of(line: Line2D) -> list[Bbox]:
    assert line.axes is not None
    reach = line.get_markersize() / 144 * line.axes.figure.dpi
    places = line.axes.transData.transform(_places_of(line))
    return [Bbox([place - reach, place + reach]) for place in places]


def _places_of(line: Line2D) -> list[tuple[float, ...]]:
    return [tuple(place) for place in np.array(line.get_xydata()).tolist()]


def test_plan_space_figure__ruled_out_corner__is_crossed_and_the_range_framed() -> None:
    figure = plan_space_figure(study("avoid"), planned("avoid"))
    (axes,) = figure.axes
    (crossed,) = [patch for patch in axes.patches if isinstance(patch, PathPatch)]
    assert crossed.get_hatch() == UNTRIED_HATCH
    assert "ruled out" in {t.get_text() for t in figure.legends[0].get_texts()}
    (frame,) = [p for p in axes.patches if isinstance(p, Rectangle)]
    assert (frame.get_x(), frame.get_width()) == (3.0, 2.0)
    none = plan_space_figure(study("map"), planned("map")).axes[0]
    assert not [patch for patch in none.patches if isinstance(patch, PathPatch)]


def test_plan_space_figure__one_setting__in_running_order() -> None:
    (axes,) = plan_space_figure(study("dial"), planned("dial")).axes
    assert axes.get_xlabel() == "pressure (psi gauge)"
    assert axes.get_ylabel() == "shot, in running order"
    assert len(axes.lines) == len(planned("dial").fitted())


def test_plan_space_exhibit__table__each_setting_once_with_its_shots() -> None:
    made = plan_space_exhibit(study("dial"), planned("dial"))
    shots = [number for row in made.table.rows for number in row[1].split(", ")]
    assert sorted(map(int, shots)) == [shot.shot for shot in planned("dial").fitted()]
    assert len(made.table.rows) == 6 and "12 factorial" in made.alt


def _bars(use: str) -> list[Rectangle]:
    axes = plan_time_figure(study("map"), planned("map")).axes[0]
    return [
        p
        for p in axes.patches
        if isinstance(p, Rectangle) and (p.get_gid() or "").startswith(f"{use}-1-")
    ]


@pytest.mark.parametrize("use", ["heating up", "soak", "warm-up shot", "shot", "cleaning up"])
def test_plan_time_figure__every_stretch__a_bar_of_its_minutes(use: str) -> None:
    wanted = [s for s in timeline(study("map"), planned("map")) if s.use == use]
    drawn = _bars(use.replace(" ", "-"))
    assert len(drawn) == len(wanted) > 0
    for bar, stretch in zip(drawn, wanted, strict=True):
        assert bar.get_x() == pytest.approx(stretch.start)
        assert bar.get_x() + bar.get_width() == pytest.approx(stretch.end)


def test_plan_time_figure__rows__a_group_each_with_its_slow_setting() -> None:
    axes = plan_time_figure(study("map"), planned("map")).axes[0]
    labels = [label.get_text() for label in axes.get_yticklabels()]
    assert labels == ["1:  205", "2:  215", "3:  225", "4:  235"]
    assert axes.get_xlabel() == "minutes since the press was switched on"
    assert "melt temperature (degC)" in axes.get_ylabel()
    hatches = {bar.get_hatch() for bar in _bars("soak")}
    assert hatches == {"----"} and {bar.get_hatch() for bar in _bars("shot")} == {None}


def test_plan_time_figure__budget__where_it_is_near() -> None:
    made, end = study("map"), timeline(study("map"), planned("map"))[-1].end
    for budget, shown in ((end + 10, True), (2 * end, False)):
        figure = plan_time_figure(
            replace(made, time=replace(made.time, budget_min=budget)), planned("map")
        )
        lines = [np.ravel(line.get_xdata())[0] for line in figure.axes[0].lines]
        assert lines == ([budget] if shown else [])
        assert ("budget" in {t.get_text() for t in figure.legends[0].get_texts()}) == shown


def test_plan_time_exhibit__minutes__add_up_and_days_have_panels() -> None:
    made, plan = study("map"), planned("map")
    shown = plan_time_exhibit(made, plan)
    assert [row[1] for row in shown.table.rows] == ["1", "2", "3", "4"]
    assert float(shown.table.rows[-1][-1]) == pytest.approx(timeline(made, plan)[-1].end, abs=0.5)
    assert "soak" in shown.alt
    two = parse_study(TWO_DAYS)
    shots = make_plan(two, shots=8).shots
    days = tuple(
        type(s)(s.shot, str(1 + (s.shot > 5)), "", s.group, s.kind, s.settings) for s in shots
    )
    figure = plan_time_figure(two, type(plan)("optimal", "first-order", 1, days))
    assert [axes.get_title(loc="left") for axes in figure.axes] == ["block 1", "block 2"]


def test_plan_pictures__same_plan__same_bytes() -> None:
    for draw in (plan_space_figure, plan_time_figure):
        one, two = (draw(study("avoid"), planned("avoid")) for _ in range(2))
        assert picture(one, "svg") == picture(two, "svg")
