"""Foretold against seen, and what is left over: dots for numbers, arrows for open readings."""

from dataclasses import replace

import numpy as np
import pytest
from invented_shots import findings
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.quiver import Quiver

from shotwindow.reports.expected import Measured, expected
from shotwindow.reports.residual_figure import (
    GROUP_SHADE,
    groups_of,
    residual_exhibit,
    residual_figure,
)
from shotwindow.reports.seen_figure import seen_exhibit, seen_figure, surprising
from shotwindow.reports.theme import picture


def _arrows(axes: Axes, gid: str) -> list[Quiver]:
    return [
        c for c in axes.collections if isinstance(c, Quiver) and (c.get_gid() or "").startswith(gid)
    ]


def _dots(axes: Axes) -> np.ndarray:
    (line,) = [line for line in axes.lines if (line.get_gid() or "").startswith("read")]
    return np.column_stack(line.get_data()).astype(float)


def _words(figure: Figure) -> set[str]:
    return {text.get_text() for legend in figure.legends for text in legend.get_texts()}


def test_seen_figure__numbers_and_open_readings__dots_and_arrows() -> None:
    found = findings("map")
    figure = seen_figure(found, expected(found))
    assert [axes.get_title(loc="left") for axes in figure.axes] == ["fill", "flash"]
    for axes, each in zip(figure.axes, expected(found), strict=True):
        assert isinstance(each, Measured)
        known = ~(each.open_above | each.open_below)
        assert _dots(axes) == pytest.approx(np.column_stack([each.middle, each.seen])[known])
        for gid, is_open, way in (
            ("open-above", each.open_above, 1),
            ("open-below", each.open_below, -1),
        ):
            drawn = _arrows(axes, gid)
            assert len(drawn) == bool(is_open.any())
            for arrows in drawn:
                assert arrows.X == pytest.approx(each.middle[is_open])
                assert arrows.Y == pytest.approx(each.seen[is_open])
                assert (np.sign(arrows.V) == way).all() and not np.any(arrows.U)
    assert {"read", "so much or more", "so much or less", "seen as foretold"} <= _words(figure)


def test_seen_figure__axes__in_the_unit_that_was_read_with_the_limit() -> None:
    figure = seen_figure(findings("map"), expected(findings("map")))
    fill, flash = figure.axes
    assert (
        fill.get_xlabel() == "foretold (%)" and "seen in the worst cavity (%)" in fill.get_ylabel()
    )
    assert "(mm" in flash.get_xlabel() and flash.get_ylabel() == "seen in the worst cavity (mm)"
    for axes, limit, place in ((fill, "100", 0.0), (flash, "0.1", 0.0)):
        labels = [tick.get_text() for tick in axes.get_yticklabels()]
        assert axes.get_yticks()[labels.index(limit)] == pytest.approx(place)
        lines = [np.asarray(line.get_ydata(), dtype=float) for line in axes.lines]
        level = [y[0] for y in lines if len(y) == 2 and y[0] == y[1]]
        assert level == pytest.approx([place])


def test_seen_figure__grades__a_row_each_and_chances_across() -> None:
    found = findings("graded")
    axes, told = seen_figure(found, expected(found)).axes[1], expected(found)[1]
    assert [t.get_text() for t in axes.get_yticklabels()] == [f"grade {g}" for g in range(4)]
    dots = _dots(axes)
    assert dots[:, 0] == pytest.approx(told.middle)
    assert (np.round(dots[:, 1]) == told.seen).all()
    assert axes.get_xlabel() == "foretold chance of a bad shot"


def test_surprising__a_shot_far_off__is_named_on_the_picture_and_in_words() -> None:
    found = findings("map")
    low, high = found.readings.fill_low.copy(), found.readings.fill_high.copy()
    low[3], high[3] = 40.0, 42.0  # as if it were typed wrongly, after the fit
    odd = replace(found, readings=replace(found.readings, fill_low=low, fill_high=high))
    assert surprising(expected(odd)[0])[3] and not surprising(expected(found)[0])[3]
    shot = str(found.readings.shot[3])
    assert shot in {text.get_text() for text in seen_figure(odd, expected(odd)).axes[0].texts}
    made, left = seen_exhibit(odd), residual_exhibit(odd)
    assert made is not None and f"shot {shot} beyond what holds 0.9" in made.alt
    assert left is not None and f"shot {shot} more than 2 deviations off" in left.alt


