"""One factor at a time against a designed plan on the same press: what each learns, and costs."""

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from shotwindow.doe.plans import Plan, make_plan
from shotwindow.doe.restrictions import cost
from shotwindow.examples.lessons.bench import (
    INVENTED,
    overlap,
    press,
    share_at,
    studied,
    study,
    true_window,
)
from shotwindow.models.walking import Walked, walk
from shotwindow.reports.lesson import Lesson, Part, Question
from shotwindow.reports.naming import axis_label, percent, setting_words
from shotwindow.reports.page_pictures import Picture, Table, drawn
from shotwindow.reports.theme import INK, laid_out, new_figure, themed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Flags = NDArray[np.bool_]

SHOTS = 16
TEAMS = range(1, 13)  # each the seed of its own luck
SHOWN = 1


@dataclass(frozen=True)
class Result:
    """What one team found with one method: shares of 0 to 1, and what it cost."""

    overlap: float
    claimed_good: float
    setpoint_good: float
    minutes: float
    groups: int


def boxed(walked: Walked) -> Flags:
    """Return the marks in the box of the ranges that a walk found, one axis a factor."""
    inside = np.zeros(true_window().shape, dtype=bool)
    places = (
        slice(round((a - f.low) / f.step), round((b - f.low) / f.step) + 1)
        for f, (a, b) in zip(study().factors, walked.box, strict=True)
    )
    inside[tuple(places)] = walked.any_good
    return inside


def designed() -> Plan:
    """Return the plan of the teams that plan beforehand."""
    return make_plan(study(), shots=SHOTS)


@cache
def results() -> dict[str, tuple[Result, ...]]:
    """Return what each team found by each of the two methods."""
    plan = designed()
    walked, planned = [], []
    for luck in TEAMS:
        found = walk(study(), press(), SHOTS, seed=luck)
        spent = cost(study(), Plan("ladder", "first-order", luck, found.shots))
        good = share_at(found.setpoint)
        walked.append(_result(boxed(found), good, spent.minutes, spent.groups))
        seen = studied(plan.shots, luck)
        assert seen.window is not None and seen.setpoint is not None  # a test holds it
        good = share_at(seen.setpoint.settings)
        spent = cost(study(), plan)
        planned.append(_result(seen.window.likely, good, spent.minutes, spent.groups))
    return {"one at a time": tuple(walked), "designed": tuple(planned)}


def _result(inside: Flags, good: float, minutes: float, groups: int) -> Result:
    claimed = float(true_window()[inside].mean()) if inside.any() else 0.0
    return Result(overlap(inside), claimed, good, minutes, groups)


def lesson() -> Lesson:
    """Make the handout."""
    one = walk(study(), press(), SHOTS, seed=SHOWN)
    ranges = "; ".join(
        f"{axis_label(f)} {f.text(a)} to {f.text(b)}"
        for f, (a, b) in zip(study().factors, one.box, strict=True)
    )
    found = results()
    middle = {name: _median(teams) for name, teams in found.items()}
    walked, planned = middle["one at a time"], middle["designed"]
    told = (
        f"{len(TEAMS)} teams had {SHOTS} shots each on the same press. They turned one setting at "
        "a time: from the center the pressure up until parts are full, then until they flash; the "
        "middle is kept, and the next setting is turned. Each then took every combination of its "
        "ranges to be good.",
        f"{len(TEAMS)} other teams made {SHOTS} shots that were all chosen beforehand, spread over "
        "all three settings at once and sorted by melt temperature, and fitted surfaces of fill "
        "and flash to them.",
    )
    first = (
        f"Team {SHOWN} found: {ranges}. Its setpoint: "
        f"{setting_words(study().factors, one.setpoint)}. The picture shows its ranges on the true "
        "window, which no team saw.",
    )
    return Lesson(
        title="One factor at a time, or a plan?",
        goal="say what each way of spending the same shots can and cannot tell, and its price.",
        minutes=30,
        source=INVENTED,
        parts=(
            Part("What was done", told),
            Part("What one team found", first, picture=_picture(one)),
            Part("What all teams found", (), _table(found)),
        ),
        questions=_questions(walked, planned),
    )


def _median(teams: tuple[Result, ...]) -> Result:
    rows = np.array([list(vars(team).values()) for team in teams])
    over, claimed, good, minutes, groups = np.median(rows, axis=0)
    return Result(float(over), float(claimed), float(good), float(minutes), int(groups))


def _table(found: dict[str, tuple[Result, ...]]) -> Table:
    middle = [_median(teams) for teams in found.values()]
    worst = [min(team.setpoint_good for team in teams) for teams in found.values()]
    rows = (
        ("shots at most, without warm-up shots", *(f"{SHOTS}" for _ in middle)),
        ("changes of temperature, the first too", *(f"{m.groups}" for m in middle)),
        ("minutes at the press", *(f"{m.minutes:.0f}" for m in middle)),
        ("overlap with the true window (1: the same)", *(f"{m.overlap:.2f}" for m in middle)),
        ("of the settings called good, truly good", *(percent(m.claimed_good) for m in middle)),
        ("good shots at the setpoint", *(_share(m.setpoint_good) for m in middle)),
        ("the same, unluckiest team", *(_share(w) for w in worst)),
    )
    heads = ("median of the teams", *found)
    return Table("What each method found, and what it cost", heads, rows)


def _share(good: float) -> str:
    return "over 99.5 %" if good > 0.995 else percent(good)


def _questions(walked: Result, planned: Result) -> tuple[Question, ...]:
    low, high = (pressures_at(melt) for melt in _MELTS)
    cold, hot = (f"{melt:g}" for melt in _MELTS)
    pressure = study().factors[0]
    return (
        Question(
            "Look at the picture. Where in the box of team 1 are parts not good, although its "
            "ranges say so? Why did the team not notice?",
            "In the corners where both settings are low (short) or both are high (flash). Each "
            "range was found with the other settings in one place; pressure and melt temperature "
            "were never changed together, so nothing tells how one edge moves with the other "
            "setting: that is an interaction, or here simply a window that lies askew.",
            3,
        ),
        Question(
            f"At injection time {_TIME:g} s the true window runs from {pressure.text(low[0])} to "
            f"{pressure.text(low[1])} bar at {cold} degC. Guess from the picture: where does it "
            f"run at {hot} degC? Which of the two methods could know?",
            f"From {pressure.text(high[0])} to {pressure.text(high[1])} bar: hotter melt needs "
            "less pressure and flashes earlier. Only shots that vary both, as the designed plan "
            "does.",
        ),
        Question(
            "Which method cost more minutes, and why, with as many shots?",
            f"One at a time: {walked.minutes:.0f} against {planned.minutes:.0f} minutes in the "
            f"median. Each new melt temperature costs a soak and warm-up shots, and it took "
            f"{walked.groups} of them against {planned.groups}; the plan sorts shots by "
            "temperature, which needs them to be known beforehand.",
        ),
        Question(
            "What did one factor at a time do well? When would you begin with it?",
            "It finds the first good part quickly, step by step, and needs no computer. A "
            "pressure ladder is a sound way to find the ranges that a plan should then cover, and "
            "a safe one: pressure rises in small steps. It is weak as the only method.",
        ),
    )


_MELTS = (212.0, 228.0)
_TIME = 5.5


def pressures_at(melt: float) -> tuple[float, float]:
    """Return the true window along pressure at a melt temperature, lowest and highest mark."""
    pressure, heat, time = study().factors
    column = true_window()[
        :, round((melt - heat.low) / heat.step), round((_TIME - time.low) / time.step)
    ]
    marks = pressure.marks[column]
    return float(marks.min()), float(marks.max())


def _picture(one: Walked) -> Picture:
    pressure, melt, time = study().factors
    at = one.setpoint[2]
    plane = true_window()[:, :, round((at - time.low) / time.step)]
    with themed():
        figure = new_figure(7.0, 3.6)
        axes = figure.subplots()
        # gray under black: the truth is ground, what the team said lies on it as a frame
        places = (pressure.marks, melt.marks)
        axes.contourf(*places, plane.T.astype(float), levels=[0.5, 1.5], colors=["#cfcfcf"])
        _frame(axes, one)
        axes.set_xlabel(axis_label(pressure))
        axes.set_ylabel(axis_label(melt))
        axes.set_xlim(pressure.low, pressure.high)
        axes.set_ylim(melt.low, melt.high)
        figure.legend(handles=_legend(), loc="outside right upper")
        laid_out(figure)
    alt = (
        f"Pressure across, melt temperature up, at injection time {time.text(at)} s. Gray: the "
        "true window, a band that leans from low pressure and hot to high pressure and cold. "
        f"Frame: the ranges of team {SHOWN}, pressure {pressure.text(one.box[0][0])} to "
        f"{pressure.text(one.box[0][1])} bar by melt {melt.text(one.box[1][0])} to "
        f"{melt.text(one.box[1][1])} degC. Cross: its setpoint."
    )
    return drawn(figure, "walk", alt)


def _frame(axes: "Axes", one: Walked) -> None:
    (left, right), (low, high) = one.box[:2]
    corners = ([left, right, right, left, left], [low, low, high, high, low])
    axes.plot(*corners, color=INK, linewidth=2.0)
    axes.plot(one.setpoint[0], one.setpoint[1], "x", color=INK, markersize=9, markeredgewidth=2.0)


def _legend() -> list[object]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    return [
        Patch(facecolor="#cfcfcf", edgecolor="#cfcfcf", label="true window"),
        Patch(facecolor="none", edgecolor=INK, linewidth=2.0, label="ranges of the team"),
        Line2D([], [], color=INK, linestyle="none", marker="x", label="its setpoint"),
    ]