def test_seen_exhibit__table__a_row_a_shot() -> None:
    found = findings("map")
    made = seen_exhibit(found)
    assert made is not None and len(made.table.rows) == len(found.readings.shot)
    full = next(i for i, low in enumerate(found.readings.fill_low[:, 0]) if low >= 100)
    assert made.table.rows[full][2] == "100 or more"


def test_residual_figure__groups__shaded_in_turn_with_their_slow_setting_above() -> None:
    found = findings("map")
    figure, groups = residual_figure(found, expected(found)), groups_of(found)
    assert [g for g, _, _ in groups] == sorted(set(found.readings.group.tolist()))
    for axes in figure.axes:
        shades = {
            (p.get_gid() or "").split("-")[1]: p
            for p in axes.patches
            if isinstance(p, Rectangle) and p.get_facecolor() == to_rgba(GROUP_SHADE)
        }
        assert set(shades) == {f"{g}" for g, _, _ in groups[1::2]}
        for number, low, high in groups[1::2]:
            inside = found.readings.shot[found.readings.group == number]
            assert low < inside.min() and inside.max() < high
            assert shades[f"{number}"].get_x() == pytest.approx(low)
    above = [text.get_text() for text in figure.axes[0].texts]
    assert above == ["205", "215", "225", "235"]
    assert "melt temperature" in figure.axes[0].get_title(loc="left")
    assert figure.axes[-1].get_xlabel() == "shot, in running order"


def test_residual_figure__every_reading__a_dot_or_an_arrow_at_its_place() -> None:
    found = findings("map")
    told = expected(found)
    for axes, each in zip(residual_figure(found, told).axes, told, strict=True):
        assert isinstance(each, Measured)
        known = ~(each.open_above | each.open_below)
        places = np.column_stack([found.readings.shot, each.off]).astype(float)
        assert _dots(axes) == pytest.approx(places[known])
        arrows = [x for q in _arrows(axes, "open-") for x in np.ravel(q.X)]
        assert sorted(arrows) == pytest.approx(sorted(found.readings.shot[~known]))


def test_residuals__step_that_holds_what_was_foretold__drawn_as_a_line_and_not_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = findings("map")
    told = [each for each in expected(found) if isinstance(each, Measured)]
    for low, high, named in ((-9.0, 3.0, False), (-9.0, -3.0, True)):
        wide = tuple(
            replace(e, seen_low=e.middle + low * e.sd, seen_high=e.middle + high * e.sd)
            for e in told
        )
        monkeypatch.setattr("shotwindow.reports.residual_figure.expected", lambda _, w=wide: w)
        made = residual_exhibit(found)
        assert made is not None and ("fill: none more than 2" in made.alt) is not named
        axes, shots = made.figure.axes[0], found.readings.shot
        [lines] = [line for line in axes.collections if line.get_gid() == "span-fill"]
        ends = np.array([path.vertices for path in lines.get_paths()])
        assert ends[:, :, 1] == pytest.approx(np.tile([low, high], (len(shots), 1)))
        assert ends[:, 0, 0] == pytest.approx(shots)
        assert axes.get_ylim()[0] < (low + high) / 2  # the dots in the middle are seen
        assert made.table.rows[0][2] == f"{low:+.2f} to {high:+.2f}"


def test_residual_figure__many_groups__their_numbers_stand_above() -> None:
    found = findings("map")
    many = replace(found.readings, group=found.readings.shot)
    figure = residual_figure(replace(found, readings=many), expected(found))
    assert figure.axes[0].get_title(loc="left") == "above each temperature group: its number"
    assert figure.axes[0].texts[0].get_text() == f"{found.readings.shot[0]}"


def test_residual_figure__legend__what_dots_arrows_and_lines_are() -> None:
    found = findings("map")
    (legend,) = residual_figure(found, expected(found)).legends
    words = [text.get_text() for text in legend.get_texts()]
    assert words[0] == "read, as wide as its step" and words[-1] == "2 deviations of a new shot"
    assert any("may agree" in each for each in words)


def test_pictures__same_findings__same_bytes() -> None:
    found = findings("graded")
    for draw in (seen_figure, residual_figure):
        one, two = (picture(draw(found, expected(found)), "svg") for _ in range(2))
        assert one == two
